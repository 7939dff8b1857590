#![no_main]

libfuzzer_sys::fuzz_target!(|data: &[u8]| skimgate_fuzz::accounts::run(data));
