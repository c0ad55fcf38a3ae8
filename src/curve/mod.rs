//! What is asked for: reading the curve file, units, bands, and whether seating can follow it.
