//! One integration binary: it links once.
mod closed_forms;
mod reference;
mod sensitivity;
