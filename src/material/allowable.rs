//! Allowable stresses, by class.
//!
//! Each class is a share of a strength; of a range the lower end counts. The default is von Mises stress at the
//! surface against the proof strength, static, with the set removed. A brief may override the number itself.

use std::str::FromStr;

use serde::{Deserialize, Serialize};

use super::error::MaterialError;
use super::sheet::{Confidence, Material};

/// Rp0.2 over Rm where only Rm is known. Common practice for hard strip, no source.
pub const PROOF_SHARE_OF_TENSILE: f64 = 0.87;

/// Least share of the height that set removal costs. Manufacturers' handbook tables (read).
pub const SET_REMOVAL_LEAST_HEIGHT_LOSS: f64 = 0.10;

/// Elastic stress at the overload over proof stress above which set removal only distorts. Manufacturers' handbook
/// tables (read).
pub const SET_REMOVAL_LARGEST_STRESS_RATIO: f64 = 1.3;

/// Which stress a limit is for.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum StressMeasure {
    /// von Mises stress at the surface
    VonMises,
    /// shear stress at the surface
    Shear,
}

/// A named way to set the limit.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum AllowableClass {
    /// von Mises ≤ Rp0.2, static, set removed
    #[default]
    ProofStrength,
    /// shear at solid ≤ 0.56 Rm
    ShearAtSolid,
    /// shear ≤ 0.35 to 0.50 Rm, used as formed
    WithoutSetRemoval,
    /// shear ≤ 0.55 to 0.75 Rm, after set removal
    WithSetRemoval,
}

impl AllowableClass {
    /// All classes, the default first.
    pub const ALL: [Self; 4] =
        [Self::ProofStrength, Self::ShearAtSolid, Self::WithoutSetRemoval, Self::WithSetRemoval];

    /// The name to give in a file.
    pub fn name(self) -> &'static str {
        match self {
            Self::ProofStrength => "proof-strength",
            Self::ShearAtSolid => "shear-at-solid",
            Self::WithoutSetRemoval => "without-set-removal",
            Self::WithSetRemoval => "with-set-removal",
        }
    }

    /// Shares of Rm (low, high), source and confidence of a class that is one.
    fn share_of_tensile(self) -> (f64, f64, &'static str, Confidence) {
        match self {
            Self::ProofStrength => (
                PROOF_SHARE_OF_TENSILE,
                PROOF_SHARE_OF_TENSILE,
                "common practice for hard strip, no source",
                Confidence::Memory,
            ),
            Self::ShearAtSolid => (0.56, 0.56, "EN 13906-1, cold-coiled springs", Confidence::Memory),
            Self::WithoutSetRemoval => (0.35, 0.50, "manufacturers' handbook tables", Confidence::Read),
            Self::WithSetRemoval => (0.55, 0.75, "manufacturers' handbook tables", Confidence::Memory),
        }
    }
}

impl FromStr for AllowableClass {
    type Err = MaterialError;

    fn from_str(name: &str) -> Result<Self, Self::Err> {
        Self::ALL.into_iter().find(|class| class.name() == name).ok_or_else(|| MaterialError::UnknownClass {
            name: name.to_owned(),
            known: Self::ALL.iter().map(|class| class.name().to_owned()).collect(),
        })
    }
}

/// Strengths of a sheet as used (MPa).
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub struct Strengths {
    /// least tensile strength Rm
    pub tensile: Option<f64>,
    /// least 0.2 % proof strength Rp0.2
    pub proof: Option<f64>,
}

impl Strengths {
    /// The strengths the stock gives.
    pub fn of(material: &Material) -> Self {
        Self {
            tensile: material.tensile_strength.as_ref().map(|sourced| sourced.value),
            proof: material.yield_strength.as_ref().map(|sourced| sourced.value),
        }
    }
}

/// A limit on the stress, with what it rests on.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Allowable {
    /// class it was taken from; none where the user gave the number
    pub class: Option<AllowableClass>,
    /// which stress it limits
    pub measure: StressMeasure,
    /// the limit (MPa); the lower end where the class is a range
    pub limit: f64,
    /// the upper end of the class (MPa); the limit itself where it is no range
    pub limit_high: f64,
    /// the rule in words, with numbers
    pub rule: String,
    /// standard, handbook or practice
    pub source: String,
    /// seen or recalled
    pub confidence: Confidence,
}

impl Allowable {
    /// The limit of a class; none where the strength it needs is not known.
    pub fn for_class(class: AllowableClass, strengths: &Strengths) -> Option<Self> {
        let known = |strength: Option<f64>| strength.filter(|value| value.is_finite() && *value > 0.0);
        let (measure, what) = match class {
            AllowableClass::ProofStrength => (StressMeasure::VonMises, "von Mises at the surface"),
            AllowableClass::ShearAtSolid => (StressMeasure::Shear, "shear at solid"),
            AllowableClass::WithoutSetRemoval => (StressMeasure::Shear, "shear without set removal"),
            AllowableClass::WithSetRemoval => (StressMeasure::Shear, "shear with set removal"),
        };
        if let (AllowableClass::ProofStrength, Some(proof)) = (class, known(strengths.proof)) {
            return Some(Self {
                class: Some(class),
                measure,
                limit: proof,
                limit_high: proof,
                rule: format!("{what} ≤ Rp0.2 = {proof} MPa"),
                source: "yield by the von Mises criterion".to_owned(),
                confidence: Confidence::Read,
            });
        }
        let tensile = known(strengths.tensile)?;
        let (low, high, source, confidence) = class.share_of_tensile();
        Some(Self {
            class: Some(class),
            measure,
            limit: low * tensile,
            limit_high: high * tensile,
            rule: if low < high {
                format!("{what} ≤ {low} to {high} of Rm = {tensile} MPa, lower end taken")
            } else {
                format!("{what} ≤ {low} of Rm = {tensile} MPa")
            },
            source: source.to_owned(),
            confidence,
        })
    }

    /// A limit that the user gave (MPa); none where it is not a number above zero.
    pub fn given(measure: StressMeasure, limit: f64) -> Option<Self> {
        (limit.is_finite() && limit > 0.0).then(|| Self {
            class: None,
            measure,
            limit,
            limit_high: limit,
            rule: format!("limit given: {limit} MPa"),
            source: "given by the user".to_owned(),
            confidence: Confidence::Read,
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::material::find;
    use approx::assert_abs_diff_eq;

    fn limit(class: AllowableClass, strengths: Strengths) -> Option<f64> {
        Allowable::for_class(class, &strengths).map(|allowable| allowable.limit)
    }

    #[test]
    fn the_proof_strength_counts_before_its_estimate() {
        let both = Strengths { tensile: Some(1655.0), proof: Some(1590.0) };
        assert_eq!(limit(AllowableClass::default(), both), Some(1590.0));
        let default_sheet = Strengths::of(find("1.4310+C1300").unwrap());
        assert_abs_diff_eq!(limit(AllowableClass::default(), default_sheet).unwrap(), 1131.0, epsilon = 1e-9);
    }

    #[test]
    fn shear_at_solid_is_the_share_of_en_13906_1() {
        let strengths = Strengths { tensile: Some(1500.0), proof: Some(1300.0) };
        assert_abs_diff_eq!(limit(AllowableClass::ShearAtSolid, strengths).unwrap(), 840.0, epsilon = 1e-9);
    }

    #[test]
    fn of_a_range_the_lower_end_is_the_limit() {
        let strengths = Strengths { tensile: Some(1000.0), proof: None };
        let without = Allowable::for_class(AllowableClass::WithoutSetRemoval, &strengths).unwrap();
        assert_eq!((without.limit, without.limit_high), (350.0, 500.0));
        let with = Allowable::for_class(AllowableClass::WithSetRemoval, &strengths).unwrap();
        assert!(with.limit > without.limit_high, "set removal has to raise the limit");
        assert_eq!(with.measure, StressMeasure::Shear);
    }

    #[test]
    fn without_strength_there_is_no_limit() {
        for class in AllowableClass::ALL {
            assert_eq!(limit(class, Strengths::default()), None);
            assert_eq!(limit(class, Strengths { tensile: Some(f64::NAN), proof: Some(-1.0) }), None);
        }
        assert_eq!(Allowable::given(StressMeasure::VonMises, f64::INFINITY), None);
        assert_eq!(Allowable::given(StressMeasure::VonMises, 900.0).unwrap().limit, 900.0);
    }

    #[test]
    fn names_read_back_and_a_wrong_one_lists_the_right_ones() {
        for class in AllowableClass::ALL {
            assert_eq!(class.name().parse::<AllowableClass>(), Ok(class));
        }
        let message = "yield".parse::<AllowableClass>().unwrap_err().to_string();
        assert!(message.contains("proof-strength, shear-at-solid"), "{message}");
    }
}
