//! A saved page or a link, checked whole before anything of it is shown.

use serde::Deserialize;

use super::LiveError;
use super::asked::Asked;
use super::replies::{parse, sound};
use crate::spec::SpringFile;

/// Most springs of a saved state.
const MOST_SPRINGS: usize = 64;

/// Questions and springs of a saved state, each with its place in it.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct SavedState {
    /// questions and springs
    parts: Vec<SavedPart>,
}

/// A question, and the spring that answers it.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
struct SavedPart {
    /// its place, for messages
    place: String,
    /// the question
    asked: Asked,
    /// the spring
    #[serde(default)]
    spring: Option<SpringFile>,
}

impl SavedState {
    /// From the body of a request.
    pub fn parse(body: &[u8]) -> Result<Self, LiveError> {
        parse(body)
    }

    /// The first part that is invalid, if there is one.
    pub fn check(&self) -> Result<(), LiveError> {
        if self.parts.len() > MOST_SPRINGS {
            let message = format!("{} springs, expected at most {MOST_SPRINGS}", self.parts.len());
            return Err(LiveError::Request { message });
        }
        self.parts.iter().try_for_each(|part| {
            part.check()
                .map_err(|source| LiveError::Saved { place: part.place.clone(), source: Box::new(source) })
        })
    }
}

impl SavedPart {
    fn check(&self) -> Result<(), LiveError> {
        self.asked.question()?;
        if let Some(file) = &self.spring {
            sound(file, "spring")?;
        }
        Ok(())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_fault_is_named_with_its_place() {
        let body = |arms: &str| {
            format!(
                "{{\"parts\":[{{\"place\":\"kept spring B\",\"asked\":{{\"curve\":{{\"deflection_mm\":[0,1,2],\
                 \"force_n\":[0,1,3]}}}},\"spring\":{{\"sheet\":{{\"material\":\"1.4310+C1300\",\"thickness\":1.5}},\
                 \"disc\":{{\"arms\":{arms},\"slot\":1.4,\"arm_outer_diameter\":60,\"arm_inner_diameter\":20}},\
                 \"arm\":{{\"radius\":[10,30],\"width\":[3.2,5.2]}},\"former\":{{\"free_height\":5}}}}}}]}}"
            )
        };
        SavedState::parse(body("2").as_bytes()).unwrap().check().unwrap();
        let said = SavedState::parse(body("0").as_bytes()).unwrap().check().unwrap_err().to_string();
        assert!(said.starts_with("kept spring B: ") && said.contains("arms"), "{said}");
    }
}
