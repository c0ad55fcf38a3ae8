//! Results of the study, case by case, and in one sentence.

use flatspire::pipeline::{AnswerError, answer};

use super::table::{rows, written};
use super::targets::Hidden;

/// Number of cases.
pub const CASES: u64 = 200;

const HEADER: &str = "case,arms,radius_ratio,width_over_thickness,taper,rate_rise,dome,stiffened_percent,rms_percent,\
                      max_percent,peak_stress_share,found_arms,passed,good_percent,good_percent_sheet_measured,rung";

/// One case.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Row {
    /// number of the case
    pub case: u64,
    /// arms of the hidden spring
    pub arms: usize,
    /// its radius ratio
    pub ratio: f64,
    /// its mean width over its thickness
    pub aspect: f64,
    /// its widest over its narrowest arm
    pub taper: f64,
    /// rise of the rate over its curve
    pub rise: f64,
    /// whether its former is no cone
    pub dome: bool,
    /// what the stiffness in the plane adds to its force at the start (percent)
    pub stiffened_percent: f64,
    /// error of the spring found (percent)
    pub rms_percent: f64,
    /// its largest error (percent)
    pub max_percent: f64,
    /// its peak stress over the allowable
    pub stress_share: f64,
    /// arms of the spring found
    pub found_arms: usize,
    /// whether every verdict on it is yes
    pub passed: bool,
    /// share of good parts as bought (percent)
    pub good_percent: f64,
    /// share of good parts with the sheet measured (percent)
    pub good_measured_percent: f64,
    /// rung of the ladder, 0 the simplest
    pub rung: usize,
}

impl Row {
    /// Designs for the curve of a hidden spring.
    pub fn of(case: u64, hidden: &Hidden) -> Result<Self, AnswerError> {
        let answer = answer(hidden.question(), &|_| ())?;
        let merits = answer.outcome.designs[0].merits;
        Ok(Self {
            case,
            arms: hidden.spring.arms,
            ratio: hidden.ratio,
            aspect: hidden.aspect,
            taper: hidden.taper,
            rise: hidden.rise,
            dome: !hidden.spring.former.is_cone(),
            stiffened_percent: hidden.stiffened_percent,
            rms_percent: merits.rms_percent,
            max_percent: merits.max_percent,
            stress_share: merits.peak_stress_mpa / merits.allowable_mpa.unwrap_or(f64::NAN),
            found_arms: merits.arms,
            passed: merits.passed,
            good_percent: merits.good_percent,
            good_measured_percent: merits.good_percent_sheet_measured,
            rung: merits.arm as usize + 4 * merits.former as usize,
        })
    }

    /// As a line of the table.
    pub fn line(&self) -> String {
        format!(
            "{},{},{:.2},{:.2},{:.2},{:.1},{},{:.1},{:.2},{:.2},{:.2},{},{},{:.0},{:.0},{}",
            self.case,
            self.arms,
            self.ratio,
            self.aspect,
            self.taper,
            self.rise,
            u8::from(self.dome),
            self.stiffened_percent,
            self.rms_percent,
            self.max_percent,
            self.stress_share,
            self.found_arms,
            u8::from(self.passed),
            self.good_percent,
            self.good_measured_percent,
            self.rung
        )
    }

    /// From a line of the table.
    #[allow(dead_code)] // the example only writes
    pub fn read(line: &str) -> Option<Self> {
        let cells: Vec<&str> = line.split(',').collect();
        let number = |k: usize| cells.get(k)?.parse::<f64>().ok();
        Some(Self {
            case: cells.first()?.parse().ok()?,
            arms: cells.get(1)?.parse().ok()?,
            ratio: number(2)?,
            aspect: number(3)?,
            taper: number(4)?,
            rise: number(5)?,
            dome: number(6)? > 0.0,
            stiffened_percent: number(7)?,
            rms_percent: number(8)?,
            max_percent: number(9)?,
            stress_share: number(10)?,
            found_arms: cells.get(11)?.parse().ok()?,
            passed: number(12)? > 0.0,
            good_percent: number(13)?,
            good_measured_percent: number(14)?,
            rung: cells.get(15)?.parse().ok()?,
        })
    }
}

/// The whole table.
#[allow(dead_code)] // the tests only read
pub fn table(rows: &[Row]) -> String {
    written(HEADER, rows.iter().map(Row::line))
}

/// Rows of a table.
#[allow(dead_code)] // the example only writes
pub fn read(text: &str) -> Option<Vec<Row>> {
    rows(text, HEADER, Row::read)
}

/// The README's sentence on the study.
pub fn sentence(rows: &[Row]) -> String {
    let count = |wanted: &dyn Fn(&Row) -> bool| rows.iter().filter(|row| wanted(row)).count();
    let mean = |value: &dyn Fn(&Row) -> f64| rows.iter().map(value).sum::<f64>() / rows.len() as f64;
    let mut errors: Vec<f64> = rows.iter().map(|row| row.rms_percent).collect();
    errors.sort_by(f64::total_cmp);
    format!(
        "Of {} curves of random springs {} are met within the usual 3 % rms, {} with every verdict yes; half of them within \
         {:.2} %; {:.0} % of their parts are good as bought, {:.0} % with the sheet measured.",
        rows.len(),
        count(&|row| row.rms_percent <= 3.0),
        count(&|row| row.passed),
        errors[errors.len() / 2],
        mean(&|row| row.good_percent),
        mean(&|row| row.good_measured_percent)
    )
}
