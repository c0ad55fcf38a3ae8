//! Curve pictures, as SVG and PNG bytes.
