//! Equilibrium of the arm at chosen deflections, without the path between them.
//!
//! The energy in small slopes is strictly convex, so that every deflection has one equilibrium, however it is found:
//! contacts are guessed from the motion of their fronts, and the active set corrects the guess. Where rounding prevents
//! this, the path is followed from the last equilibrium, event by event.

use super::active_set::ActiveSet;
use super::condensation::{Affine, Condensation, Contact, Motion};
use super::fronts::Fronts;
use super::seating::{Plates, STANDING_GAP, Seating, SeatingError};

/// The arm in equilibrium at one deflection.
#[derive(Debug)]
pub struct Rest<'a> {
    /// deflection (mm)
    pub deflection: f64,
    /// force of one arm with its slope (N, N/mm)
    pub force: Affine,
    /// motions of all nodes
    pub motions: &'a [Motion],
    /// forces that hold touching nodes, positive upwards (N); zero elsewhere
    pub reactions: &'a [Affine],
    /// contacts of the nodes
    pub contacts: &'a [Contact],
}

/// Finds the equilibria at deflections.
#[derive(Debug)]
pub struct Stops<'a> {
    tree: &'a mut Condensation,
    plates: &'a Plates,
    fronts: Fronts,
    active: ActiveSet,
    /// contacts of the last equilibrium
    last: Vec<Contact>,
    /// contacts that a guess exchanges
    changes: Vec<(usize, Contact)>,
    motions: Vec<Motion>,
    reactions: Vec<Affine>,
}

impl<'a> Stops<'a> {
    /// For an arm without contacts.
    pub fn new(tree: &'a mut Condensation, plates: &'a Plates) -> Self {
        let nodes = tree.elements() + 1;
        Self {
            tree,
            plates,
            fronts: Fronts::default(),
            active: ActiveSet::new(nodes),
            last: vec![Contact::None; nodes],
            changes: Vec::new(),
            motions: vec![Motion::default(); nodes],
            reactions: vec![Affine::default(); nodes],
        }
    }

    /// Shows the equilibrium at each of `deflections` (mm, increasing).
    pub fn visit(&mut self, deflections: &[f64], mut show: impl FnMut(&Rest)) -> Result<(), SeatingError> {
        let mut before = 0.0;
        for &x in deflections {
            let start = if self.settle(x) {
                x
            } else {
                self.tree.set_contacts(&self.last);
                before
            };
            if start < x || self.at_a_limit(x) {
                // at an event the path gives the next contacts
                Seating::from(self.tree, self.plates, start).follow(&[x], |_| ())?;
                self.tree.recover(x, &mut self.motions);
                self.tree.reactions(x, &self.motions, &mut self.reactions);
            }
            let force = self.tree.hub(x).1;
            if self.tree.is_singular() {
                return Err(SeatingError::Singular { deflection_mm: x });
            }
            self.last.copy_from_slice(self.tree.contacts());
            self.fronts.keep(x, &self.last);
            before = x;
            show(&Rest {
                deflection: x,
                force,
                motions: &self.motions,
                reactions: &self.reactions,
                contacts: &self.last,
            });
        }
        Ok(())
    }

    /// Finds the state at `x` from the guessed contacts.
    fn settle(&mut self, x: f64) -> bool {
        let Self { tree, plates, fronts, active, last, changes, motions, reactions } = self;
        fronts.guess(x, last, &mut active.contacts);
        changes.clear();
        let wanted = active.contacts.iter().zip(tree.contacts()).enumerate();
        changes.extend(
            wanted.filter(|(_, (wanted, now))| wanted != now).map(|(node, (wanted, _))| (node, *wanted)),
        );
        tree.change_contacts(changes);
        active.settle(plates, plates.travel - x, |active, changes| {
            tree.change_contacts(changes);
            tree.recover(x, motions);
            tree.reactions(x, motions, reactions);
            for (node, motion) in motions.iter().enumerate() {
                active.height[node] = plates.height(node, &motion.value);
                let held = reactions[node].value;
                active.push[node] = if active.contacts[node] == Contact::Upper { -held } else { held };
            }
            true
        })
    }

    /// Whether a node is about to land or to leave just here, so that the slopes are those before the event.
    fn at_a_limit(&self, x: f64) -> bool {
        let plates = self.plates;
        let reached =
            |value: f64, slope: f64, tolerance: f64, standing: f64| value <= tolerance && slope < -standing;
        let (gap, force) = (plates.gap_tolerance, plates.force_tolerance);
        let steady = force / plates.travel;
        let contacts = self.tree.contacts();
        (1..contacts.len() - 1).any(|node| {
            let Motion { value, slope } = &self.motions[node];
            let held = self.reactions[node];
            match contacts[node] {
                Contact::Base => reached(held.value, held.slope, force, steady),
                Contact::Upper => reached(-held.value, -held.slope, force, steady),
                Contact::None => {
                    let (z, rise) = (plates.height(node, value), plates.rise(node, slope));
                    reached(z, rise, gap, STANDING_GAP)
                        || plates.upper && reached(plates.travel - x - z, -1.0 - rise, gap, STANDING_GAP)
                }
            }
        })
    }
}
