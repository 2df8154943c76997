#![no_main]

use libfuzzer_sys::{fuzz_mutator, fuzz_target, fuzzer_mutate};

fuzz_target!(|bytes: &[u8]| leastbit_fuzz::board(bytes));

fuzz_mutator!(|data: &mut [u8], size: usize, max_size: usize, seed: u32| {
    if seed % 8 != 0
        && let Ok(text) = std::str::from_utf8(&data[..size])
        && let Some(changed) = leastbit_fuzz::change(text, seed)
        && changed.len() <= max_size
    {
        data[..changed.len()].copy_from_slice(changed.as_bytes());
        return changed.len();
    }
    fuzzer_mutate(data, size, max_size)
});
