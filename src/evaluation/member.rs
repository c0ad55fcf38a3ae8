//! Member of an assembly with the evaluation of its disc.

use super::Evaluation;
use crate::spec::AssemblyMember;

/// A member with its evaluated disc.
#[derive(Debug, Clone)]
pub struct AssembledMember {
    /// the member, as in the assembly file
    pub member: AssemblyMember,
    /// evaluation of one disc at the deflections it sees
    pub evaluation: Evaluation,
}
