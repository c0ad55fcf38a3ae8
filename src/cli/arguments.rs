//! Command line arguments.

use std::path::PathBuf;

use clap::{Args, Parser, Subcommand, ValueEnum};
use serde::Deserialize;

use crate::curve::{BranchChoice, ColumnChoice, ReadChoice};
use crate::plot::Units;
use crate::spec::{Pressing, Rim};
use crate::synthesis::Preference;

/// Examples and exit codes below the help of the program.
const PROGRAM_EXAMPLES: &str = "\
Examples:
  flatspire design examples/gentle.csv --brief examples/pedal.toml --out pedal-spring
  flatspire flat pedal-spring/spring.toml
  flatspire correct examples/brake_cut.toml examples/brake_cut.csv --thickness 1.47 --out second-cut

Exit codes:
  0  done, every check passed
  1  a file could not be read or written
  2  the input is wrong; the message says where and what was expected
  3  done, files written, but the curve is not met or a check failed
  129, 130, 143  stopped by a signal; what was being written is whole or was not begun";

/// From a wanted force-deflection curve to a flat-cut spiral spring.
#[derive(Debug, Parser)]
#[command(name = "flatspire", bin_name = "flatspire", version, about, max_term_width = 100)]
#[command(after_help = PROGRAM_EXAMPLES)]
pub struct Arguments {
    /// Command to run
    #[command(subcommand)]
    pub command: Command,
    /// Options of every command
    #[command(flatten)]
    pub general: General,
}

/// Options of every command.
#[derive(Debug, Clone, Args)]
pub struct General {
    /// Print one JSON object on standard output and nothing else there
    #[arg(long, global = true)]
    pub json: bool,
    /// Units of what is shown; files keep mm and N
    #[arg(long, global = true, value_enum, default_value = "mm-n")]
    pub units: ShownUnits,
}

/// Units of what is shown.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum ShownUnits {
    /// millimetre and newton
    MmN,
    /// inch and pound-force
    InLbf,
}

impl From<ShownUnits> for Units {
    fn from(units: ShownUnits) -> Self {
        match units {
            ShownUnits::MmN => Self::MillimetreNewton,
            ShownUnits::InLbf => Self::InchPound,
        }
    }
}

/// The commands.
#[derive(Debug, Subcommand)]
pub enum Command {
    /// Find a spring that follows a force-deflection curve and write the whole package
    #[command(after_help = "Examples:\n  \
                            flatspire design examples/gentle.csv --brief examples/pedal.toml --out pedal-spring\n  \
                            flatspire design examples/linear.csv")]
    Design(DesignOptions),
    /// Predict the force-deflection curve of a spring, as CSV on standard output
    #[command(after_help = "Examples:\n  flatspire predict pedal-spring/spring.toml --out curve.csv\n  \
                            flatspire predict old.dxf --material 1.4310+C1300 --thickness 1.2 --free-height 9")]
    Predict(PredictOptions),
    /// Check that a spring closes flat, survives and keeps its height
    #[command(after_help = "Examples:\n  flatspire flat pedal-spring/spring.toml --out pedal-check\n  \
                            flatspire flat pedal-spring/spring.toml --out pedal-again --package\n  \
                            flatspire flat pedal-spring/outline_mm.dxf --like pedal-spring/spring.toml")]
    Flat(FlatOptions),
    /// Draw a spring for the shop: outline as DXF and SVG, several on a sheet, tool path
    #[command(after_help = "Examples:\n  flatspire outline pedal-spring/spring.toml --out drawings\n  \
                            flatspire outline pedal-spring/spring.toml --columns 4 --rows 2 --spacing 5 --tool-path")]
    Outline(OutlineOptions),
    /// Compare a spring with the best of constant width and of a linear taper
    #[command(after_help = "Examples:\n  flatspire compare pedal-spring/spring.toml --out comparison\n  \
                            flatspire compare examples/gentle.csv --brief examples/pedal.toml")]
    Compare(CompareOptions),
    /// Show how far the force of many parts scatters, and which tolerance to tighten first
    #[command(
        after_help = "Example:\n  flatspire scatter pedal-spring/spring.toml --runs 10000 --out scatter"
    )]
    Scatter(ScatterOptions),
    /// Find what explains the measured curve of a cut part, and draw the next one
    #[command(after_help = "Examples:\n  flatspire correct examples/brake_cut.toml examples/brake_cut.csv \
                            --thickness 1.47 --out second-cut\n  \
                            flatspire correct examples/brake_cut.toml --bench-sheet bench.csv --parts 3\n  \
                            flatspire correct examples/brake_cut.toml --heights examples/brake_heights.csv --out next-former")]
    Correct(CorrectOptions),
    /// List the sheets known, with sources
    #[command(after_help = "Examples:\n  flatspire stock\n  flatspire stock 1.4310+C1300")]
    Stock(StockOptions),
    /// Open a page on this computer where the curve is drawn by hand and the spring follows
    #[command(after_help = "Examples:\n  flatspire serve\n  \
                            flatspire serve examples/two_rate.csv --brief examples/pedal.toml --port 8718")]
    Serve(ServeOptions),
    /// Print the manual page of the program or of one command
    #[command(
        after_help = "Examples:\n  flatspire manual | man -l -\n  flatspire manual design > flatspire-design.1\n  flatspire manual glossary"
    )]
    Manual(ManualOptions),
    /// Print shell completions
    #[command(
        after_help = "Examples:\n  flatspire completions bash > flatspire.bash\n  flatspire completions fish > flatspire.fish"
    )]
    Completions {
        /// The shell
        shell: clap_complete::Shell,
    },
}

/// Reading of a curve file.
#[derive(Debug, Clone, Default, Args)]
#[command(next_help_heading = "Reading of the curve file")]
pub struct CurveOptions {
    /// Branch of a measured curve; left out: the middle of both where both were measured
    #[arg(long, value_enum)]
    pub branch: Option<ShownBranch>,
    /// Columns of deflection and force, by name or by number from 1, as in 2,3; left out: by the words of the header
    #[arg(long, value_name = "DEFLECTION,FORCE", value_parser = ColumnChoice::parse)]
    pub columns: Option<ColumnChoice>,
}

impl CurveOptions {
    /// Choice of the reader.
    pub fn choice(&self) -> ReadChoice {
        ReadChoice { branch: self.branch.map(Into::into), columns: self.columns.clone() }
    }
}

/// Branch of a measured curve.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum ShownBranch {
    /// deflection increases
    Loading,
    /// deflection decreases
    Unloading,
    /// middle between both: friction cancels
    Mean,
}

impl From<ShownBranch> for BranchChoice {
    fn from(branch: ShownBranch) -> Self {
        match branch {
            ShownBranch::Loading => Self::Loading,
            ShownBranch::Unloading => Self::Unloading,
            ShownBranch::Mean => Self::Mean,
        }
    }
}

/// `design`.
#[derive(Debug, Args)]
pub struct DesignOptions {
    /// Wanted force-deflection curve (CSV with a header, as in travel_mm,force_n)
    #[arg(value_name = "CURVE.csv", required_unless_present = "like")]
    pub curve: Option<PathBuf>,
    /// Reading of the curve
    #[command(flatten)]
    pub reading: CurveOptions,
    /// Brief (TOML): space, sheet, process, seat, cycles; every key is optional
    #[arg(long, value_name = "BRIEF.toml")]
    pub brief: Option<PathBuf>,
    /// Folder for the package, made if need be
    #[arg(long, value_name = "FOLDER", default_value = "flatspire-out")]
    pub out: PathBuf,
    /// Overwrite a spring that was designed for another curve
    #[arg(long)]
    pub force: bool,
    /// Deciding property among the springs whose verdicts are all yes
    #[arg(long, value_name = "PROPERTY", default_value = "robust")]
    pub prefer: ShownPreference,
    /// Place in the shortlist of the spring to write, from 1
    #[arg(long, value_name = "N", default_value_t = 1)]
    pub take: usize,
    /// Longest time for the search (s); the best spring or assembly found by then is written, with a note that it was cut short
    #[arg(long, value_name = "SECONDS")]
    pub time_limit: Option<f64>,
    /// Shape this spring again for a measured sheet: circles, arms and former stay; without a curve its own target counts
    #[arg(long, value_name = "SPRING.toml", requires = "thickness",
          conflicts_with_all = ["brief", "prefer", "take", "time_limit"])]
    pub like: Option<PathBuf>,
    /// Thickness of the sheet as measured (mm), with --like
    #[arg(long, value_name = "MM", requires = "like", allow_negative_numbers = true)]
    pub thickness: Option<f64>,
}

/// Deciding property among springs that pass.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum ShownPreference {
    /// most good parts, then the simplest arm, then the smallest disc
    Robust,
    /// the smallest disc
    Small,
    /// the least share of the allowable stress
    LowStress,
    /// the shortest time on the machine
    QuickToCut,
}

impl From<ShownPreference> for Preference {
    fn from(preference: ShownPreference) -> Self {
        match preference {
            ShownPreference::Robust => Self::Robust,
            ShownPreference::Small => Self::Small,
            ShownPreference::LowStress => Self::LowStress,
            ShownPreference::QuickToCut => Self::QuickToCut,
        }
    }
}

/// Data that a drawing does not contain. Only for a spring that is given as a DXF drawing.
#[derive(Debug, Clone, Args)]
#[command(next_help_heading = "For a spring given as a drawing (.dxf)")]
pub struct DrawnSpringOptions {
    /// Take everything but the outline from this spring file
    #[arg(long, value_name = "SPRING.toml")]
    pub like: Option<PathBuf>,
    /// Sheet, a name from `flatspire stock`
    #[arg(long)]
    pub material: Option<String>,
    /// Thickness of the sheet (mm)
    #[arg(long, value_name = "MM", allow_negative_numbers = true)]
    pub thickness: Option<f64>,
    /// Rise of the hub above its flat position (mm)
    #[arg(long, value_name = "MM", allow_negative_numbers = true)]
    pub free_height: Option<f64>,
    /// Arm widths of arc over which the former's slope fades out at the roots
    #[arg(long, value_name = "WIDTHS", allow_negative_numbers = true)]
    pub ease: Option<f64>,
    /// Load applied to the hub alone, or by an upper plate over the arms
    #[arg(long, value_enum)]
    pub pressing: Option<ShownPressing>,
    /// The rim: loose on the base, or clamped flat
    #[arg(long, value_enum)]
    pub rim: Option<ShownRim>,
    /// Width of the cut (mm), where slots are drawn as one line
    #[arg(long, value_name = "MM", allow_negative_numbers = true)]
    pub kerf: Option<f64>,
}

/// Part that applies the load.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum ShownPressing {
    /// only the hub
    Hub,
    /// an upper plate over the arms
    Plates,
}

/// Boundary condition of the rim.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum ShownRim {
    /// loose on the base
    Resting,
    /// clamped flat
    Held,
}

impl From<ShownPressing> for Pressing {
    fn from(pressing: ShownPressing) -> Self {
        match pressing {
            ShownPressing::Hub => Self::Hub,
            ShownPressing::Plates => Self::Plates,
        }
    }
}

impl From<ShownRim> for Rim {
    fn from(rim: ShownRim) -> Self {
        match rim {
            ShownRim::Resting => Self::Resting,
            ShownRim::Held => Self::Held,
        }
    }
}

/// `predict`.
#[derive(Debug, Args)]
pub struct PredictOptions {
    /// Spring file (TOML, as design writes it), or a drawing (DXF)
    pub spring: PathBuf,
    /// Predict at the deflections of this curve file; left out: at 100 even steps up to 99 % of the travel
    #[arg(long, value_name = "CURVE.csv")]
    pub at: Option<PathBuf>,
    /// Write the table here instead of on standard output
    #[arg(long, value_name = "TABLE.csv")]
    pub out: Option<PathBuf>,
    /// Replace another spring's files; files changed by hand or of other origin are kept beside as NAME.kept
    #[arg(long)]
    pub force: bool,
    /// Data that a drawing does not carry
    #[command(flatten)]
    pub drawn: DrawnSpringOptions,
}

/// `flat`.
#[derive(Debug, Args)]
pub struct FlatOptions {
    /// Spring file (TOML, as design writes it), or a drawing (DXF)
    pub spring: PathBuf,
    /// Also write the report on the spring, a page with its pictures, into this folder
    #[arg(long)]
    pub out: Option<PathBuf>,
    /// Write the whole package of the spring as it stands into the folder: drawings, former, setting, report
    #[arg(long, requires = "out")]
    pub package: bool,
    /// Replace another spring's files; files changed by hand or of other origin are kept beside as NAME.kept
    #[arg(long)]
    pub force: bool,
    /// Data that a drawing does not carry
    #[command(flatten)]
    pub drawn: DrawnSpringOptions,
}

/// `outline`.
#[derive(Debug, Args)]
pub struct OutlineOptions {
    /// Spring file (TOML, as design writes it), or an assembly: each disc into its folder
    #[arg(value_name = "SPRING.toml")]
    pub spring: PathBuf,
    /// Folder for the drawings, made if need be
    #[arg(long, value_name = "FOLDER", default_value = "flatspire-out")]
    pub out: PathBuf,
    /// Replace another spring's files; files changed by hand or of other origin are kept beside as NAME.kept
    #[arg(long)]
    pub force: bool,
    /// Leave out the words below the disc
    #[arg(long)]
    pub without_notes: bool,
    /// Also write the path of the middle of the cut, kerf compensated, as a file of its own
    #[arg(long)]
    pub tool_path: bool,
    /// Also draw several on one sheet: this many beside each other
    #[arg(long, value_name = "COUNT", value_parser = whole)]
    pub columns: Option<usize>,
    /// Also draw several on one sheet: this many rows
    #[arg(long, value_name = "COUNT", value_parser = whole)]
    pub rows: Option<usize>,
    /// Also draw as many as fit on a sheet of this size (mm), along and across the rolling direction, as in 500x300
    #[arg(long, value_name = "WIDTHxHEIGHT", conflicts_with_all = ["columns", "rows"])]
    pub sheet: Option<String>,
    /// Distance of neighbours on the sheet (mm); left out: by process, 5 in a grid
    #[arg(long, value_name = "MM", allow_negative_numbers = true)]
    pub spacing: Option<f64>,
}

/// `compare`.
#[derive(Debug, Args)]
pub struct CompareOptions {
    /// Wanted force-deflection curve (CSV), a spring file or an assembly (TOML)
    pub file: PathBuf,
    /// Reading of a curve
    #[command(flatten)]
    pub reading: CurveOptions,
    /// Brief for a wanted curve (TOML); a spring file carries its own
    #[arg(long, value_name = "BRIEF.toml")]
    pub brief: Option<PathBuf>,
    /// Folder for pictures and the table of all curves
    #[arg(long, value_name = "FOLDER")]
    pub out: Option<PathBuf>,
    /// Replace another spring's files; files changed by hand or of other origin are kept beside as NAME.kept
    #[arg(long)]
    pub force: bool,
}

/// `scatter`.
#[derive(Debug, Args)]
pub struct ScatterOptions {
    /// Spring file (TOML), whose [tolerance] section gives the tolerances of parts, or an assembly
    #[arg(value_name = "SPRING.toml")]
    pub spring: PathBuf,
    /// Parts drawn at random, 40 or more
    #[arg(long, value_name = "COUNT", default_value_t = 2000, value_parser = whole)]
    pub runs: usize,
    /// Seed of the random numbers: the same seed draws the same parts
    #[arg(long, default_value_t = 1)]
    pub seed: u64,
    /// Folder for a picture and a table of the band
    #[arg(long, value_name = "FOLDER")]
    pub out: Option<PathBuf>,
    /// Replace another spring's files; files changed by hand or of other origin are kept beside as NAME.kept
    #[arg(long)]
    pub force: bool,
}

/// `correct`.
#[derive(Debug, Args)]
pub struct CorrectOptions {
    /// Spring file (TOML) of the part that was cut; its [tolerance] section gives the tolerances. Of an assembly: the
    /// shim that trims it
    #[arg(value_name = "SPRING.toml")]
    pub spring: PathBuf,
    /// Measured force-deflection curves (CSV), as they came: noise, both branches, a zero that is off. One file a part;
    /// also bench sheets, filled in
    #[arg(value_name = "MEASURED.csv", required_unless_present_any = ["heights", "bench_sheet"])]
    pub measured: Vec<PathBuf>,
    /// All measured files are of one and the same part
    #[arg(long, conflicts_with = "heights")]
    pub same_part: bool,
    /// Write a bench sheet for this spring, to be filled in and given back as MEASURED.csv; - for standard output
    #[arg(long, value_name = "SHEET.csv", conflicts_with_all = ["measured", "heights", "thickness"])]
    pub bench_sheet: Option<PathBuf>,
    /// Columns of the bench sheet, one a part
    #[arg(long, value_name = "COUNT", default_value_t = 5, value_parser = clap::value_parser!(u16).range(1..=50))]
    pub parts: u16,
    /// Reading of the measured curve
    #[command(flatten)]
    pub reading: CurveOptions,
    /// Heights of a spring that was set on the former (CSV: radius_mm,height_mm, three radii): the next former instead of
    /// a new cut
    #[arg(long, value_name = "HEIGHTS.csv", conflicts_with_all = ["measured", "thickness"])]
    pub heights: Option<PathBuf>,
    /// Former it was set on (CSV, as former/former.csv), with --heights; left out: the one of the spring file
    #[arg(long, value_name = "FORMER.csv", requires = "heights")]
    pub former: Option<PathBuf>,
    /// Thickness of the part, measured (mm): thickness and modulus are confounded in the force. Of several parts one
    /// each, in the order of the files, as in 1.97,1.98
    #[arg(long, value_name = "MM", value_delimiter = ',', value_parser = above_zero, allow_negative_numbers = true)]
    pub thickness: Vec<f64>,
    /// Folder for the package of the new cut; left out: nothing is written
    #[arg(long, value_name = "FOLDER")]
    pub out: Option<PathBuf>,
    /// Overwrite the spring that was measured
    #[arg(long)]
    pub force: bool,
}

/// A length above zero.
fn above_zero(text: &str) -> Result<f64, String> {
    let value: f64 = text.parse().map_err(|_| "expected a number of millimetres".to_owned())?;
    if value.is_finite() && value > 0.0 {
        Ok(value)
    } else {
        Err("expected a length above zero, in mm".to_owned())
    }
}

/// A whole number.
fn whole(text: &str) -> Result<usize, String> {
    text.parse().map_err(|_| "expected a whole number, as in 12".to_owned())
}

/// `manual`.
#[derive(Debug, Args)]
pub struct ManualOptions {
    /// One command, or `glossary` for the terms; left out: the program
    pub command: Option<String>,
}

/// `stock`.
#[derive(Debug, Args)]
pub struct StockOptions {
    /// One sheet, by name: its values with the source of each
    pub name: Option<String>,
}

/// `serve`.
#[derive(Debug, Args)]
pub struct ServeOptions {
    /// Curve to begin with (CSV), or an assembly to show (its file or folder); an example when left out
    #[arg(value_name = "CURVE.csv")]
    pub curve: Option<PathBuf>,
    /// Reading of the curve
    #[command(flatten)]
    pub reading: CurveOptions,
    /// Brief to begin with (TOML)
    #[arg(long, value_name = "BRIEF.toml", requires = "curve")]
    pub brief: Option<PathBuf>,
    /// Port of this computer; 0 takes any free one
    #[arg(long, default_value_t = 8717)]
    pub port: u16,
}
