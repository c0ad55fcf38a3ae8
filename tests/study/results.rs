//! Results of the study, case by case, and in one sentence.

use flatspire::pipeline::{AnswerError, answer};

use super::targets::Hidden;

/// Number of cases.
pub const CASES: u64 = 200;

const HEADER: &str = "case,arms,radius_ratio,width_over_thickness,taper,rate_rise,dome,stiffened_percent,rms_percent,\
                      max_percent,peak_stress_share";

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
        })
    }

    /// As a line of the table.
    pub fn line(&self) -> String {
        format!(
            "{},{},{:.2},{:.2},{:.2},{:.1},{},{:.1},{:.2},{:.2},{:.2}",
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
            self.stress_share
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
        })
    }
}

/// The whole table.
#[allow(dead_code)] // the tests only read
pub fn table(rows: &[Row]) -> String {
    let mut text = format!("{HEADER}\n");
    for row in rows {
        text.push_str(&row.line());
        text.push('\n');
    }
    text
}

/// Rows of a table.
#[allow(dead_code)] // the example only writes
pub fn read(text: &str) -> Option<Vec<Row>> {
    let mut lines = text.lines();
    (lines.next()? == HEADER).then_some(())?;
    lines.map(Row::read).collect()
}

/// The README's sentence on the study.
pub fn sentence(rows: &[Row]) -> String {
    let within = |percent: f64| rows.iter().filter(|row| row.rms_percent <= percent).count();
    let mut errors: Vec<f64> = rows.iter().map(|row| row.rms_percent).collect();
    errors.sort_by(f64::total_cmp);
    format!(
        "Of {} curves of random springs {} are met within 1 % rms, {} within 3 %; half of them within {:.2} %, the worst \
         within {:.2} %.",
        rows.len(),
        within(1.0),
        within(3.0),
        errors[errors.len() / 2],
        errors[errors.len() - 1]
    )
}
