//! Fronts: the nodes at which contact begins and ends along the arm. Between two deflections they move nearly evenly,
//! so that their last two positions predict the next one.

use super::contact::Contact;

/// Longest extrapolation, in units of the step that it is taken from.
pub const FARTHEST: f64 = 4.0;

/// Nodes at which the contact changes along the arm.
#[derive(Debug, Clone, Default)]
struct ContactChanges {
    deflection: f64,
    /// first nodes of every stretch with one contact, and that contact
    stretches: Vec<(usize, Contact)>,
}

impl ContactChanges {
    fn read(&mut self, deflection: f64, contacts: &[Contact]) {
        self.deflection = deflection;
        self.stretches.clear();
        for (node, &contact) in contacts.iter().enumerate() {
            if self.stretches.last().is_none_or(|last| last.1 != contact) {
                self.stretches.push((node, contact));
            }
        }
    }

    fn alike(&self, other: &Self) -> bool {
        self.stretches.len() == other.stretches.len()
            && self.stretches.iter().zip(&other.stretches).all(|(a, b)| a.1 == b.1)
    }
}

/// The fronts at the last two deflections.
#[derive(Debug, Clone, Default)]
pub struct Fronts {
    before: ContactChanges,
    last: ContactChanges,
}

impl Fronts {
    /// Keeps the contacts at a deflection (mm).
    pub fn keep(&mut self, deflection: f64, contacts: &[Contact]) {
        std::mem::swap(&mut self.before, &mut self.last);
        self.last.read(deflection, contacts);
    }

    /// The contacts to expect at `deflection`, where `last` are the last ones.
    pub fn guess(&self, deflection: f64, last: &[Contact], expected: &mut [Contact]) {
        expected.copy_from_slice(last);
        let run = self.last.deflection - self.before.deflection;
        if run <= 0.0 || self.last.stretches.len() < 2 || !self.last.alike(&self.before) {
            return;
        }
        let share = (deflection - self.last.deflection) / run;
        if share > FARTHEST {
            return;
        }
        let nodes = last.len();
        let mut from = 0;
        for (k, &(start, contact)) in self.last.stretches.iter().enumerate() {
            let place = |k: usize| match self.last.stretches.get(k) {
                None => nodes,
                Some(&(now, _)) => {
                    let moved = now as f64 - self.before.stretches[k].0 as f64;
                    let ahead = now as f64 + share * moved;
                    // the arm's ends belong to rim and hub
                    #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)] // clamped
                    let node = ahead.round().clamp(1.0, (nodes - 1) as f64) as usize;
                    node
                }
            };
            let begin = if start == 0 { 0 } else { from };
            let end = place(k + 1).max(begin);
            expected[begin..end].fill(contact);
            from = end;
        }
    }
}
