#![no_main]

libfuzzer_sys::fuzz_target!(|bytes: &[u8]| intake_fuzz::pattern(bytes));
