//! A spring with every default filled in and every number checked: the input of model, checks and drawing.

use super::{ArmPath, FormerProfile, LayoutError, SlotLine, Station};
use crate::material::{self, Allowable, MaterialError};
use crate::numeric::MonotoneCubic;
use crate::spec::{FormerLaw, Roots, Seat, Sheet, SpringFile};

/// Width of a ring that the file leaves out, in root widths.
const RING_WIDTHS: f64 = 1.5;

/// The sheet's properties as used. MPa, mm, g/cm³.
#[derive(Debug, Clone, PartialEq)]
pub struct SheetProperties {
    /// name in the stock, where one was given
    pub material: Option<String>,
    /// thickness (mm)
    pub thickness: f64,
    /// Young's modulus (MPa)
    pub youngs_modulus: f64,
    /// shear modulus (MPa)
    pub shear_modulus: f64,
    /// tensile strength Rm (MPa)
    pub tensile_strength: Option<f64>,
    /// 0.2 % proof strength (MPa)
    pub yield_strength: Option<f64>,
    /// density (g/cm³)
    pub density: Option<f64>,
}

impl SheetProperties {
    /// Poisson's ratio E/2G − 1.
    pub fn poisson(&self) -> f64 {
        0.5 * self.youngs_modulus / self.shear_modulus - 1.0
    }

    /// The von Mises stress not to exceed; none where no strength is known.
    pub fn allowable(&self) -> Option<Allowable> {
        Allowable::of(self.yield_strength, self.tensile_strength)
    }
}

/// The disc's circles. Radii in mm.
#[derive(Debug, Clone, PartialEq)]
pub struct Disc {
    /// outside of the rim
    pub outer_radius: f64,
    /// bore of the hub; 0 without a bore
    pub bore_radius: f64,
    /// where the slot centre lines end on the rim side
    pub slot_outer_radius: f64,
    /// where they end on the hub side
    pub slot_inner_radius: f64,
    /// inside of what holds the rim rigid
    pub rim_clamp_radius: Option<f64>,
    /// outside of what holds the hub rigid
    pub hub_clamp_radius: Option<f64>,
}

impl Disc {
    /// Whether the hub has a bore.
    pub fn is_bored(&self) -> bool {
        self.bore_radius > 0.0
    }

    /// Widths of rim and hub outside slots `slot` mm wide (mm).
    pub fn ring_widths(&self, slot: f64) -> [f64; 2] {
        [
            self.outer_radius - self.slot_outer_radius - 0.5 * slot,
            self.slot_inner_radius - 0.5 * slot - self.bore_radius,
        ]
    }

    /// Whether slots of this width (mm) leave a rim and a hub.
    pub fn check_rings(&self, slot: f64) -> Result<(), LayoutError> {
        let rings = [
            ("rim", "make disc.outer_diameter larger or disc.arm_outer_diameter smaller"),
            ("hub", "make disc.bore_diameter smaller or disc.arm_inner_diameter larger"),
        ];
        for ((ring, remedy), width_mm) in rings.into_iter().zip(self.ring_widths(slot)) {
            if width_mm.is_nan() || width_mm <= 0.0 {
                return Err(LayoutError::Ring { ring, width_mm, remedy });
            }
        }
        Ok(())
    }
}

/// Definition of the arm.
#[derive(Debug, Clone, PartialEq)]
pub enum ArmShape {
    /// by the slots that bound it
    Slots(SlotLine),
    /// by its stations alone
    Stations(Vec<Station>),
}

/// One spring, whole.
#[derive(Debug, Clone, PartialEq)]
pub struct Spring {
    /// the sheet
    pub sheet: SheetProperties,
    /// number of arms
    pub arms: usize,
    /// slot width (mm)
    pub slot: f64,
    /// the disc's circles; with stations alone as far as they are known
    pub disc: Disc,
    /// the arm
    pub shape: ArmShape,
    /// how the arms end
    pub roots: Roots,
    /// the shape it is set to
    pub former: FormerProfile,
    /// boundary conditions: seat, hub, rim and pressing
    pub seat: Seat,
}

impl Spring {
    /// The spring a file describes; `stations` where the file names a stations file.
    pub fn from_file(file: &SpringFile, stations: Option<Vec<Station>>) -> Result<Self, LayoutError> {
        let sheet = sheet_properties(&file.sheet)?;
        let (arms, slot) = (file.disc.arms, file.disc.slot);
        let former = match (&file.former.radius, &file.former.height) {
            (Some(radius), Some(height)) => {
                FormerProfile::profile(file.former.free_height, file.former.ease, radius, height)?
            }
            _ => FormerProfile::cone(file.former.free_height, file.former.ease),
        };
        let half = |diameter: Option<f64>| diameter.map(|d| 0.5 * d);
        let (shape, outer, inner, root_widths) = match (stations, &file.arm.radius, &file.arm.width) {
            (Some(stations), _, _) => {
                let (first, last) = match (stations.first(), stations.last()) {
                    (Some(first), Some(last)) => (*first, *last),
                    _ => {
                        return Err(LayoutError::Profile {
                            what: "the stations",
                            found: "no rows".to_owned(),
                        });
                    }
                };
                let outer = first.radius + 0.5 * (first.width + slot);
                let inner = (last.radius - 0.5 * (last.width + slot)).max(0.0);
                (ArmShape::Stations(stations), outer, inner, (first.width, last.width))
            }
            (None, Some(radius), Some(width)) => {
                let width = MonotoneCubic::through(radius, width).ok_or_else(|| LayoutError::Profile {
                    what: "arm.width",
                    found: format!("{} radii and {} widths", radius.len(), width.len()),
                })?;
                let outer = half(file.disc.arm_outer_diameter).unwrap_or(0.0);
                let inner = half(file.disc.arm_inner_diameter).unwrap_or(0.0);
                let root_widths = (width.value(outer), width.value(inner));
                let line = SlotLine::wind(arms, slot, outer, inner, width)?;
                (ArmShape::Slots(line), outer, inner, root_widths)
            }
            _ => {
                return Err(LayoutError::Profile {
                    what: "the arm",
                    found: "neither widths nor stations".to_owned(),
                });
            }
        };
        let disc = Disc {
            outer_radius: half(file.disc.outer_diameter)
                .unwrap_or(outer + 0.5 * slot + RING_WIDTHS * root_widths.0),
            bore_radius: half(file.disc.bore_diameter)
                .unwrap_or((inner - 0.5 * slot - RING_WIDTHS * root_widths.1).max(0.0)),
            slot_outer_radius: half(file.disc.arm_outer_diameter).unwrap_or(outer),
            slot_inner_radius: half(file.disc.arm_inner_diameter).unwrap_or(inner),
            rim_clamp_radius: half(file.disc.rim_clamp_diameter),
            hub_clamp_radius: half(file.disc.hub_clamp_diameter),
        };
        if file.arm.roots == Roots::Disc {
            disc.check_rings(slot)?;
        }
        Ok(Self { sheet, arms, slot, disc, shape, roots: file.arm.roots, former, seat: file.seat })
    }

    /// The arm's centre line in `segments` pieces.
    pub fn arm(&self, segments: usize) -> Result<ArmPath, LayoutError> {
        match &self.shape {
            ArmShape::Slots(line) => ArmPath::between_slots(line, &self.former, segments),
            ArmShape::Stations(stations) => ArmPath::through_stations(stations, segments),
        }
    }

    /// The spring as a file, without the sections that only the user can know.
    pub fn to_file(&self) -> SpringFile {
        let (radius, width, stations) = match &self.shape {
            ArmShape::Slots(line) => {
                let width = line.nominal_width();
                (Some(width.arguments().to_vec()), Some(width.values().to_vec()), None)
            }
            ArmShape::Stations(_) => (None, None, Some("stations.csv".to_owned())),
        };
        let by_slots = stations.is_none();
        let diameter = |radius: f64| Some(2.0 * radius);
        let profile = self.former.points();
        SpringFile {
            format: 1,
            sheet: Sheet {
                material: self.sheet.material.clone(),
                thickness: self.sheet.thickness,
                youngs_modulus: Some(self.sheet.youngs_modulus),
                shear_modulus: Some(self.sheet.shear_modulus),
                tensile_strength: self.sheet.tensile_strength,
                yield_strength: self.sheet.yield_strength,
                density: self.sheet.density,
            },
            disc: crate::spec::Disc {
                outer_diameter: diameter(self.disc.outer_radius),
                arm_outer_diameter: by_slots.then_some(2.0 * self.disc.slot_outer_radius),
                arm_inner_diameter: by_slots.then_some(2.0 * self.disc.slot_inner_radius),
                bore_diameter: diameter(self.disc.bore_radius),
                rim_clamp_diameter: self.disc.rim_clamp_radius.and_then(diameter),
                hub_clamp_diameter: self.disc.hub_clamp_radius.and_then(diameter),
                arms: self.arms,
                slot: self.slot,
            },
            arm: crate::spec::Arm { radius, width, stations, roots: self.roots },
            former: crate::spec::Former {
                free_height: self.former.free_height,
                law: if profile.is_some() { FormerLaw::Profile } else { FormerLaw::Cone },
                radius: profile.map(|(radius, _)| radius.to_vec()),
                height: profile.map(|(_, height)| height.to_vec()),
                ease: self.former.ease,
            },
            seat: self.seat,
            process: None,
            setting: None,
            duty: None,
            envelope: None,
            fit: None,
            shop: None,
            tolerance: None,
            target: None,
        }
    }
}

/// The properties of a sheet as a file gives it: its own values override the stock's.
pub fn sheet_properties(given: &Sheet) -> Result<SheetProperties, LayoutError> {
    let known = match given.material.as_deref().map(material::find) {
        Some(Ok(sheet)) => Some(sheet),
        // a name of the user's own, with both moduli given; a sheet that is refused stays refused
        Some(Err(MaterialError::UnknownSheet { .. }))
            if given.youngs_modulus.is_some() && given.shear_modulus.is_some() =>
        {
            None
        }
        Some(Err(error)) => return Err(error.into()),
        None => None,
    };
    let youngs_modulus = given.youngs_modulus.or(known.map(|k| k.youngs_modulus.value)).unwrap_or(f64::NAN);
    let shear_modulus = given.shear_modulus.or(known.map(|k| k.shear_modulus.value)).unwrap_or(f64::NAN);
    let poisson = 0.5 * youngs_modulus / shear_modulus - 1.0;
    if !(0.0..0.5).contains(&poisson) {
        return Err(LayoutError::Moduli { youngs_modulus, shear_modulus, poisson });
    }
    Ok(SheetProperties {
        material: given.material.clone(),
        thickness: given.thickness,
        youngs_modulus,
        shear_modulus,
        tensile_strength: given
            .tensile_strength
            .or(known.and_then(|k| k.tensile_strength.as_ref()).map(|sourced| sourced.value)),
        yield_strength: given
            .yield_strength
            .or(known.and_then(|k| k.yield_strength.as_ref()).map(|sourced| sourced.value)),
        density: given.density.or(known.map(|k| k.density.value)),
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn with_sheet(sheet: &str) -> Result<Spring, LayoutError> {
        let text = format!(
            "[sheet]\nthickness = 1.2\n{sheet}\n[disc]\narms = 2\nslot = 1.4\narm_outer_diameter = 60\n\
             arm_inner_diameter = 20\n[arm]\nradius = [10, 30]\nwidth = [2.4, 5.6]\n[former]\nfree_height = 9.0\n"
        );
        Spring::from_file(&SpringFile::parse(&text, "spring.toml").unwrap(), None)
    }

    #[test]
    fn an_unknown_sheet_is_answered_with_the_nearest_names() {
        let message = with_sheet("material = \"C75S\"").unwrap_err().to_string();
        assert!(message.contains("C75S+QT"), "{message}");
        let own =
            with_sheet("material = \"my own\"\nyoungs_modulus = 200000\nshear_modulus = 77000").unwrap();
        assert_eq!(own.sheet.youngs_modulus, 200_000.0);
    }

    #[test]
    fn a_refused_sheet_stays_refused_with_its_reason() {
        let moduli = "material = \"nitinol\"\nyoungs_modulus = 50000\nshear_modulus = 19000";
        let message = with_sheet(moduli).unwrap_err().to_string();
        assert!(message.contains("does not follow a linear model"), "{message}");
    }
}
