//! Errors of looking up a sheet by name.

/// A name without a usable sheet.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[non_exhaustive]
pub enum MaterialError {
    /// No sheet of that name.
    #[error(
        "sheet {name:?} is not in the stock, expected a name from `flatspire stock`; nearest: {}; take one of them or \
         give youngs_modulus and shear_modulus", nearest.join(", ")
    )]
    UnknownSheet {
        /// name as given
        name: String,
        /// names that come nearest, best first
        nearest: Vec<String>,
    },
    /// A sheet that the linear model cannot describe.
    #[error("sheet {name:?} is refused: {reason}; take a sheet that follows a linear model")]
    Refused {
        /// name as given
        name: String,
        /// reason
        reason: String,
    },
}
