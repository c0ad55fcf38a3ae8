//! From a wanted force-deflection curve to a flat-cut spiral spring.
//!
//! A disc of spring sheet with N spiral slots, set to a free height h with level sections, closes to the thickness of
//! its sheet. An axial load f twists the arm at radius r with the torque f·r, so each dθ gives the deflection
//!
//! ```text
//! f r³/(GJ) dθ     until its own rise p dθ is used up, at   f_c = G J p / r³
//! ```
//!
//! Between equal slots `dθ = −2π dr/(N(w+g))`: the arm's width w over the radius decides where it closes at which load,
//! and with it how the rate rises with travel. The crate predicts the curve with a segment model (exact contact path,
//! yielding roots, the arm's stiffness in its own plane) and inverts it by bounded least squares.
//!
//! ```
//! use flatspire::curve;
//! use flatspire::layout::Spring;
//! use flatspire::model::{Model, ModelSettings};
//! use flatspire::outline::{CutRules, Outline};
//! use flatspire::spec::{Process, SpringFile};
//! use flatspire::synthesis::{shape, ShapeFreedom, ShapeSettings, TargetPoints};
//!
//! // what is wanted: 5 N/mm up to 4 mm
//! let target = curve::read(b"deflection_mm,force_n\n0,0\n1,5\n2,10\n3,15\n4,20\n", "wanted.csv")?;
//! let reach = curve::nearest_reachable(&target, 0.0);
//! assert!(reach.reachable);
//!
//! // a start: one arm of constant width
//! let text = "[sheet]\nmaterial = \"1.4310+C1300\"\nthickness = 1.2\n[disc]\narms = 1\nslot = 1.4\n\
//!             arm_outer_diameter = 52\narm_inner_diameter = 20\n[arm]\nradius = [10, 26]\nwidth = [4, 4]\n\
//!             [former]\nfree_height = 5\n";
//! let start = Spring::from_file(&SpringFile::parse(text, "start.toml")?, None)?;
//!
//! // the width that follows the curve
//! let settings = ShapeSettings {
//!     freedom: ShapeFreedom::Free(5),
//!     width: (2.0, 12.0),
//!     free_height: (4.2, 6.0),
//!     ease: None,
//!     profile: false,
//!     allowable: None,
//!     iterations: 10,
//!     model: ModelSettings { segments: 80, ..ModelSettings::default() },
//! };
//! let shaped = shape(&start, &TargetPoints::of(&target, &reach), &settings)?;
//! assert!(shaped.rms_percent < 3.0);
//!
//! // its curve and its outline
//! let response = Model::of(&shaped.spring, &ModelSettings::default())?.response(&[1.0, 2.0, 4.0])?;
//! assert!(response.force[2] > 18.0);
//! let rules = CutRules::of(&Process::default(), shaped.spring.sheet.thickness);
//! assert_eq!(Outline::of(&shaped.spring, &rules)?.arms, 1);
//! # Ok::<(), Box<dyn std::error::Error>>(())
//! ```

pub mod checks;
pub mod cli;
pub mod curve;
pub mod export;
pub mod layout;
pub mod material;
pub mod model;
pub mod numeric;
pub mod outline;
pub mod package;
pub mod plot;
pub mod response;
pub mod spec;
pub mod synthesis;
