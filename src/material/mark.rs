//! Confidence in a row of the data.

use serde::{Deserialize, Serialize};

/// Confidence in a row.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Mark {
    /// seen in a document
    Read,
    /// recalled, to be confirmed
    Memory,
    /// recalled, order of magnitude only
    Weak,
}

impl Mark {
    /// In words, for texts.
    pub fn words(self) -> &'static str {
        match self {
            Self::Read => "read",
            Self::Memory => "from memory",
            Self::Weak => "from memory, order of magnitude only",
        }
    }
}
