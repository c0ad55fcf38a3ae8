//! The question put to a spring: a curve, tolerances, duty, space.

use crate::checks::CheckOptions;
use crate::curve::TargetCurve;
use crate::spec::{Fit, SpringFile, Tolerance};

/// The question put to a spring.
#[derive(Debug, Clone, PartialEq)]
pub struct Asked {
    /// curve asked for; none asks for no fit
    pub target: Option<TargetCurve>,
    /// fit asked for
    pub fit: Fit,
    /// tolerances of the part; the tables' where left out
    pub tolerance: Tolerance,
    /// options of the checks: process, duty, space, model
    pub checks: CheckOptions,
    /// extent of the evaluation
    pub extent: Extent,
}

/// Extent of an evaluation.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub enum Extent {
    /// everything
    #[default]
    Whole,
    /// without scatter of parts, unless a share of good parts is asked for
    WithoutParts,
    /// without scatter and without measuring the written drawing again: a draft under the hand
    Draft,
}

impl Asked {
    /// The question of a spring file and its curve.
    pub fn of(file: &SpringFile, target: Option<&TargetCurve>) -> Self {
        Self {
            target: target.cloned(),
            fit: file.fit.clone().unwrap_or_default(),
            tolerance: file.tolerance.clone().unwrap_or_default(),
            checks: CheckOptions::of_file(file, target),
            extent: Extent::default(),
        }
    }

    /// The same question, answered to another extent.
    #[must_use]
    pub fn to_extent(self, extent: Extent) -> Self {
        Self { extent, ..self }
    }

    /// Deflection from the free height at which the target counts zero (mm).
    pub fn installed(&self) -> f64 {
        self.checks.duty.installed.unwrap_or(0.0)
    }

    /// Largest rms force error that counts as met (percent).
    pub fn tolerance_percent(&self) -> f64 {
        self.fit.tolerance(self.target.as_ref().and_then(|target| target.tolerance_percent))
    }

    /// Whether brief or curve name an rms tolerance.
    pub(super) fn names_tolerance(&self) -> bool {
        self.fit.tolerance_percent.is_some()
            || self.target.as_ref().is_some_and(|target| target.tolerance_percent.is_some())
    }
}
