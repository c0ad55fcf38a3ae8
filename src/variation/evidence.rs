//! Evidence on parts of one drawing: measured curves, and readings of thickness, arm width and free height.

use super::deviation::{DEVIATIONS, VariedSpring};
use super::readings::Readings;
use crate::numeric::straight_between;

/// Standard deviation of a measured thickness (mm): a micrometer, a few places. Judgement.
pub(super) const MICROMETER: f64 = 0.0025;
/// Relative difference of a measured thickness from the drawn one above which it is another sheet or a mistake, not
/// scatter. The widest class of strip keeps within a tenth.
pub const FARTHEST_THICKNESS: f64 = 0.25;
/// Standard deviation of a measured arm width (mm): calipers or a microscope, at the cut edge. Judgement.
const CALIPERS: f64 = 0.02;
/// Standard deviation of a measured height (mm): a height gauge on a plate. Judgement.
const HEIGHT_GAUGE: f64 = 0.05;

/// One part: its measured curves and readings.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct MeasuredPart {
    /// name in messages
    pub name: String,
    /// thickness (mm), a few places
    pub thickness: Vec<f64>,
    /// radius (mm) and width of an arm normal to itself there (mm)
    pub arm_width: Vec<(f64, f64)>,
    /// radius (mm) and free height above the flat position (mm); without a radius, of the hub
    pub free_height: Vec<(Option<f64>, f64)>,
    /// measured curves
    pub curves: Vec<Readings>,
}

/// Mean of the direct readings of one quantity of a part.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Direct {
    /// index of the part
    pub part: usize,
    /// index into [`Deviation::values`](super::deviation::Deviation::values)
    pub place: usize,
    /// deviation that the readings show, in its unit
    pub value: f64,
    /// its standard deviation
    pub sigma: f64,
}

impl MeasuredPart {
    /// Deviations that the readings of sizes show. `edge` (mm) is the standard deviation of widths from the slope of the
    /// edges, which a reading at one face does not see.
    pub(super) fn direct(&self, part: usize, varied: &VariedSpring, edge: f64) -> Vec<Direct> {
        let arm = &varied.arm;
        // radii grow from hub to rim
        let (mut radius, mut width, mut height): (Vec<f64>, Vec<f64>, Vec<f64>) = Default::default();
        for i in (0..arm.radius.len()).rev() {
            radius.push(arm.radius[i]);
            width.push(arm.width[i] / varied.radial()[i]);
            height.push(arm.height[i]);
        }
        let hub = arm.free_height();
        let thickness: Vec<(f64, f64)> =
            self.thickness.iter().map(|t| (t - varied.spring.sheet.thickness, 1.0)).collect();
        let kerf: Vec<(f64, f64)> =
            self.arm_width.iter().map(|(r, w)| (straight_between(&radius, &width, *r) - w, 1.0)).collect();
        // a height part of the way up tells of the whole in its share
        let risen: Vec<(f64, f64)> = self
            .free_height
            .iter()
            .map(|(r, z)| {
                let drawn = r.map_or(hub, |r| straight_between(&radius, &height, r));
                (z - drawn, drawn / hub)
            })
            .collect();
        let mut found = Vec::new();
        for (place, list, sigma, shared) in
            [(0, thickness, MICROMETER, 0.0), (2, kerf, CALIPERS, edge), (3, risen, HEIGHT_GAUGE, 0.0)]
        {
            let weight: f64 = list.iter().map(|(_, slope)| slope * slope).sum();
            if weight > 0.0 {
                let value = list.iter().map(|(off, slope)| off * slope).sum::<f64>() / weight;
                // readings of one gauge share its error: more of them help by no more than a half
                let own = sigma * (0.25 + 0.75 / weight).sqrt();
                found.push(Direct { part, place, value, sigma: own.hypot(shared) });
            }
        }
        found
    }
}

/// Shares of the variance within a tolerance that differ from part to part of one sheet, cut and set alike; the rest is
/// common to all of them. Order of [`Deviation::values`](super::deviation::Deviation::values). Judgement: neighbouring blanks
/// of a strip are equally thick and of one melt; kerf and height follow the machine's and the setter's adjustment for the
/// larger part.
pub const PART_SHARES: [f64; DEVIATIONS] = [0.05, 0.0, 0.2, 0.3, 0.3, 0.0];
