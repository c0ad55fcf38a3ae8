#![no_main]

// each target uses one of its functions
#[allow(dead_code)]
#[path = "../../all/readers.rs"]
mod readers;

libfuzzer_sys::fuzz_target!(|bytes: &[u8]| readers::heights(bytes));
