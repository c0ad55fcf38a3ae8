//! Errors of drawing a picture.

/// A picture that cannot be drawn.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum PlotError {
    /// No point at all.
    #[error("{title:?}: no points to draw; give at least one point")]
    Empty {
        /// title of the picture
        title: String,
    },
    /// Two lists that belong together differ in length.
    #[error("{what}: {found} values, expected {expected} as there are abscissas; give one for each")]
    Lengths {
        /// which list
        what: String,
        /// its length
        found: usize,
        /// length it should have
        expected: usize,
    },
    /// A number that cannot be drawn.
    #[error(
        "{what}, value {index}: found {value}, expected a finite number below 1e30 in size; leave the point out"
    )]
    Value {
        /// which list
        what: String,
        /// place in the list, counted from 0
        index: usize,
        /// value found
        value: f64,
    },
    /// A page without extent, or larger than pixels can be counted.
    #[error(
        "found a picture of {width} × {height} pixels, expected 1 to 30000 each way; choose another page"
    )]
    Size {
        /// from left to right
        width: u32,
        /// from top to bottom
        height: u32,
    },
    /// The font of the program cannot be read.
    #[error("the font cannot be read: {0}")]
    Font(#[from] ttf_parser::FaceParsingError),
    /// The drawing library refused.
    #[error("the picture could not be drawn: {message}")]
    Drawing {
        /// its message
        message: String,
    },
}

/// Refuses what is not a number or too large for a picture.
pub(super) fn check_values(what: &str, values: &[f64]) -> Result<(), PlotError> {
    match values.iter().enumerate().find(|(_, value)| !value.is_finite() || value.abs() > 1e30) {
        Some((index, &value)) => Err(PlotError::Value { what: what.to_owned(), index, value }),
        None => Ok(()),
    }
}

/// Refuses lists of different length.
pub(super) fn check_length(what: &str, found: usize, expected: usize) -> Result<(), PlotError> {
    if found == expected {
        Ok(())
    } else {
        Err(PlotError::Lengths { what: what.to_owned(), found, expected })
    }
}
