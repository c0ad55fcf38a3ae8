//! From a wanted force-deflection curve to a flat-cut spiral spring.
//!
//! A disc of spring sheet is cut into `N` spiral arms between rim and hub and set to a height on a former. Pressed
//! flat, its arms seat on the base one piece after another, so the free length shrinks and the rate rises: the width of
//! the arms along the radius determines the curve.
//!
//! # The problem in formulas
//!
//! An axial force `F` twists an arm at radius `r` with the torque `F r / N`. A piece `dθ` of the arm deflects by `F r³
//! / (N G J) dθ` until its own rise `p dθ` is used up (torsion alone, small slopes; the progressive bottoming of
//! conical springs, after Wahl, Mechanical Springs, 1944):
//!
//! ```text
//! x(F) = ∫ min( F r³ / (N G J(w)), p ) dθ        dθ = −2π dr / (N (w + g))
//! ```
//!
//! `x` deflection (mm), `F` force (N), `r` radius of the arm's centre line (mm), `θ` winding angle (rad), `p` rise per
//! radian (mm), `G` shear modulus (MPa), `J` torsion constant of the section (mm⁴), `w` arm width, `g` slot width (mm).
//!
//! Wanted are the width `w(r)`, the free height, the sheet and the number of arms for which `x(F)` is the given curve.
//! The closed form above seeds the search ([`synthesis`]); what is shaped, judged and reported is a chain of curved
//! beams with bending, torsion, root compliance, in-plane stiffness of the arm and one-sided contact ([`model`]). Since a
//! seated piece stays seated, the rate of a curve that can be followed never falls ([`curve::nearest_reachable`]).
//!
//! # From a curve to an outline
//!
//! ```
//! use flatspire::export::{DrawingNotes, dxf};
//! use flatspire::outline::{CutRules, Outline};
//! use flatspire::pipeline::{Question, answer};
//! use flatspire::{curve, spec::Brief};
//!
//! # fn main() -> Result<(), Box<dyn std::error::Error>> {
//! // a throttle return of a pedal-feel rig: 5 N/mm over 7 mm
//! let target = curve::read(b"deflection_mm,force_n\n0,0\n2,10\n4,20\n7,35\n", "throttle.csv")?;
//! let brief = Brief::parse(
//!     "[envelope]\nouter_diameter_max = 90\n[sheet]\nthickness = 1.5\n[arms]\ncount = 1\n",
//!     "throttle.toml",
//! )?;
//! let answer = answer(Question { target, brief }, &|_| {})?;
//! assert!(answer.evaluation.fit.as_ref().is_some_and(|fit| fit.summary.rms_percent < 3.0));
//!
//! let best = answer.spring();
//! let rules = CutRules::of(&answer.question.brief.process, best.sheet.thickness);
//! let drawing = dxf(&Outline::of(best, &rules)?, &DrawingNotes::default())?;
//! assert!(drawing.ends_with(b"EOF\r\n") || drawing.ends_with(b"EOF\n"));
//! # Ok(())
//! # }
//! ```
//!
//! # From a spring to its curve
//!
//! A spring that is there already is predicted, checked and drawn from its file:
//!
//! ```
//! use flatspire::checks::{CheckOptions, Checks};
//! use flatspire::layout::Spring;
//! use flatspire::model::{Model, ModelSettings};
//! use flatspire::spec::SpringFile;
//!
//! # fn main() -> Result<(), Box<dyn std::error::Error>> {
//! let text = r#"
//!     sheet = { material = "1.4310+C1300", thickness = 1.2 }
//!     disc = { arm_outer_diameter = 60, arm_inner_diameter = 20, arms = 2, slot = 1.4 }
//!     arm = { radius = [10, 20, 30], width = [2.4, 4.4, 5.6] }
//!     former = { free_height = 9 }
//! "#;
//! let spring = Spring::from_file(&SpringFile::parse(text, "spring.toml")?, None)?;
//! let response = Model::of(&spring, &ModelSettings::default())?.response(&[2.0, 5.0, 8.0])?; // mm
//! assert!(response.force.is_sorted()); // N
//! assert!(response.rate[2] > 2.0 * response.rate[0]); // N/mm: turns have seated
//! assert!(response.seated_share[2] > response.seated_share[0]);
//!
//! let checks = Checks::of(&spring, &CheckOptions::default())?;
//! assert_eq!(checks.flat.travel_mm, 9.0);
//! # Ok(())
//! # }
//! ```
//!
//! Everything but `cli` takes and returns values: no file, no clock, no environment. The same input gives the same
//! bytes. The feature `cli`, on by default, is the command line; without it the library needs no parser of arguments, no
//! server and no terminal.

pub mod assembly;
pub mod checks;
#[cfg(feature = "cli")]
pub mod cli;
pub mod compare;
pub mod curve;
pub mod evaluation;
pub mod export;
pub mod layout;
pub mod live;
pub mod material;
pub mod model;
pub mod numeric;
pub mod outline;
pub mod package;
pub mod pipeline;
pub mod plot;
pub mod report;
pub mod response;
pub mod setting;
pub mod shop;
pub mod spec;
pub mod synthesis;
pub mod variation;
