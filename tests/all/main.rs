//! One integration binary: it links once.
mod reference;
