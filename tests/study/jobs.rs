//! Jobs over the whole range of a workshop, from 0.05 N to 5 kN and 0.1 to 60 mm of travel, and what the search answers.

use flatspire::curve::TargetCurve;
use flatspire::layout::ArmShape;
use flatspire::pipeline::{Answer, Question, answer};
use flatspire::spec::Brief;

use super::draw::Draw;
use super::table::{rows, written};

/// Number of jobs.
pub const JOBS: u64 = 20;

const HEADER: &str = "job,force_n,travel_mm,rise,cycles,answered,failed,rms_percent,good_percent,good_percent_sheet_measured,\
                      arms,rung,turning_points,slot_end_share,proud_mm,thickness_mm,outer_diameter_mm,process";

/// Most energy (J) and force over travel (N/mm) of a job: beyond it no single sheet below 200 mm serves.
const MOST_ENERGY: f64 = 12.0;
const STIFFEST: f64 = 4000.0;
/// Softest job (N/mm).
const SOFTEST: f64 = 0.02;
/// Points of a target.
const POINTS: u32 = 15;

/// A job: a curve and what the maker says besides it.
pub struct Job {
    /// force at the end of the travel (N)
    pub force: f64,
    /// travel (mm)
    pub travel: f64,
    /// rate at the end over rate at the start
    pub rise: f64,
    /// cycles asked for; 0 for none
    pub cycles: f64,
    /// the question
    pub question: Question,
}

/// The job of a number; the same one every time.
pub fn job(number: u64) -> Job {
    let mut draw = Draw(0x10b5_0000 + 104_729 * number);
    loop {
        let (force, travel) = (draw.scale(0.05, 5000.0), draw.scale(0.1, 60.0));
        let (energy, rate) = (0.5e-3 * force * travel, force / travel);
        if energy > MOST_ENERGY || !(SOFTEST..=STIFFEST).contains(&rate) {
            continue;
        }
        let rise = draw.scale(1.0, 8.0);
        let cycles = if draw.chance(4) { draw.scale(1e3, 1e5).round() } else { 0.0 };
        // rate linear in the deflection
        let start = 2.0 * rate / (1.0 + rise);
        let slope = start * (rise - 1.0) / travel;
        let deflection: Vec<f64> = (0..=POINTS).map(|k| travel * f64::from(k) / f64::from(POINTS)).collect();
        let force_at = |x: &f64| start * x + 0.5 * slope * x * x;
        let wanted: Vec<f64> = deflection.iter().map(force_at).collect();
        let target = TargetCurve::points(&deflection, &wanted).curve("job").ok();
        let text = if cycles > 0.0 { format!("[duty]\ncycles = {cycles}\n") } else { String::new() };
        let brief = Brief::parse(&text, "brief.toml").ok();
        if let (Some(target), Some(brief)) = (target, brief) {
            return Job { force, travel, rise, cycles, question: Question { target, brief } };
        }
    }
}

/// Answer to a job.
#[derive(Debug, Clone, PartialEq)]
pub struct JobRow {
    /// number of the job
    pub job: u64,
    /// cycles asked for
    pub cycles: f64,
    /// force, travel and rise, as written
    pub asked: [String; 3],
    /// whether there is a spring
    pub answered: bool,
    /// verdicts that fail, or why there is no spring
    pub failed: String,
    /// error of the curve (percent rms)
    pub rms_percent: f64,
    /// share of good parts as bought (percent)
    pub good_percent: f64,
    /// share of good parts with the sheet measured (percent)
    pub good_measured_percent: f64,
    /// arms
    pub arms: usize,
    /// rung of the ladder, 0 the simplest
    pub rung: usize,
    /// places along the arm where its width turns from rising to falling or back
    pub turning_points: usize,
    /// largest slot-end stress over its allowable
    pub slot_end_share: f64,
    /// height of the pressed spring above its sheet (mm)
    pub proud_mm: f64,
    /// sheet, size and process, as written
    pub made: [String; 3],
}

impl JobRow {
    /// Searches for a job's spring.
    pub fn of(number: u64) -> Self {
        let job = job(number);
        let asked = [format!("{:.3}", job.force), format!("{:.2}", job.travel), format!("{:.1}", job.rise)];
        let empty = Self {
            job: number,
            cycles: job.cycles,
            asked,
            answered: false,
            failed: String::new(),
            rms_percent: f64::NAN,
            good_percent: f64::NAN,
            good_measured_percent: f64::NAN,
            arms: 0,
            rung: 0,
            turning_points: 0,
            slot_end_share: f64::NAN,
            proud_mm: f64::NAN,
            made: [String::new(), String::new(), String::new()],
        };
        match answer(job.question, &|_| ()) {
            Ok(answer) => empty.with(&answer),
            Err(error) => Self { failed: error.to_string().replace(',', ";"), ..empty },
        }
    }

    fn with(self, answer: &Answer) -> Self {
        let merits = answer.outcome.designs[0].merits;
        let evaluation = &answer.evaluation;
        let spring = &evaluation.spring;
        let ends = &evaluation.checks.stress.slot_ends;
        let shares = ends.iter().filter_map(|end| Some(end.stress_mpa / end.allowable_mpa?));
        Self {
            answered: true,
            failed: evaluation.verdicts.failed().join(" ").replace(',', ";"),
            rms_percent: merits.rms_percent,
            good_percent: merits.good_percent,
            good_measured_percent: merits.good_percent_sheet_measured,
            arms: merits.arms,
            rung: merits.arm as usize + 4 * merits.former as usize,
            turning_points: turning_points(&spring.shape),
            slot_end_share: shares.fold(0.0, f64::max),
            proud_mm: merits.proud_mm,
            made: [
                format!("{}", spring.sheet.thickness),
                format!("{:.0}", merits.outer_diameter_mm),
                answer
                    .file
                    .process
                    .as_ref()
                    .and_then(|process| process.kind)
                    .map_or_else(String::new, |kind| kind.name().to_owned()),
            ],
            ..self
        }
    }

    /// As a line of the table.
    pub fn line(&self) -> String {
        let [force, travel, rise] = &self.asked;
        let [thickness, diameter, process] = &self.made;
        format!(
            "{},{force},{travel},{rise},{},{},{},{:.2},{:.0},{:.0},{},{},{},{:.2},{:.3},{thickness},{diameter},{process}",
            self.job,
            self.cycles,
            u8::from(self.answered),
            self.failed,
            self.rms_percent,
            self.good_percent,
            self.good_measured_percent,
            self.arms,
            self.rung,
            self.turning_points,
            self.slot_end_share,
            self.proud_mm
        )
    }

    /// From a line of the table.
    #[allow(dead_code)] // the example only writes
    pub fn read(line: &str) -> Option<Self> {
        let cells: Vec<&str> = line.split(',').collect();
        let number = |k: usize| cells.get(k)?.parse::<f64>().ok();
        let text = |k: usize| cells.get(k).map(|cell| (*cell).to_owned());
        Some(Self {
            job: cells.first()?.parse().ok()?,
            asked: [text(1)?, text(2)?, text(3)?],
            cycles: number(4)?,
            answered: number(5)? > 0.0,
            failed: text(6)?,
            rms_percent: number(7)?,
            good_percent: number(8)?,
            good_measured_percent: number(9)?,
            arms: cells.get(10)?.parse().ok()?,
            rung: cells.get(11)?.parse().ok()?,
            turning_points: cells.get(12)?.parse().ok()?,
            slot_end_share: number(13)?,
            proud_mm: number(14)?,
            made: [text(15)?, text(16)?, text(17)?],
        })
    }
}

/// Places where the width along the arm turns from rising to falling or back.
fn turning_points(shape: &ArmShape) -> usize {
    const PLACES: u32 = 200;
    let ArmShape::Slots(line) = shape else { return 0 };
    let (inner, outer) = (line.inner_radius(), line.outer_radius());
    let at = |k: u32| line.nominal_width().value(inner + (outer - inner) * f64::from(k) / f64::from(PLACES));
    // a hundredth of a percent of the width is no turn
    let signs = (0..PLACES).map(|k| at(k + 1) - at(k)).filter(|step| step.abs() > 1e-6).map(f64::signum);
    let mut turns = 0;
    let mut last = 0.0;
    for sign in signs {
        if last != 0.0 && sign != last {
            turns += 1;
        }
        last = sign;
    }
    turns
}

/// The whole table.
#[allow(dead_code)] // the tests only read
pub fn table(rows: &[JobRow]) -> String {
    written(HEADER, rows.iter().map(JobRow::line))
}

/// Rows of a table.
#[allow(dead_code)] // the example only writes
pub fn read(text: &str) -> Option<Vec<JobRow>> {
    rows(text, HEADER, JobRow::read)
}
