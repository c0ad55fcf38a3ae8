//! One integration binary: it links once.
// tests say what went wrong by panicking, and print what they measured
#![allow(
    clippy::unwrap_used,
    clippy::print_stdout,
    clippy::print_stderr,
    clippy::type_complexity,
    clippy::format_collect,
    clippy::needless_range_loop,
    clippy::cast_sign_loss,
    clippy::cast_possible_truncation
)]
mod assemblies;
mod closed_forms;
mod command_line;
mod comparison;
mod convergence;
mod correction;
mod correction_study;
mod cross_command;
mod cutting;
mod dependencies;
mod drawing;
mod duty_jobs;
mod evaluation;
mod extremes;
mod faults;
mod file_system;
mod forming;
mod handbook;
mod jobs;
mod program_input;
mod public_names;
mod quadratic_programme;
mod random_spring;
mod readers;
mod reading_drawings;
mod recut_limits;
mod reference;
mod report;
mod ring_sector;
mod robustness;
mod rooms;
mod scaling;
mod seating;
mod sensitivity;
mod serving;
mod setting_jobs;
mod slot_ends;
mod strength;
mod study;
mod synthesis;
mod validity;
mod variation;
mod words;
