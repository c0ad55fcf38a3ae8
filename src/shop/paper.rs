//! Papers of both sheets, and where the parts of the drawing sheet stand on them.

use super::page::PagePoint;
use crate::spec::Paper;

/// Frame: margin on the left for filing, elsewhere (mm, ISO 5457).
pub(super) const MARGIN: [f64; 2] = [20.0, 10.0];
/// Room of the disc with its tabs in the plan (mm on the page).
pub(super) const PLAN_ROOM: f64 = 154.0;
/// Distance of the rings round the plan from the disc, and of the dimension line below it (mm).
pub(super) const RING_DISTANCE: f64 = 11.0;
pub(super) const DIMENSION_DISTANCE: f64 = 18.5;
/// Line between the views and the column of tables, and left edge of the tables (mm).
pub(super) const DIVISION: f64 = 216.0;
pub(super) const COLUMN: f64 = 222.0;
/// Height of the title block (mm).
pub(super) const TITLE_HEIGHT: f64 = 36.0;

/// Places on one drawing sheet (mm).
#[derive(Debug, Clone, Copy)]
pub(super) struct Places {
    /// width and height of the paper
    pub paper: [f64; 2],
    /// name of the paper
    pub name: &'static str,
    /// centre of the plan
    pub plan: PagePoint,
    /// axis and base of the free section
    pub free: PagePoint,
    /// axis and base of the closed section
    pub closed: PagePoint,
    /// room of the free section: width, height
    pub free_room: [f64; 2],
    /// height of the room of the closed section
    pub closed_room: f64,
}

impl Places {
    /// On a paper.
    pub(super) fn on(paper: Paper) -> Self {
        let middle = 0.5 * (MARGIN[0] + DIVISION);
        match paper {
            Paper::A3 => Self {
                paper: [420.0, 297.0],
                name: "A3",
                plan: [middle, 193.5],
                free: [middle, 57.0],
                closed: [middle, 20.0],
                free_room: [PLAN_ROOM, 26.0],
                closed_room: 16.0,
            },
            Paper::Tabloid => Self {
                paper: [431.8, 279.4],
                name: "ANSI B",
                plan: [middle, 176.0],
                free: [middle, 48.0],
                closed: [middle, 18.0],
                free_room: [PLAN_ROOM, 20.0],
                closed_room: 12.0,
            },
        }
    }

    /// Right edge of the frame.
    pub(super) fn right(&self) -> f64 {
        self.paper[0] - MARGIN[1]
    }

    /// Upper edge of the frame.
    pub(super) fn top(&self) -> f64 {
        self.paper[1] - MARGIN[1]
    }
}

/// Width and height of the inspection sheet's paper, and its lowest and highest place in use (mm).
///
/// A4 keeps within the height of Letter, so that it can be printed on either.
pub(super) fn inspection_paper(paper: Paper) -> ([f64; 2], [f64; 2]) {
    match paper {
        Paper::A3 => ([210.0, 297.0], [16.0, 281.0]),
        Paper::Tabloid => ([215.9, 279.4], [8.0, 272.0]),
    }
}
