//! Remedies for parts that deviate, the cheapest first, each with the error to expect of the next part.

use serde::Serialize;

use super::recut::Recut;
use crate::curve::TargetCurve;
use crate::layout::Spring;
use crate::variation::{Belief, Deviation, Expectation, Identified, NextPart, VariationError};

/// Thinnest shim, and the step between shims (mm): common practice.
const SHIM_STEP: f64 = 0.05;
/// Thickest shim over the free height: more is another mounting, not a trim.
const SHIM_SHARE: f64 = 0.12;
/// Largest change of the free height by setting, over the height.
const SET_SHARE: f64 = 0.08;
/// Loss of height, over the height, that another pressing may bring. Judgement.
const PRESS_SHARE: f64 = 0.02;
/// Step to which a height is set (mm): common practice.
const SET_STEP: f64 = 0.05;
/// Steps of the search for a height, either way.
const SET_STEPS: i32 = 8;
/// Error of a remedy over that of the best, up to which the cheaper one is taken where none is good enough.
const AS_GOOD: f64 = 1.15;

/// Error of a remedy over that of doing nothing, from which it is no remedy.
const HELPS: f64 = 0.95;

/// Kind of remedy, the cheapest first.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
#[non_exhaustive]
pub enum TrimKind {
    /// the drawing and the parts stay as they are
    Nothing,
    /// a shim moves the point of first contact
    Shim,
    /// the parts are pressed once more, or set again to another height
    SetAgain,
    /// parts sorted by force, strong ones stacked with weak ones
    SortedStack,
    /// the spring is drawn and cut again
    NewCut,
}

/// One remedy.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Trim {
    /// which
    pub kind: TrimKind,
    /// remedy
    pub what: String,
    /// thickness of the shim, or change of the free height (mm)
    pub amount_mm: Option<f64>,
    /// error to expect of the next part
    #[serde(flatten)]
    pub next: NextPart,
    /// whether nineteen of twenty parts stay within the tolerance
    pub enough: bool,
}

/// Target of the parts, and the drawing they are of.
#[derive(Debug, Clone, Copy)]
pub struct TrimTask<'a> {
    /// the spring as drawn
    pub spring: &'a Spring,
    /// the curve asked for
    pub target: &'a TargetCurve,
    /// deflection where the target counts zero (mm)
    pub installed: f64,
    /// largest rms error (percent)
    pub tolerance_percent: f64,
}

impl TrimTask<'_> {
    /// The remedies for parts like those found, the cheapest first. A new cut is one where it is given.
    pub fn trims(&self, found: &Identified, recut: Option<&Recut>) -> Result<Vec<Trim>, VariationError> {
        let mut trims = self.nothing(found)?;
        let still = trims[0].next.within_percent;
        let changes = self.changes(found, recut)?;
        trims.extend(changes.into_iter().filter(|trim| trim.next.within_percent < HELPS * still));
        Ok(trims)
    }

    /// The remedies for parts that are in the middle as drawn: none where that is good enough.
    pub fn for_parts_as_drawn(&self, found: &Identified) -> Result<Vec<Trim>, VariationError> {
        let nothing = self.nothing(found)?;
        if nothing[0].enough { Ok(nothing) } else { self.trims(found, None) }
    }

    fn nothing(&self, found: &Identified) -> Result<Vec<Trim>, VariationError> {
        let belief = &found.belief;
        let next =
            Expectation::of(self.spring, &belief.deviation, belief, self.target, [self.installed, 0.0])?
                .with_shim(0.0);
        Ok(vec![self.trim(TrimKind::Nothing, "leave drawing and parts as they are".to_owned(), None, next)])
    }

    fn trim(&self, kind: TrimKind, what: String, amount_mm: Option<f64>, next: NextPart) -> Trim {
        Trim { kind, what, amount_mm, next, enough: next.within_percent <= self.tolerance_percent }
    }

    fn changes(&self, found: &Identified, recut: Option<&Recut>) -> Result<Vec<Trim>, VariationError> {
        let belief = &found.belief;
        let height = self.spring.former.free_height;
        let most = SHIM_SHARE * height;
        let expect = |spring: &Spring, mean: &Deviation, belief: &Belief, reserve: f64| {
            Expectation::of(spring, mean, belief, self.target, [self.installed, reserve])
        };
        let mut trims = Vec::new();
        let mut put = |kind, what: String, amount_mm: Option<f64>, next: NextPart| {
            trims.push(self.trim(kind, what, amount_mm, next));
        };
        let shimmed = expect(self.spring, &belief.deviation, belief, most)?;
        if let Some(shim) = best_shim(&shimmed, most) {
            let place = if shim > 0.0 {
                "under the rim: the deflection grows by its thickness"
            } else {
                "taken away from under the rim, or put under the plate that presses: the deflection shrinks by its thickness"
            };
            put(
                TrimKind::Shim,
                format!("a shim of {:.2} mm {place}", shim.abs()),
                Some(shim),
                shimmed.with_shim(shim),
            );
        }
        if let Some((change, next)) = self.best_height(belief)? {
            let to = height + belief.deviation.free_height_mm + change;
            let how = match change / height {
                share if share > 0.0 => "set again, higher",
                share if share > -PRESS_SHARE => "press once more",
                _ => "set again, lower",
            };
            put(
                TrimKind::SetAgain,
                format!("{how}: to a free height of {to:.2} mm, {change:+.2} mm"),
                Some(change),
                next,
            );
        }
        if let Some((what, pair, own)) = sorted_pairs(found) {
            let mut belief = belief.clone();
            belief.scale_own(own);
            let stack = expect(self.spring, &pair, &belief, 0.0)?;
            put(TrimKind::SortedStack, what, None, stack.with_shim(0.0));
        }
        if let Some(recut) = recut {
            // thickness and modulus of the sheet are in the new drawing
            let mean = Deviation { thickness_mm: 0.0, modulus_percent: 0.0, ..belief.deviation };
            let new = expect(&recut.drawn, &mean, belief, 0.0)?;
            put(
                TrimKind::NewCut,
                "cut again from the same sheet by the new drawing".to_owned(),
                None,
                new.with_shim(0.0),
            );
        }
        Ok(trims)
    }

    /// Change of the free height (mm) that brings the most likely part nearest to the target, and the next part then.
    fn best_height(&self, belief: &Belief) -> Result<Option<(f64, NextPart)>, VariationError> {
        let height = self.spring.former.free_height;
        let step = (SET_SHARE * height / f64::from(SET_STEPS) / SET_STEP).ceil() * SET_STEP;
        let mut best: Option<(f64, f64)> = None;
        let expect = |change: f64| {
            let mut mean = belief.deviation;
            mean.free_height_mm += change;
            Expectation::of(self.spring, &mean, belief, self.target, [self.installed, 0.0])
        };
        let mut try_change = |change: f64| {
            // a height at which there is no spring is no remedy
            let Ok(found) = expect(change) else { return };
            let error = found.likely_percent(0.0);
            if best.is_none_or(|(_, least)| error < least) {
                best = Some((change, error));
            }
        };
        for k in -SET_STEPS..=SET_STEPS {
            try_change(step * f64::from(k));
        }
        let Some((coarse, _)) = best else { return Ok(None) };
        let mut try_change = |change: f64| {
            if let Ok(found) = expect(change) {
                let error = found.likely_percent(0.0);
                if best.is_none_or(|(_, least)| error < least) {
                    best = Some((change, error));
                }
            }
        };
        let between = (1..).map(|k| SET_STEP * f64::from(k)).take_while(|off| *off < step - 0.5 * SET_STEP);
        for off in between {
            try_change(coarse - off);
            try_change(coarse + off);
        }
        match best {
            Some((change, _)) if change.abs() >= 0.5 * SET_STEP => {
                Ok(Some((change, expect(change)?.with_shim(0.0))))
            }
            _ => Ok(None),
        }
    }
}

/// The remedy to take: the cheapest that is good enough, else the cheapest that is about as good as the best.
pub fn advised(trims: &[Trim]) -> Option<&Trim> {
    let least = trims.iter().map(|trim| trim.next.within_percent).fold(f64::INFINITY, f64::min);
    trims
        .iter()
        .find(|trim| trim.enough)
        .or_else(|| trims.iter().find(|trim| trim.next.within_percent <= AS_GOOD * least))
}

/// Most steps of a shim: 25 mm.
const MOST_SHIM_STEPS: u32 = 500;

/// Shim (mm) that brings the most likely part nearest to the target; none where that is no shim.
fn best_shim(next: &Expectation, most: f64) -> Option<f64> {
    let shim = (0..MOST_SHIM_STEPS)
        .map(|k| SHIM_STEP * f64::from(k))
        .take_while(|shim| *shim <= most)
        .flat_map(|shim| [shim, -shim])
        .min_by(|a, b| next.likely_percent(*a).total_cmp(&next.likely_percent(*b)))?;
    (shim.abs() >= 0.5 * SHIM_STEP).then_some(shim)
}

/// Pairs of measured parts, the strongest with the weakest: in words, the mean deviation of the worst pair, and the scatter
/// that pairs leave over that of single parts.
fn sorted_pairs(found: &Identified) -> Option<(String, Deviation, f64)> {
    let mut parts: Vec<(f64, &str, Deviation)> = found
        .parts
        .iter()
        .filter_map(|part| Some((part.force_percent?, part.name.as_str(), part.deviation)))
        .collect();
    if parts.len() < 2 {
        return None;
    }
    parts.sort_by(|a, b| a.0.total_cmp(&b.0));
    let middle = parts.iter().map(|part| part.0).sum::<f64>() / parts.len() as f64;
    let (mut words, mut worst) = (Vec::new(), None);
    for k in 0..parts.len() / 2 {
        let (weak, strong) = (&parts[k], &parts[parts.len() - 1 - k]);
        words.push(format!("{} with {}", strong.1, weak.1));
        let off = (0.5 * (weak.0 + strong.0) - middle).abs();
        if worst.is_none_or(|(largest, _)| off > largest) {
            let (a, b) = (weak.2.values(), strong.2.values());
            worst = Some((off, Deviation::from_values(std::array::from_fn(|k| 0.5 * (a[k] + b[k])))));
        }
    }
    let what =
        format!("stack the parts in pairs sorted by force: {}; only where two springs fit", words.join(", "));
    // the parts of the pair are measured: none of their own scatter is left
    Some((what, worst?.1, 0.0))
}
