#!/usr/bin/env bash
# Coverage-guided fuzzing of one reader, on a stable toolchain.
#
#   fuzz/run.sh board|check|part [SECONDS]
#
# Starts from the corpus, keeps what it learns in fuzz/target/corpus-NAME, and
# leaves what it finds in fuzz/target/found-NAME-*. With "shrink" instead of
# seconds, a small set of short texts with the same coverage is added to the
# corpus; keep of it what is worth replaying in every run of the tests.
set -euo pipefail
cd "$(dirname "$0")"
name=${1:-check}
seconds=${2:-600}
triple=$(rustc -vV | sed -n 's/^host: //p')
# The counters that libFuzzer reads; debug assertions make overflow visible.
export RUSTFLAGS="-Cpasses=sancov-module -Cllvm-args=-sanitizer-coverage-level=4 \
 -Cllvm-args=-sanitizer-coverage-inline-8bit-counters -Cllvm-args=-sanitizer-coverage-pc-table \
 -Cllvm-args=-sanitizer-coverage-trace-compares --cfg fuzzing"
export CARGO_TARGET_DIR=${FUZZ_TARGET_DIR:-$PWD/target}
cargo build --release --quiet --target "$triple" --bin "$name"
program=$CARGO_TARGET_DIR/$triple/release/$name
work=$CARGO_TARGET_DIR/corpus-$name
mkdir -p "$work"
# What is hostile to the reader is hostile to the judge.
kept=corpus/$name
[ "$name" = board ] && kept=corpus/check
# More threads would only hide which input is slow.
export RAYON_NUM_THREADS=1
if [ "$seconds" = shrink ]; then
  exec "$program" -set_cover_merge=1 -max_len=800 "$kept" "$work"
fi
exec "$program" -max_total_time="$seconds" -max_len=4000 -len_control=0 -timeout=20 -rss_limit_mb=2000 \
  -dict=words.dict -artifact_prefix="$CARGO_TARGET_DIR/found-$name-" -print_final_stats=1 \
  "$work" "$kept"
