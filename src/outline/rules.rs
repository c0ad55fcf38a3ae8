//! Rules of the cutting process for a drawing, with every default filled in for one sheet.

use crate::material::{CuttingProcess, ProcessRule, SourcedRange, TabRule};
use crate::spec::{ONE_PASS, Process, SlotEnds, hole_diameter};

/// Arc fit of one flank (mm). An arm lies between two, so its width is then right within 5 µm, half of what the finest
/// process holds.
const ACCURACY: f64 = 0.002;

/// Shortest line or arc (mm); machine controls stumble over shorter ones.
const SEGMENT_MIN: f64 = 0.05;

/// The rules of one process in one sheet. Lengths in mm.
#[derive(Debug, Clone, PartialEq)]
pub struct CutRules {
    /// the process in words
    pub process: String,
    /// thickness of the sheet
    pub thickness: f64,
    /// width the cut takes away; 0 where the drawing's line is the edge
    pub kerf: f64,
    /// narrowest slot
    pub slot_min: f64,
    /// narrowest slot that is cut round its outline
    pub closed_slot_min: f64,
    /// narrowest web of metal between two cuts
    pub arm_min: f64,
    /// smallest radius of an inside corner
    pub inside_radius_min: f64,
    /// diameter of the hole that piercing leaves
    pub pierce_hole: f64,
    /// how far one edge leans over the thickness, above zero where the slot is wider at the entry face
    pub edge_slope: f64,
    /// ± on a cut width
    pub tolerance: f64,
    /// sheet the process is used on, from and to
    pub sheet: Option<[f64; 2]>,
    /// cutting speed (mm/min); none where time does not follow the length cut
    pub speed: Option<f64>,
    /// time to pierce (s)
    pub pierce_seconds: f64,
    /// time to go to the next pierce (s)
    pub move_seconds: f64,
    /// tabs that hold small parts
    pub tabs: Option<TabRule>,
    /// shape of the slot ends
    pub ends: SlotEnds,
    /// diameter asked for of the hole at keyhole and bulb ends
    pub end_diameter: Option<f64>,
    /// largest distance between the true flank and its arcs
    pub accuracy: f64,
    /// shortest line or arc
    pub segment_min: f64,
}

/// Width of an arm at both faces (mm).
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct FaceWidths {
    /// at the face where the cut enters
    pub entry: f64,
    /// at the face where it leaves
    pub exit: f64,
}

impl CutRules {
    /// The rules for a process in a sheet `thickness` mm thick; what the process leaves out comes from the table.
    pub fn of(process: &Process, thickness: f64) -> Self {
        let table = process.kind().known();
        let kerf = process.kerf.or(table.map(|known| known.kerf.value(thickness, 0.0))).unwrap_or_default();
        let rule = |given: Option<f64>, pick: fn(&CuttingProcess) -> &ProcessRule| {
            given.or(table.map(|known| pick(known).value(thickness, kerf))).unwrap_or_default()
        };
        let seconds = |given: Option<f64>, pick: fn(&CuttingProcess) -> Option<&SourcedRange>| {
            given.or(table.and_then(pick).map(|range| 0.5 * (range.from + range.to))).unwrap_or_default()
        };
        Self {
            process: table
                .map_or_else(|| process.kind().name().to_owned(), |known| known.description.clone()),
            thickness,
            kerf,
            slot_min: rule(process.slot_min, |known| &known.slot_min),
            // a least slot that is given holds for every slot
            closed_slot_min: rule(process.slot_min, |known| &known.closed_slot_min),
            arm_min: rule(process.arm_min, |known| &known.arm_min),
            inside_radius_min: rule(process.inside_radius_min, |known| &known.inside_radius_min),
            pierce_hole: rule(process.pierce_hole, |known| &known.pierce_hole),
            edge_slope: rule(process.edge_slope, |known| &known.edge_slope),
            tolerance: rule(process.tolerance, |known| &known.tolerance),
            sheet: table.and_then(|known| known.sheet.as_ref()).map(|range| [range.from, range.to]),
            speed: process
                .speed
                .or(table.and_then(|known| known.speed.as_ref()).map(|speed| speed.value(thickness))),
            pierce_seconds: seconds(process.pierce_seconds, |known| known.pierce_seconds.as_ref()),
            move_seconds: seconds(process.move_seconds, |known| known.move_seconds.as_ref()),
            tabs: table.and_then(|known| known.tabs.as_ref()).map(|tabs| tabs.rule),
            ends: process.ends.unwrap_or_default(),
            end_diameter: process.end_diameter,
            accuracy: ACCURACY,
            segment_min: SEGMENT_MIN,
        }
    }

    /// Whether a slot of this width (mm) is cut in one pass along its centre line.
    pub fn cuts_on_line(&self, slot: f64) -> bool {
        self.kerf > 0.0 && (slot - self.kerf).abs() <= ONE_PASS * self.kerf
    }

    /// Diameter of the hole that ends a keyhole or bulb slot of this width (mm).
    pub fn keyhole_diameter(&self, slot: f64) -> f64 {
        hole_diameter(self.end_diameter, slot, self.thickness, [self.kerf, self.inside_radius_min])
    }

    /// Widths at the faces (mm) of an arm of this width at mid-thickness (mm).
    pub fn face_widths(&self, width: f64) -> FaceWidths {
        // each of the two edges leans by half its slope from mid-thickness to either face
        FaceWidths { entry: width - self.edge_slope, exit: width + self.edge_slope }
    }
}
