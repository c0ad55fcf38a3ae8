//! One integration binary: it links once.
mod closed_forms;
mod cutting;
mod drawing;
mod reading_drawings;
mod reference;
mod sensitivity;
mod synthesis;
mod strength;
