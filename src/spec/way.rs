//! `[setting]`: the way of giving the spring its height.

use serde::{Deserialize, Serialize};

/// A way of giving a spring its height.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
#[non_exhaustive]
pub enum Way {
    /// formed over cold, stresses relieved afterwards
    Cold,
    /// clamped over-formed and heated to the stress-relief temperature
    ClampedRelief,
    /// tempered again on the former
    ReTemper,
    /// formed soft, hardened, tempered clamped on the former
    HardenAfterForming,
    /// formed before ageing, aged on the former
    AgeOnFormer,
    /// transformed on the former from the soft state
    TransformOnFormer,
    /// formed by creep at high temperature
    CreepForm,
}

impl Way {
    /// Its name in files.
    pub fn name(self) -> &'static str {
        match self {
            Self::Cold => "cold",
            Self::ClampedRelief => "clamped-relief",
            Self::ReTemper => "re-temper",
            Self::HardenAfterForming => "harden-after-forming",
            Self::AgeOnFormer => "age-on-former",
            Self::TransformOnFormer => "transform-on-former",
            Self::CreepForm => "creep-form",
        }
    }

    /// Its name in texts.
    pub fn words(self) -> &'static str {
        match self {
            Self::Cold => "cold over-forming, then stress relief",
            Self::ClampedRelief => "clamped over-formed and stress-relieved",
            Self::ReTemper => "tempered again on the former",
            Self::HardenAfterForming => "formed soft, hardened, tempered on the former",
            Self::AgeOnFormer => "formed before ageing, aged on the former",
            Self::TransformOnFormer => "hardened on the former from the soft state",
            Self::CreepForm => "creep-formed hot",
        }
    }
}

/// How the spring is set.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub struct SettingChoice {
    /// way of setting; the one that suits sheet and thickness when left out
    #[serde(skip_serializing_if = "Option::is_none")]
    pub way: Option<Way>,
}

impl SettingChoice {
    /// The section as it is written: none where nothing is said.
    pub fn given(self) -> Option<Self> {
        self.way.map(|_| self)
    }
}
