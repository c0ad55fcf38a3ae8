//! The predictor: a spring in, its force-deflection curve out.

use super::chain::{Chain, SectionLaw, Segment};
use super::condensation::{Condensation, Contact, Motion};
use super::root::{RootCompliance, RootLaw};
use super::second_order::SecondOrder;
use super::seating::{Path, Plates, Seating, SeatingError};
use crate::layout::{ArmPath, LayoutError, SheetProperties, Spring};
use crate::response::Response;
use crate::spec::{HubGuide, Pressing, Rim, Roots};

/// Settings of the segment model.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ModelSettings {
    /// segments of one arm; 300 when left alone
    pub segments: usize,
    /// how sections are stiff
    pub sections: SectionLaw,
    /// whether the arm's stiffness in its own plane counts
    pub in_plane: bool,
    /// how roots yield
    pub roots: RootLaw,
}

impl Default for ModelSettings {
    fn default() -> Self {
        Self { segments: 300, sections: SectionLaw::default(), in_plane: true, roots: RootLaw::default() }
    }
}

/// Why no curve could be predicted.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum ModelError {
    /// The geometry is none.
    #[error(transparent)]
    Layout(#[from] LayoutError),
    /// The contacts could not be followed.
    #[error(transparent)]
    Seating(#[from] SeatingError),
    /// A deflection that cannot be asked for.
    #[error("deflection {found} mm was asked for; the spring goes from 0 to its free height of {travel_mm} mm")]
    Deflection {
        /// what was asked (mm)
        found: f64,
        /// free height (mm)
        travel_mm: f64,
    },
}

/// One spring, ready to be pressed.
#[derive(Debug, Clone)]
pub struct Model {
    /// one arm
    pub chain: Chain,
    arms: f64,
    plates: Plates,
    tilt: Option<[f64; 2]>,
    sheet: SheetProperties,
    in_plane: bool,
}

impl Model {
    /// The model of a spring.
    pub fn of(spring: &Spring, settings: &ModelSettings) -> Result<Self, ModelError> {
        let arm = spring.arm(settings.segments)?;
        Ok(Self::of_arm(spring, &arm, settings))
    }

    /// The model of a spring whose arm's nodes are already placed.
    pub fn of_arm(spring: &Spring, arm: &ArmPath, settings: &ModelSettings) -> Self {
        let sheet = &spring.sheet;
        let disc = spring.roots == Roots::Disc;
        let wedge = |root: &Segment, clamped: bool| {
            let (width, radius) = (root.radial_width, root.radius);
            RootCompliance::wedge(settings.roots, width, radius, root.torsion, root.bending, clamped)
        };
        let (rim_clamped, hub_clamped) =
            (spring.disc.rim_clamp_radius.is_some(), spring.disc.hub_clamp_radius.is_some());
        let outer = |root: &Segment| {
            disc.then(|| {
                let resting = spring.seat.rim == Rim::Resting;
                let mut compliance = wedge(root, rim_clamped || resting);
                if resting {
                    let inner = spring.disc.slot_outer_radius + 0.5 * (spring.slot - root.radial_width);
                    compliance.roll(
                        settings.roots,
                        sheet.youngs_modulus,
                        sheet.thickness,
                        spring.disc.outer_radius,
                        inner,
                        spring.arms,
                    );
                }
                compliance
            })
        };
        let chain = Chain::new(arm, sheet, settings.sections, outer, |root| disc.then(|| wedge(root, hub_clamped)));
        let tilt = (spring.seat.hub == HubGuide::Tilting && spring.arms == 1)
            .then(|| chain.position[chain.position.len() - 1]);
        let plates = plates(&chain, sheet, spring.seat.pressing);
        Self { chain, arms: spring.arms as f64, plates, tilt, sheet: sheet.clone(), in_plane: settings.in_plane }
    }

    /// Travel to flat (mm).
    pub fn travel(&self) -> f64 {
        self.plates.travel
    }

    /// Rate of the flat disc at small deflection, no plate touched (N/mm).
    pub fn linear_rate(&self) -> f64 {
        let mut tree =
            Condensation::new(&self.chain.elements, &self.plates.free_height, self.plates.travel, self.tilt);
        self.arms * tree.hub(0.0).1.slope
    }

    /// The curve at `deflections` (mm, increasing, from 0 to the free height), and the path of one arm.
    pub fn response(&self, deflections: &[f64]) -> Result<(Response, Path), ModelError> {
        self.check(deflections)?;
        let mut tree =
            Condensation::new(&self.chain.elements, &self.plates.free_height, self.plates.travel, self.tilt);
        let mut second = self.in_plane.then(|| {
            SecondOrder::new(
                &self.chain,
                &self.plates,
                self.sheet.youngs_modulus,
                self.sheet.thickness,
                self.tilt,
            )
        });
        let mut motions = vec![Motion::default(); self.chain.elements.len() + 1];
        let mut response = Response::default();
        let length = self.chain.length();
        let path = Seating::new(&mut tree, &self.plates).follow(deflections, |stop| {
            stop.tree.recover(stop.deflection, &mut motions);
            let (mut force, mut contacts) = (stop.force, stop.tree.contacts());
            if let Some(second) = &mut second {
                let corrected = second.correct(stop.deflection, contacts);
                if !corrected.settled { println!("unsettled {}", stop.deflection); }
                force = corrected.force;
                contacts = second.contacts();
            }
            response.deflection.push(stop.deflection);
            response.force.push(self.arms * force.value);
            response.rate.push(self.arms * force.slope);
            response.seated_share.push(self.seated(contacts) / length);
        })?;
        Ok((response, path))
    }

    fn check(&self, deflections: &[f64]) -> Result<(), ModelError> {
        let travel = self.plates.travel;
        let mut before = 0.0;
        for &x in deflections {
            if !(x >= before && x <= travel) {
                return Err(ModelError::Deflection { found: x, travel_mm: travel });
            }
            before = x;
        }
        Ok(())
    }

    /// Arc length between nodes that both touch a plate (mm).
    fn seated(&self, contacts: &[Contact]) -> f64 {
        let first = self.chain.first;
        // the arm's ends belong to rim and hub: the outer one lies on the base from the start
        let touches = |node: usize| node == first || contacts[node] != Contact::None;
        self.chain
            .segments
            .iter()
            .enumerate()
            .filter(|(i, _)| touches(first + i) && touches(first + i + 1))
            .map(|(_, segment)| segment.length)
            .sum()
    }
}

/// Contact conditions of a chain, and how exactly they can be judged in double precision.
fn plates(chain: &Chain, sheet: &SheetProperties, pressing: Pressing) -> Plates {
    let travel = chain.travel();
    let stiffest = chain.segments.iter().map(|s| 12.0 * s.bending / s.length.powi(3)).fold(0.0, f64::max);
    // forces are differences of terms as large as the stiffest piece bent by the whole travel
    let force_tolerance = (64.0 * f64::EPSILON * stiffest * travel)
        .max(1e-13 * sheet.youngs_modulus * sheet.thickness * sheet.thickness);
    Plates {
        free_height: chain.free_height.clone(),
        travel,
        upper: pressing == Pressing::Plates,
        gap_tolerance: 1e-12 * travel,
        force_tolerance,
    }
}
