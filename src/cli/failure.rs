//! Why a command ended early, and with which exit code.

use std::io::ErrorKind;
use std::path::PathBuf;

use crate::compare::CompareError;
use crate::curve::CurveError;
use crate::evaluation::{AssembledError, DrawingError};
use crate::export::ExportError;
use crate::layout::{LayoutError, StationsError};
use crate::live::LiveError;
use crate::material::MaterialError;
use crate::model::ModelError;
use crate::outline::{MeasureError, ReadError, SheetLayoutError, ToolPathError};
use crate::package::PackageError;
use crate::pipeline::{AnswerError, CorrectError};
use crate::plot::PlotError;
use crate::report::ReportError;
use crate::setting::TrialError;
use crate::spec::SpecError;
use crate::variation::VariationError;

/// Why a command ended early.
#[derive(Debug, thiserror::Error)]
pub enum Failure {
    /// A file could not be read.
    #[error("{}: cannot be read: {source}; {}", path.display(), reading_remedy(source))]
    Read {
        /// which file
        path: PathBuf,
        /// error of the operating system
        source: std::io::Error,
    },
    /// A file could not be written.
    #[error("{}: cannot be written: {source}; {}", path.display(), writing_remedy(source))]
    Write {
        /// which file or folder
        path: PathBuf,
        /// error of the operating system
        source: std::io::Error,
    },
    /// A package of another curve is in the way.
    #[error(
        "{}: holds a spring designed for another curve; choose another folder with --out, or overwrite it with --force",
        path.display()
    )]
    OtherTarget {
        /// the spring file found
        path: PathBuf,
    },
    /// An assembly without a curve.
    #[error("{file}: {source}")]
    Assembled {
        /// the assembly file
        file: String,
        /// reason
        source: AssembledError,
    },
    /// A deflection beyond an assembly's travel.
    #[error(
        "{file}: deflection {found} mm was asked for; the assembly goes from {low:.3} to {high:.3} mm from where it rests"
    )]
    AssemblyTravel {
        /// the assembly file
        file: String,
        /// what was asked (mm)
        found: f64,
        /// least (mm)
        low: f64,
        /// largest (mm)
        high: f64,
    },
    /// An assembly whose file asks for no curve.
    #[error(
        "{file}: found no [target], expected the curve asked for; add deflection and force, or file, under [target]"
    )]
    NoCurveAsked {
        /// the assembly file
        file: String,
    },
    /// A two-sided assembly beside one disc.
    #[error(
        "{file}: found a curve through zero to both sides, expected one to one side; one disc pushes one way only, so that \
         there is nothing to compare: `flatspire flat` judges the assembly"
    )]
    BothSides {
        /// the assembly file
        file: String,
    },
    /// An option for one disc, given with an assembly.
    #[error(
        "{file}: found an assembly with {found}, expected the spring.toml of one disc; give the one in the disc's folder"
    )]
    OfOneDisc {
        /// the assembly file
        file: String,
        /// the option
        found: &'static str,
    },
    /// A package of another spring is in the way.
    #[error(
        "{}: found the files of another spring, expected an empty folder or one of this spring; choose another folder \
         with --out, or give --force to replace it",
        path.display()
    )]
    OtherSpring {
        /// the folder
        path: PathBuf,
    },
    /// A file of a package was changed since it was written.
    #[error(
        "{}: found a file changed since it was written, expected it unchanged; move it away, or give --force to keep it \
         beside as NAME.kept",
        path.display()
    )]
    ChangedFile {
        /// the file
        path: PathBuf,
    },
    /// A file that the program did not write is in the way.
    #[error(
        "{}: found a file that this program did not write there, expected none; move it away, or give --force to keep \
         it beside as NAME.kept",
        path.display()
    )]
    StrangeFile {
        /// the file
        path: PathBuf,
    },
    /// A finished search that could not be written where it was asked for.
    #[error("{failure}; the whole package was written to {}", place.display())]
    SavedElsewhere {
        /// fault at the folder asked for
        failure: Box<Failure>,
        /// folder with the package
        place: PathBuf,
    },
    /// More than a reader takes.
    #[error(
        "{}: found more than {limit} bytes, expected a file of at most that size; {remedy}",
        path.display()
    )]
    TooLarge {
        /// the file
        path: PathBuf,
        /// largest size (bytes)
        limit: u64,
        /// remedy
        remedy: &'static str,
    },
    /// The spring that was measured is in the way.
    #[error(
        "{}: is the spring that was measured; choose another folder with --out, or overwrite it with --force",
        path.display()
    )]
    MeasuredSpring {
        /// the spring file found
        path: PathBuf,
    },
    /// A file of one kind where another is meant.
    #[error("{}: this is {found}, expected {expected}; {remedy}", path.display())]
    OtherKind {
        /// which file
        path: PathBuf,
        /// what it is
        found: &'static str,
        /// kind expected
        expected: &'static str,
        /// remedy
        remedy: &'static str,
    },
    /// Text that is not UTF-8.
    #[error("{}: is not UTF-8 text (byte {position}); save it as UTF-8", path.display())]
    NotText {
        /// which file
        path: PathBuf,
        /// where
        position: usize,
    },
    /// The curve file is wrong.
    #[error(transparent)]
    Curve(#[from] CurveError),
    /// A brief or a spring file is wrong.
    #[error(transparent)]
    Spec(#[from] SpecError),
    /// A stations file is wrong.
    #[error(transparent)]
    Stations(#[from] StationsError),
    /// Contradicting values of a spring file.
    #[error("{file}: {source}")]
    Spring {
        /// the file
        file: String,
        /// error
        source: LayoutError,
    },
    /// The spring has no curve.
    #[error("{file}: {source}")]
    Model {
        /// the file
        file: String,
        /// error
        source: ModelError,
    },
    /// The spring cannot be drawn.
    #[error("{file}: {source}")]
    Drawing {
        /// the file
        file: String,
        /// error
        source: DrawingError,
    },
    /// A drawing cannot be read.
    #[error(transparent)]
    DrawingRead(#[from] ReadError),
    /// A drawing without the outline of a spring.
    #[error("{file}: {source}")]
    Measure {
        /// the file
        file: String,
        /// error
        source: MeasureError,
    },
    /// A drawing needs more said about it.
    #[error("{file}: a drawing does not say {what}; give {remedy}")]
    NotInDrawing {
        /// the file
        file: String,
        /// what is missing
        what: &'static str,
        /// how to give it
        remedy: &'static str,
    },
    /// An option without a drawing.
    #[error("{file}: {option} is for a spring given as a drawing (.dxf); change the spring file instead")]
    OnlyForDrawings {
        /// the file
        file: String,
        /// the option
        option: &'static str,
    },
    /// A brief beside a spring.
    #[error(
        "{file}: a spring file carries its own brief, found {brief} beside it; leave --brief out, or give the wanted curve \
         (CSV) instead of the spring"
    )]
    OnlyForCurves {
        /// the spring file
        file: String,
        /// the brief
        brief: String,
    },
    /// Measured thicknesses that are not one for each part.
    #[error(
        "--thickness: found {found} values, expected {parts}, one for each measured part in the order of the files; write \
         them as in 1.97,1.98, or into a bench sheet"
    )]
    ThicknessCount {
        /// values given
        found: usize,
        /// parts measured
        parts: usize,
    },
    /// A measured thickness that cannot be of the sheet in question.
    #[error(
        "--thickness: found {thickness} mm, expected about the {drawn} mm of {file}; measure the part again, or give the \
         spring file of the part that was cut"
    )]
    OtherSheet {
        /// what was measured (mm)
        thickness: f64,
        /// what was drawn (mm)
        drawn: f64,
        /// the spring file
        file: String,
    },
    /// A deflection that the spring cannot have.
    #[error(
        "{file}: found a deflection of {found} mm, expected 0 to {travel} mm, the spring's free height; remove that row"
    )]
    OutsideTravel {
        /// the file of deflections
        file: String,
        /// deflection found (mm)
        found: String,
        /// free height of the spring (mm)
        travel: String,
    },
    /// An option's value makes no sense.
    #[error("{option}: found {found}, expected {expected}; give another value")]
    Option {
        /// the option
        option: &'static str,
        /// value found
        found: String,
        /// accepted values
        expected: &'static str,
    },
    /// The cut's path.
    #[error(transparent)]
    ToolPath(#[from] ToolPathError),
    /// Heights of a trial are wrong.
    #[error(transparent)]
    Trial(#[from] TrialError),
    /// No former for the spring.
    #[error("{file}: no way of setting holds this spring's height; {remedy}")]
    NoFormer {
        /// the spring file
        file: String,
        /// change of the spring that helps
        remedy: &'static str,
    },
    /// Several on a sheet.
    #[error(transparent)]
    SheetLayout(#[from] SheetLayoutError),
    /// Parts that cannot be followed.
    #[error("{file}: {source}")]
    Variation {
        /// the file
        file: String,
        /// error
        source: VariationError,
    },
    /// A spring that cannot be shaped again.
    #[error("{file}: {source}")]
    ShapedAgain {
        /// the file
        file: String,
        /// reason
        source: Box<CorrectError>,
    },
    /// Springs that cannot be compared.
    #[error("{file}: {source}")]
    Compare {
        /// the file
        file: String,
        /// error
        source: Box<CompareError>,
    },
    /// No picture.
    #[error(transparent)]
    Plot(#[from] PlotError),
    /// No such sheet.
    #[error(transparent)]
    Material(#[from] MaterialError),
    /// No answer.
    #[error(transparent)]
    Answer(#[from] AnswerError),
    /// No drawing.
    #[error(transparent)]
    Export(#[from] ExportError),
    /// No package.
    #[error(transparent)]
    Package(#[from] PackageError),
    /// No report.
    #[error(transparent)]
    Report(#[from] ReportError),
    /// The page cannot open with it.
    #[error(transparent)]
    Live(#[from] LiveError),
    /// A port that is not available.
    #[error("port {port} of this computer is not available: {source}; {}", port_remedy(source))]
    Port {
        /// which port
        port: u16,
        /// error of the operating system
        source: std::io::Error,
    },
}

/// Remedy for a file that cannot be read.
fn reading_remedy(source: &std::io::Error) -> &'static str {
    match source.kind() {
        ErrorKind::NotFound => "check the name, and the folder you are in",
        ErrorKind::IsADirectory => "name a file, not a folder",
        ErrorKind::TimedOut => "start the program that writes it first",
        ErrorKind::PermissionDenied => "ask for permission to read it, or copy it to a place of your own",
        _ => "check the disk and try again",
    }
}

/// Remedy for a file that cannot be written.
fn writing_remedy(source: &std::io::Error) -> &'static str {
    match source.kind() {
        ErrorKind::NotFound => "make its folder first, or choose another one",
        ErrorKind::NotADirectory | ErrorKind::AlreadyExists => {
            "a file stands where a folder is meant; choose another folder"
        }
        ErrorKind::IsADirectory => {
            "a folder stands where the file is meant; move it away or choose another one"
        }
        ErrorKind::PermissionDenied | ErrorKind::ReadOnlyFilesystem => "choose a folder you may write to",
        ErrorKind::StorageFull | ErrorKind::QuotaExceeded | ErrorKind::FileTooLarge => {
            "free some space and try again"
        }
        ErrorKind::TimedOut => "start the program that reads it first",
        ErrorKind::WouldBlock => "wait until it is done there, or choose another folder",
        _ => "choose another folder or try again",
    }
}

/// Remedy for a port that is not available.
fn port_remedy(source: &std::io::Error) -> &'static str {
    match source.kind() {
        ErrorKind::AddrInUse => {
            "another program has it, perhaps this page is open already; choose another one with --port, or --port 0 for any \
             that is free"
        }
        ErrorKind::PermissionDenied => {
            "choose one from 1024 up with --port, or --port 0 for any that is free"
        }
        _ => "choose another one with --port, or --port 0 for any that is free",
    }
}

impl Failure {
    /// 1 for reading and writing, 2 for wrong input.
    pub fn exit_code(&self) -> u8 {
        match self {
            Self::Read { .. }
            | Self::Write { .. }
            | Self::OtherTarget { .. }
            | Self::OtherSpring { .. }
            | Self::ChangedFile { .. }
            | Self::StrangeFile { .. }
            | Self::SavedElsewhere { .. }
            | Self::MeasuredSpring { .. }
            | Self::Port { .. } => 1,
            _ => 2,
        }
    }
}
