//! One finding: check, place, value, limit, rule and remedy.

use std::fmt;

use serde::Serialize;

use super::endurance::cycles_in_words;
use crate::numeric::short;

/// Severity of a finding.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "lowercase")]
pub enum Severity {
    /// information
    Remark,
    /// may go wrong
    Warning,
    /// the check failed
    Failed,
}

impl Severity {
    fn word(self) -> &'static str {
        match self {
            Self::Remark => "remark",
            Self::Warning => "warning",
            Self::Failed => "failed",
        }
    }
}

/// One finding of one check.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Finding {
    /// name of the check
    pub check: &'static str,
    /// severity
    pub severity: Severity,
    /// where on the spring, or at which deflection
    pub place: String,
    /// value, in `unit`; none where the finding has no number
    pub value: Option<f64>,
    /// limit of the value, in `unit`, if there is one
    pub limit: Option<f64>,
    /// unit of both; empty for a plain number
    pub unit: &'static str,
    /// the rule in words, with its source
    pub rule: String,
    /// remedy
    pub remedy: String,
}

impl Finding {
    /// A finding with a value and a limit.
    pub(super) fn new(
        check: &'static str,
        severity: Severity,
        place: impl Into<String>,
        [value, limit]: [f64; 2],
        unit: &'static str,
        rule: impl Into<String>,
        remedy: impl Into<String>,
    ) -> Self {
        let number = |value: f64| value.is_finite().then_some(value);
        Self {
            check,
            severity,
            place: place.into(),
            value: number(value),
            limit: number(limit),
            unit,
            rule: rule.into(),
            remedy: remedy.into(),
        }
    }

    /// A finding in words alone.
    pub(super) fn in_words(
        check: &'static str,
        severity: Severity,
        place: impl Into<String>,
        rule: impl Into<String>,
        remedy: impl Into<String>,
    ) -> Self {
        Self::new(check, severity, place, [f64::NAN; 2], "", rule, remedy)
    }
}

impl Finding {
    /// A number in the finding's unit; cycles to two digits.
    fn figure(&self, value: f64) -> String {
        if self.unit == "cycles" { cycles_in_words(value) } else { short(value) }
    }

    /// Place, value and limit, without the check's name, rule and remedy.
    pub fn headline(&self) -> String {
        let unit = match self.unit {
            "" => String::new(),
            "°" => "°".to_owned(),
            unit => format!(" {unit}"),
        };
        let mut text = self.place.clone();
        if let Some(value) = self.value {
            text.push_str(&format!(", {}{unit}", self.figure(value)));
        }
        if let Some(limit) = self.limit {
            text.push_str(&format!(", limit {}{unit}", self.figure(limit)));
        }
        text
    }
}

impl fmt::Display for Finding {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        let severity = self.severity.word();
        write!(out, "{} ({severity}): {} ({}); {}", self.check, self.headline(), self.rule, self.remedy)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_finding_reads_as_a_sentence() {
        let finding = Finding::new(
            "strength",
            Severity::Failed,
            "radius 12 mm",
            [1240.4, 1131.0],
            "MPa",
            "von Mises ≤ Rp0.2",
            "lower former.free_height to 8 mm",
        );
        assert_eq!(
            finding.to_string(),
            "strength (failed): radius 12 mm, 1240 MPa, limit 1131 MPa (von Mises ≤ Rp0.2); lower former.free_height to 8 mm"
        );
        assert!(Severity::Failed > Severity::Warning && Severity::Warning > Severity::Remark);
    }
}
