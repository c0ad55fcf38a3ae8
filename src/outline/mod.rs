//! What is cut: flanks, biarcs, slot ends, contours, validity, measuring back.
