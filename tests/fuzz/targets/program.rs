#![no_main]

#[path = "../../all/program_input.rs"]
mod program_input;

libfuzzer_sys::fuzz_target!(|bytes: &[u8]| {
    let Some(input) = program_input::Input::of(bytes) else { return };
    let folder = tempfile::tempdir().expect("a folder for the run");
    let arguments = input.laid_out(folder.path()).expect("a disk with room");
    assert!(flatspire::cli::run_with(arguments) <= 3);
});
