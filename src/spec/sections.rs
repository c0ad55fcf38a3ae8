//! Sections that the brief and the spring file share, word for word.

use serde::{Deserialize, Serialize};

use super::SpecError;
use super::error::Reader;
use super::slot_end::SlotEnds;
use crate::material::{CuttingProcess, EdgeFinish, ToleranceClass, processes};

/// The space there is (mm).
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Envelope {
    /// largest outside diameter of the disc (mm)
    #[serde(skip_serializing_if = "Option::is_none")]
    pub outer_diameter_max: Option<f64>,
    /// smallest bore diameter (mm)
    #[serde(skip_serializing_if = "Option::is_none")]
    pub bore_diameter_min: Option<f64>,
    /// largest free height above the flat sheet (mm)
    #[serde(skip_serializing_if = "Option::is_none")]
    pub free_height_max: Option<f64>,
    /// largest solid height (mm): highest point of the closed spring above its base
    #[serde(skip_serializing_if = "Option::is_none")]
    pub solid_height_max: Option<f64>,
}

/// How the blank is cut.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
#[non_exhaustive]
pub enum ProcessKind {
    /// abrasive waterjet
    #[default]
    Waterjet,
    /// fibre laser
    Laser,
    /// photo-etching
    Etch,
    /// wire electro-discharge machining
    WireEdm,
    /// anything else: kerf and slot have to be given
    Custom,
}

impl ProcessKind {
    /// The name in a file and in the tables.
    pub fn name(self) -> &'static str {
        match self {
            Self::Waterjet => "waterjet",
            Self::Laser => "laser",
            Self::Etch => "etch",
            Self::WireEdm => "wire-edm",
            Self::Custom => "custom",
        }
    }

    /// Its entry in the process table.
    pub fn known(self) -> Option<&'static CuttingProcess> {
        processes().iter().find(|process| process.name == self.name())
    }
}

/// The cutting process; what is left out comes from the process table.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub struct Process {
    /// cutting process; waterjet when left out, and another one may be chosen where the whole section is
    #[serde(skip_serializing_if = "Option::is_none")]
    pub kind: Option<ProcessKind>,
    /// width the cut takes away (mm)
    #[serde(skip_serializing_if = "Option::is_none")]
    pub kerf: Option<f64>,
    /// slot width wanted (mm)
    #[serde(skip_serializing_if = "Option::is_none")]
    pub slot: Option<f64>,
    /// shape of the slot ends; round when left out
    #[serde(skip_serializing_if = "Option::is_none")]
    pub ends: Option<SlotEnds>,
    /// diameter of the hole at the ends of keyhole and bulb slots (mm); common practice when left out
    #[serde(skip_serializing_if = "Option::is_none")]
    pub end_diameter: Option<f64>,
    /// what is done to the cut edges; as cut when left out
    #[serde(skip_serializing_if = "Option::is_none")]
    pub finish: Option<EdgeFinish>,
    /// burr left on both faces together (mm); common practice when left out
    #[serde(skip_serializing_if = "Option::is_none")]
    pub burr: Option<f64>,
    /// narrowest slot (mm)
    #[serde(skip_serializing_if = "Option::is_none")]
    pub slot_min: Option<f64>,
    /// narrowest arm (mm)
    #[serde(skip_serializing_if = "Option::is_none")]
    pub arm_min: Option<f64>,
    /// smallest radius of an inside corner (mm)
    #[serde(skip_serializing_if = "Option::is_none")]
    pub inside_radius_min: Option<f64>,
    /// diameter of the hole that piercing leaves (mm)
    #[serde(skip_serializing_if = "Option::is_none")]
    pub pierce_hole: Option<f64>,
    /// how far one cut edge leans over the thickness (mm), above zero where the slot is wider at the entry face
    #[serde(skip_serializing_if = "Option::is_none")]
    pub edge_slope: Option<f64>,
    /// ± on a cut width (mm)
    #[serde(skip_serializing_if = "Option::is_none")]
    pub tolerance: Option<f64>,
    /// cutting speed (mm/min)
    #[serde(skip_serializing_if = "Option::is_none")]
    pub speed: Option<f64>,
    /// time to pierce (s)
    #[serde(skip_serializing_if = "Option::is_none")]
    pub pierce_seconds: Option<f64>,
    /// time to go to the next pierce (s)
    #[serde(skip_serializing_if = "Option::is_none")]
    pub move_seconds: Option<f64>,
}

/// Part that presses the spring.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Pressing {
    /// only the hub is pushed
    #[default]
    Hub,
    /// an upper plate covers the arms and moves with the hub
    Plates,
}

/// Whether the hub may tilt.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum HubGuide {
    /// neither tilts nor shifts, turns freely about the axis
    #[default]
    Guided,
    /// tilts so that the load's resultant passes through the axis
    Tilting,
}

/// Boundary condition of the rim.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Rim {
    /// loose on the base
    #[default]
    Resting,
    /// clamped flat
    Held,
}

/// Boundary conditions: seat, hub, rim and pressing.
#[derive(Debug, Clone, Copy, Default, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub struct Seat {
    /// part that presses
    pub pressing: Pressing,
    /// whether the hub may tilt
    pub hub: HubGuide,
    /// support of the rim
    pub rim: Rim,
    /// how far bolt head, washer or bush stand out below the hub's underside (mm); nothing when left out
    #[serde(skip_serializing_if = "Option::is_none")]
    pub hub_hardware_below: Option<f64>,
    /// how far they stand out above the hub's upper face (mm); nothing when left out
    #[serde(skip_serializing_if = "Option::is_none")]
    pub hub_hardware_above: Option<f64>,
    /// height above the sheet of parts fastened on top of the rim (mm); 0 when left out
    #[serde(skip_serializing_if = "Option::is_none")]
    pub rim_hardware_above: Option<f64>,
    /// largest moment that the guide of the hub may have to resist (N·mm); no limit when left out
    #[serde(skip_serializing_if = "Option::is_none")]
    pub hub_moment_max: Option<f64>,
}

/// Loads, stroke and life the spring is used for.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub struct Duty {
    /// load cycles wanted; 0 is static
    pub cycles: f64,
    /// lower end of the working stroke from the free height (mm); where the target begins when left out
    #[serde(skip_serializing_if = "Option::is_none")]
    pub stroke_start: Option<f64>,
    /// upper end of the working stroke from the free height (mm); where the target ends when left out
    #[serde(skip_serializing_if = "Option::is_none")]
    pub stroke_end: Option<f64>,
    /// whether slot ends may yield locally at the first closings; only without cycles, false when left out
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    pub local_yielding: bool,
    /// deflection already taken up where the target's travel is zero (mm)
    #[serde(skip_serializing_if = "Option::is_none")]
    pub installed: Option<f64>,
    /// mass that oscillates on the spring (kg)
    #[serde(skip_serializing_if = "Option::is_none")]
    pub carried_mass: Option<f64>,
    /// deflection about which it oscillates (mm); that under its weight when left out
    #[serde(skip_serializing_if = "Option::is_none")]
    pub working_deflection: Option<f64>,
    /// temperature in service (°C); room temperature, 20, when left out
    #[serde(skip_serializing_if = "Option::is_none")]
    pub temperature: Option<f64>,
    /// time under load in service (h); loss over time is not computed when left out
    #[serde(skip_serializing_if = "Option::is_none")]
    pub hours: Option<f64>,
}

/// How the former's height runs over the radius.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum FormerLaw {
    /// straight cone, eased at the roots
    #[default]
    Cone,
    /// the former's profile is shaped too
    Profile,
}

/// How the arms end.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Roots {
    /// arms grow out of rim and hub
    #[default]
    Disc,
    /// ideal clamps, for checks
    Rigid,
}

/// Tolerance of the fit.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub struct Fit {
    /// largest rms force error (percent); 3 when left out
    #[serde(skip_serializing_if = "Option::is_none")]
    pub tolerance_percent: Option<f64>,
    /// clearance between the last deflection asked for and flat, in units of that deflection; 0.05 when left out
    #[serde(skip_serializing_if = "Option::is_none")]
    pub reserve: Option<f64>,
    /// least share of good parts asked for, as bought (percent); not asked when left out
    #[serde(skip_serializing_if = "Option::is_none")]
    pub good_parts_min: Option<f64>,
}

/// Tolerances of the part; those left out come from the tables.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub struct Tolerance {
    /// tolerance class of the sheet's thickness
    #[serde(skip_serializing_if = "Option::is_none")]
    pub thickness_class: Option<ToleranceClass>,
    /// width of the strip the sheet was slit from (mm)
    #[serde(skip_serializing_if = "Option::is_none")]
    pub strip_width: Option<f64>,
    /// ± on the kerf (mm)
    #[serde(skip_serializing_if = "Option::is_none")]
    pub kerf: Option<f64>,
    /// ± on the free height (mm)
    #[serde(skip_serializing_if = "Option::is_none")]
    pub free_height: Option<f64>,
    /// ± on both moduli (percent)
    #[serde(skip_serializing_if = "Option::is_none")]
    pub modulus_percent: Option<f64>,
    /// growth of the kerf from a new nozzle or wire to a worn one (mm)
    #[serde(skip_serializing_if = "Option::is_none")]
    pub kerf_drift: Option<f64>,
    /// ± on how far one cut edge leans over the thickness (mm)
    #[serde(skip_serializing_if = "Option::is_none")]
    pub edge_slope: Option<f64>,
    /// ± on the height of the former's shape halfway between rim and hub (mm)
    #[serde(skip_serializing_if = "Option::is_none")]
    pub cone: Option<f64>,
}

impl Envelope {
    pub(crate) fn check(&self, reader: &Reader) -> Result<(), SpecError> {
        reader.positive_if_given("envelope.outer_diameter_max", self.outer_diameter_max, "give it in mm")?;
        reader.not_negative("envelope.bore_diameter_min", self.bore_diameter_min, "give it in mm")?;
        reader.positive_if_given("envelope.free_height_max", self.free_height_max, "give it in mm")?;
        reader.positive_if_given("envelope.solid_height_max", self.solid_height_max, "give it in mm")?;
        if let (Some(outer), Some(bore)) = (self.outer_diameter_max, self.bore_diameter_min)
            && bore >= outer
        {
            return Err(SpecError::value(
                reader.file,
                "envelope.bore_diameter_min",
                bore,
                format!("less than envelope.outer_diameter_max, {outer}"),
                "leave room for the arms between bore and outside",
            ));
        }
        Ok(())
    }
}

impl Seat {
    pub(crate) fn check(&self, reader: &Reader) -> Result<(), SpecError> {
        reader.not_negative("seat.hub_hardware_below", self.hub_hardware_below, "give it in mm")?;
        reader.not_negative("seat.hub_hardware_above", self.hub_hardware_above, "give it in mm")?;
        reader.not_negative("seat.rim_hardware_above", self.rim_hardware_above, "give it in mm")?;
        reader.not_negative("seat.hub_moment_max", self.hub_moment_max, "give it in N·mm")
    }
}

impl Process {
    /// The cutting process, waterjet where none is named.
    pub fn kind(&self) -> ProcessKind {
        self.kind.unwrap_or_default()
    }

    pub(crate) fn check(&self, reader: &Reader) -> Result<(), SpecError> {
        reader.not_negative("process.kerf", self.kerf, "give the width of the cut in mm")?;
        reader.positive_if_given("process.slot", self.slot, "give the slot width in mm")?;
        reader.positive_if_given(
            "process.end_diameter",
            self.end_diameter,
            "give the diameter of the hole in mm",
        )?;
        reader.not_negative("process.burr", self.burr, "give both faces together in mm")?;
        reader.positive_if_given("process.slot_min", self.slot_min, "give the narrowest slot in mm")?;
        reader.positive_if_given("process.arm_min", self.arm_min, "give the narrowest arm in mm")?;
        reader.not_negative("process.inside_radius_min", self.inside_radius_min, "give the radius in mm")?;
        reader.not_negative("process.pierce_hole", self.pierce_hole, "give the diameter in mm")?;
        reader.not_negative("process.tolerance", self.tolerance, "give the ± in mm")?;
        reader.positive_if_given("process.speed", self.speed, "give it in mm/min")?;
        reader.not_negative("process.pierce_seconds", self.pierce_seconds, "give it in seconds")?;
        reader.not_negative("process.move_seconds", self.move_seconds, "give it in seconds")?;
        // an edge may lean either way
        reader.not_negative(
            "process.edge_slope",
            self.edge_slope.map(f64::abs),
            "give the lean over the whole thickness in mm, with its sign",
        )?;
        if self.kind() == ProcessKind::Custom && (self.kerf.is_none() || self.slot.is_none()) {
            return Err(SpecError::missing(
                reader.file,
                "process.kerf and process.slot",
                "both, in mm, where kind is \"custom\"",
                "give them or choose a known process",
            ));
        }
        Ok(())
    }
}

impl Duty {
    pub(crate) fn check(&self, reader: &Reader) -> Result<(), SpecError> {
        reader.not_negative("duty.cycles", Some(self.cycles), "0 is static")?;
        reader.not_negative("duty.stroke_start", self.stroke_start, "give it in mm")?;
        reader.positive_if_given("duty.stroke_end", self.stroke_end, "give it in mm")?;
        if let (Some(start), Some(end)) = (self.stroke_start, self.stroke_end)
            && end <= start
        {
            return Err(SpecError::value(
                reader.file,
                "duty.stroke_end",
                end,
                format!("more than duty.stroke_start, {start}"),
                "give both from the free height in mm",
            ));
        }
        reader.not_negative("duty.installed", self.installed, "give it in mm")?;
        reader.positive_if_given("duty.carried_mass", self.carried_mass, "give it in kg")?;
        reader.not_negative("duty.working_deflection", self.working_deflection, "give it in mm")?;
        reader.positive_if_given("duty.hours", self.hours, "give the hours under load")?;
        match self.temperature {
            Some(temperature) if !(-273.0..=1000.0).contains(&temperature) => Err(SpecError::value(
                reader.file,
                "duty.temperature",
                temperature,
                "a temperature from -273 to 1000".to_owned(),
                "give it in °C",
            )),
            _ => Ok(()),
        }
    }
}

impl Fit {
    /// The largest rms force error that counts as met (percent): what is said here, else what the curve says, else 3 %.
    pub fn tolerance(&self, of_curve: Option<f64>) -> f64 {
        self.tolerance_percent.or(of_curve).unwrap_or(3.0)
    }

    pub(crate) fn check(&self, reader: &Reader) -> Result<(), SpecError> {
        reader.positive_if_given("fit.tolerance_percent", self.tolerance_percent, "give a percentage")?;
        reader.not_negative(
            "fit.reserve",
            self.reserve,
            "give a share of the last deflection, such as 0.05",
        )?;
        reader.not_negative("fit.good_parts_min", self.good_parts_min, "give a percentage from 0 to 100")?;
        match self.good_parts_min {
            Some(share) if share > 100.0 => Err(SpecError::value(
                reader.file,
                "fit.good_parts_min",
                share,
                "at most 100".to_owned(),
                "give the percentage of parts that have to be within the tolerance",
            )),
            _ => Ok(()),
        }
    }
}

impl Tolerance {
    pub(crate) fn check(&self, reader: &Reader) -> Result<(), SpecError> {
        reader.positive_if_given("tolerance.strip_width", self.strip_width, "give it in mm")?;
        reader.not_negative("tolerance.kerf", self.kerf, "give the ± in mm")?;
        reader.not_negative("tolerance.free_height", self.free_height, "give the ± in mm")?;
        reader.not_negative("tolerance.modulus_percent", self.modulus_percent, "give the ± in percent")?;
        reader.not_negative("tolerance.kerf_drift", self.kerf_drift, "give the growth in mm")?;
        reader.not_negative("tolerance.edge_slope", self.edge_slope, "give the ± in mm")?;
        reader.not_negative("tolerance.cone", self.cone, "give the ± in mm")
    }
}
