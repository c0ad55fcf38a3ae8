//! One integration binary: it links once.
mod closed_forms;
mod command_line;
mod drawing;
mod reference;
mod rooms;
mod sensitivity;
mod strength;
