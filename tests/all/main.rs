//! One integration binary: it links once.
mod closed_forms;
mod drawing;
mod reference;
mod sensitivity;
mod synthesis;
mod strength;
