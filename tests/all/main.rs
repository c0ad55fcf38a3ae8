//! One integration binary: it links once.
