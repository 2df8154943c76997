#!/usr/bin/env bash
# Computes the reference values again and compares them with those kept in
# testdata/reference and testdata/time-noise, which the tests named
# reference_* use.
#
#   reference/check.sh          compare
#   reference/check.sh keep     write them anew
set -euo pipefail
cd "$(dirname "$0")"
environment=../target/reference-environment
stamp=$environment/installed.txt
if ! cmp -s requirements.txt "$stamp"; then
  python3 -m venv "$environment"
  "$environment/bin/pip" install --quiet --disable-pip-version-check -r requirements.txt
  cp requirements.txt "$stamp"
fi
export PYTHONDONTWRITEBYTECODE=1
if [ "${1:-}" = keep ]; then
  "$environment/bin/python" make_golden.py ../testdata/reference
  exec "$environment/bin/python" time_noise/generate.py ../testdata/time-noise
fi
made=$(mktemp -d)
trap 'rm -r "$made"' EXIT
"$environment/bin/python" make_golden.py "$made"
"$environment/bin/python" compare.py ../testdata/reference "$made"
"$environment/bin/python" time_noise/generate.py "$made/time-noise"
"$environment/bin/python" time_noise/compare.py ../testdata/time-noise "$made/time-noise"
