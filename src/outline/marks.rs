//! Marks on a drawing that are no cut of the part: tabs and engraving, on layers of their own.

use super::engraving::engraving;
use super::tabs::{Tab, tab_places, tabs};
use super::{ArcChain, CutRules, Outline, Point};
use crate::spec::Shop;

/// Layer of the tabs.
pub const TABS: &str = "tabs";
/// Layer of the engraving.
pub const ENGRAVING: &str = "engraving";
/// Layer of the edge of a sheet with several parts.
pub const SHEET_EDGE: &str = "sheet_edge";
/// Layer of the places of parts that are not drawn out.
pub const PLACES: &str = "places";

/// Layers whose lines are no part: a drawing is read back without them.
pub const MARK_LAYERS: [&str; 4] = [TABS, ENGRAVING, SHEET_EDGE, PLACES];

/// Tabs and engraving of a part.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Marks {
    /// tabs on the outer edge
    pub tabs: Vec<Tab>,
    /// strokes of the part number
    pub engraving: Vec<ArcChain>,
    /// the part number that was asked for
    pub part_number: Option<String>,
    /// azimuths where tabs may be (rad)
    pub places: Vec<f64>,
}

impl Marks {
    /// Marks of a part by process, size and what the shop asks for.
    pub fn of(outline: &Outline, rules: &CutRules, shop: &Shop) -> Self {
        let part_number = shop.part_number.clone();
        let engraving = part_number.as_deref().map(|number| engraving(outline, number)).unwrap_or_default();
        Self { tabs: tabs(outline, rules, shop), engraving, part_number, places: tab_places(outline.arms) }
    }

    /// The marks by layer.
    pub fn layers(&self) -> [(&'static str, Vec<ArcChain>); 2] {
        [
            (TABS, self.tabs.iter().map(|tab| tab.outline.clone()).collect()),
            (ENGRAVING, self.engraving.clone()),
        ]
    }

    /// Smallest upright box around the marks and a box (mm).
    pub fn extents(&self, around: [Point; 2]) -> [Point; 2] {
        let chains = self.tabs.iter().map(|tab| &tab.outline).chain(&self.engraving);
        chains.map(ArcChain::extents).fold(around, |[low, high], [l, h]| {
            [[low[0].min(l[0]), low[1].min(l[1])], [high[0].max(h[0]), high[1].max(h[1])]]
        })
    }

    /// Words about the marks for the notes of a drawing.
    pub fn words(&self) -> Vec<String> {
        let degrees = |azimuths: &mut dyn Iterator<Item = f64>| {
            let list: Vec<String> = azimuths.map(|azimuth| format!("{:.0}", azimuth.to_degrees())).collect();
            list.join(", ")
        };
        let mut lines = vec![match self.tabs.as_slice() {
            [] => format!(
                "no tabs drawn; if the disc has to be held: outer edge only, at {}°",
                degrees(&mut self.places.iter().copied())
            ),
            [first, ..] => format!(
                "{} tabs {:.2} wide on layer {TABS}, outer edge only, at {}°; cut off and dressed flush",
                self.tabs.len(),
                first.width,
                degrees(&mut self.tabs.iter().map(|tab| tab.azimuth))
            ),
        }];
        if let Some(number) = &self.part_number {
            lines.push(if self.engraving.is_empty() {
                format!("part number {number} on the bag, the rim is too narrow for it")
            } else {
                format!("part number {number} engraved on layer {ENGRAVING}, shallow, on the rim only")
            });
        }
        lines
    }
}
