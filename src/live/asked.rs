//! Request of a page: the curve as lists of numbers and the brief as in its file.

use serde::{Deserialize, Serialize};

use super::LiveError;
use crate::curve::TargetCurve;
use crate::pipeline::Question;
use crate::spec::Brief;

/// Name of the curve in messages, and of its file when it is handed over.
const CURVE: &str = "curve.csv";
/// Name of the brief, likewise.
const BRIEF: &str = "brief.toml";
/// Most notes of the reader that a page may send back, and their length.
const MOST_NOTES: usize = 16;
const LONGEST_NOTE: usize = 400;

/// A curve as the page holds it.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct CurveGiven {
    /// deflections (mm)
    pub deflection_mm: Vec<f64>,
    /// forces (N)
    pub force_n: Vec<f64>,
    /// lower edge of the band (N)
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub force_min_n: Option<Vec<f64>>,
    /// upper edge of the band (N)
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub force_max_n: Option<Vec<f64>>,
    /// allowed force error (percent)
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub tolerance_percent: Option<f64>,
    /// what was assumed or changed when its file was read
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub notes: Vec<String>,
}

impl CurveGiven {
    /// A target as the page gets it.
    pub fn of(target: &TargetCurve) -> Self {
        Self {
            deflection_mm: target.deflection.clone(),
            force_n: target.force.clone(),
            force_min_n: target.force_min.clone(),
            force_max_n: target.force_max.clone(),
            tolerance_percent: target.tolerance_percent,
            notes: target.notes.clone(),
        }
    }

    /// The target it stands for, under the same rules as a file.
    pub fn target(&self) -> Result<TargetCurve, LiveError> {
        let mut target = TargetCurve::points(&self.deflection_mm, &self.force_n)
            .band(self.force_min_n.as_deref(), self.force_max_n.as_deref())
            .tolerance_percent(self.tolerance_percent)
            .curve(CURVE)?;
        let mut notes: Vec<String> = self
            .notes
            .iter()
            .take(MOST_NOTES)
            .map(|note| note.chars().filter(|c| !c.is_control()).take(LONGEST_NOTE).collect())
            .collect();
        // a curve whose points are put in order again was not changed by its file's reader
        notes.extend(target.notes.iter().filter(|note| !self.notes.contains(note)).cloned());
        target.notes = notes;
        Ok(target)
    }

    /// The curve as a file that `design` reads.
    pub fn to_csv(&self) -> String {
        let columns = [
            ("deflection_mm", Some(&self.deflection_mm)),
            ("force_n", Some(&self.force_n)),
            ("force_min_n", self.force_min_n.as_ref()),
            ("force_max_n", self.force_max_n.as_ref()),
        ];
        let given: Vec<(&str, &Vec<f64>)> =
            columns.into_iter().filter_map(|(name, list)| list.map(|list| (name, list))).collect();
        let mut text = given.iter().map(|(name, _)| *name).collect::<Vec<_>>().join(",");
        if self.tolerance_percent.is_some() {
            text.push_str(",tolerance_percent");
        }
        text.push('\n');
        for row in 0..self.deflection_mm.len() {
            let mut cells: Vec<String> =
                given.iter().map(|(_, list)| list.get(row).map_or(String::new(), f64::to_string)).collect();
            cells.extend(self.tolerance_percent.map(|percent| percent.to_string()));
            text.push_str(&cells.join(","));
            text.push('\n');
        }
        text
    }
}

/// A curve and a brief.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Asked {
    /// the wanted curve
    pub curve: CurveGiven,
    /// the brief
    #[serde(default)]
    pub brief: Brief,
}

impl Asked {
    /// The question as `design` takes it.
    pub fn question(&self) -> Result<Question, LiveError> {
        self.brief.check(BRIEF)?;
        Ok(Question { target: self.curve.target()?, brief: self.brief.clone() })
    }

    /// The brief as a file that `design` reads.
    pub fn brief_toml(&self) -> String {
        // numbers, words and lists under fixed keys: writing cannot fail
        toml::to_string(&self.brief).unwrap_or_default()
    }

    /// The same text for the same question.
    pub fn fingerprint(&self) -> String {
        serde_json::to_string(self).unwrap_or_default()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::curve;

    fn asked(csv: &str, brief: &str) -> Asked {
        let target = curve::read(csv.as_bytes(), "dropped.csv").unwrap();
        Asked { curve: CurveGiven::of(&target), brief: Brief::parse(brief, "brief.toml").unwrap() }
    }

    #[test]
    fn files_of_a_question_give_the_same_question() {
        let asked = asked(
            "x_in;f_lbf;force_min;force_max;tolerance_percent\n0;0;0;1;2,5\n0,1;3,3;3;4;2,5\n0,3;11,7;9;14;2,5\n",
            "[sheet]\nthickness = 1.1\n[arms]\ncount = [1, 3]\n[process]\nkind = \"wire-edm\"\n[duty]\ninstalled = 0.3\n\
             [former]\nlaw = \"profile\"\n",
        );
        let question = asked.question().unwrap();
        let target = curve::read(asked.curve.to_csv().as_bytes(), "curve.csv").unwrap();
        let brief = Brief::parse(&asked.brief_toml(), "brief.toml").unwrap();
        assert_eq!(TargetCurve { notes: Vec::new(), ..question.target }, target);
        assert_eq!(question.brief, brief);
    }

    #[test]
    fn notes_of_the_reader_go_along_and_stay_short() {
        let mut asked = asked("x,f\n0,0\n2,5\n1,2\n", "");
        assert!(asked.curve.notes.iter().any(|note| note.contains("not in order")));
        assert_eq!(asked.question().unwrap().target.notes, asked.curve.notes);
        asked.curve.notes = vec!["a\nb".repeat(1000); 50];
        let notes = asked.question().unwrap().target.notes;
        assert_eq!((notes.len(), notes[0].len()), (16, 400));
        assert!(!notes[0].contains('\n'));
    }

    #[test]
    fn invalid_points_and_settings_are_refused_in_words() {
        let mut wrong = asked("x,f\n0,0\n1,2\n2,5\n", "");
        wrong.curve.force_n[1] = -2.0;
        assert!(wrong.question().unwrap_err().to_string().contains("force of -2 N"));
        wrong.curve.force_n[1] = f64::NAN;
        assert!(wrong.question().is_err());
        wrong.curve.force_n = vec![1.0];
        assert!(wrong.question().is_err());
        let mut wrong = asked("x,f\n0,0\n1,2\n2,5\n", "");
        wrong.brief.sheet.thickness = Some(vec![-1.0]);
        assert!(wrong.question().unwrap_err().to_string().contains("sheet.thickness"));
    }
}
