//! The shop: sheets, rates and shims at hand, and marks on the part.

use serde::{Deserialize, Serialize};

use super::SpecError;
use super::error::Reader;

/// Longest part number and currency (characters).
const PART_NUMBER_MAX: usize = 24;
const CURRENCY_MAX: usize = 8;
/// Longest text in the title block (characters).
const FIELD_MAX: usize = 60;
/// Most shims in a list.
const SHIMS_MAX: usize = 40;
/// Most tabs of a part.
const TABS_MAX: usize = 12;

/// Paper of the drawing sheet and of the inspection sheet.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Paper {
    /// A3, landscape; inspection on A4 (ISO 216)
    #[default]
    A3,
    /// ANSI B, 17 by 11 in, landscape; inspection on Letter (ASME Y14.1)
    Tabloid,
}

/// Units of the sizes and forces on both sheets.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum SheetUnits {
    /// millimetre and newton
    #[default]
    MmN,
    /// inch and pound-force
    InLbf,
}

/// Sheets, shims and rates of the shop, marks on the part, fields of the title block. Money is in the maker's own currency.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub struct Shop {
    /// price of an hour on the cutting machine
    #[serde(skip_serializing_if = "Option::is_none")]
    pub machine_rate: Option<f64>,
    /// price of the sheet per kilogram
    #[serde(skip_serializing_if = "Option::is_none")]
    pub sheet_price: Option<f64>,
    /// price of setting up a batch
    #[serde(skip_serializing_if = "Option::is_none")]
    pub set_up: Option<f64>,
    /// parts of a batch; 1 when left out
    #[serde(skip_serializing_if = "Option::is_none")]
    pub batch: Option<usize>,
    /// name of the currency in texts
    #[serde(skip_serializing_if = "Option::is_none")]
    pub currency: Option<String>,
    /// sheet to cut from (mm): along the rolling direction, across it
    #[serde(skip_serializing_if = "Option::is_none")]
    pub sheet: Option<[f64; 2]>,
    /// border of the sheet that stays free (mm); 10 when left out
    #[serde(skip_serializing_if = "Option::is_none")]
    pub margin: Option<f64>,
    /// metal and cuts between neighbouring parts (mm); the least web of the process and two kerfs when left out
    #[serde(skip_serializing_if = "Option::is_none")]
    pub spacing: Option<f64>,
    /// shims for the former's rings (mm); the spring's own sheet when left out
    #[serde(skip_serializing_if = "Option::is_none")]
    pub shims: Option<Vec<f64>>,
    /// paper of the drawing sheet; A3 when left out
    #[serde(skip_serializing_if = "Option::is_none")]
    pub paper: Option<Paper>,
    /// units of the drawing sheet and of the inspection sheet; millimetre and newton when left out
    #[serde(skip_serializing_if = "Option::is_none")]
    pub units: Option<SheetUnits>,
    /// title of the drawing; by shape and size when left out
    #[serde(skip_serializing_if = "Option::is_none")]
    pub title: Option<String>,
    /// number of the drawing; blank when left out
    #[serde(skip_serializing_if = "Option::is_none")]
    pub drawing_number: Option<String>,
    /// revision of the drawing; blank when left out
    #[serde(skip_serializing_if = "Option::is_none")]
    pub revision: Option<String>,
    /// company in the title block; blank when left out
    #[serde(skip_serializing_if = "Option::is_none")]
    pub company: Option<String>,
    /// who drew it; blank when left out
    #[serde(skip_serializing_if = "Option::is_none")]
    pub drawn_by: Option<String>,
    /// date of the drawing, as it is to be written; blank when left out
    #[serde(skip_serializing_if = "Option::is_none")]
    pub date: Option<String>,
    /// number engraved on the rim; none when left out
    #[serde(skip_serializing_if = "Option::is_none")]
    pub part_number: Option<String>,
    /// tabs that hold the part in the sheet, 0 for none; by process and size when left out
    #[serde(skip_serializing_if = "Option::is_none")]
    pub tabs: Option<usize>,
    /// width of a tab (mm); by process when left out
    #[serde(skip_serializing_if = "Option::is_none")]
    pub tab_width: Option<f64>,
}

impl Shop {
    /// Parts of a batch.
    pub fn batch(&self) -> usize {
        self.batch.unwrap_or(1)
    }

    /// An amount of money from and to, in words.
    pub fn money_range(&self, [from, to]: [f64; 2]) -> String {
        let digits = if to.abs() >= 100.0 { 0 } else { 2 };
        let currency = self.currency.as_deref().map(|name| format!(" {name}")).unwrap_or_default();
        let (from, to) = (format!("{from:.digits$}"), format!("{to:.digits$}"));
        if from == to { format!("{to}{currency}") } else { format!("{from} to {to}{currency}") }
    }

    pub(super) fn check(&self, reader: &Reader) -> Result<(), SpecError> {
        reader.not_negative("shop.machine_rate", self.machine_rate, "give the price of an hour")?;
        reader.not_negative("shop.sheet_price", self.sheet_price, "give the price of a kilogram")?;
        reader.not_negative("shop.set_up", self.set_up, "give the price of setting up a batch")?;
        for side in self.sheet.iter().flatten() {
            reader.positive("shop.sheet", *side, "give both sides in mm")?;
        }
        reader.not_negative("shop.margin", self.margin, "give it in mm")?;
        reader.positive_if_given("shop.spacing", self.spacing, "give it in mm")?;
        reader.positive_if_given("shop.tab_width", self.tab_width, "give it in mm")?;
        let wrong = |key: &str, found: String, expected: &str, remedy: &str| {
            Err(SpecError::value(reader.file, key, found, expected, remedy))
        };
        if let Some(list) = &self.shims {
            for &shim in list {
                reader.positive("shop.shims", shim, "give thicknesses in mm")?;
            }
            if list.is_empty() || list.len() > SHIMS_MAX {
                let expected = format!("1 to {SHIMS_MAX} thicknesses in mm");
                return wrong(
                    "shop.shims",
                    format!("{} thicknesses", list.len()),
                    &expected,
                    "name the shims at hand",
                );
            }
        }
        if self.batch == Some(0) {
            return wrong("shop.batch", "0".to_owned(), "at least 1", "give the number of parts");
        }
        if let Some(count) = self.tabs.filter(|count| *count > TABS_MAX) {
            let expected = format!("0 to {TABS_MAX}");
            return wrong(
                "shop.tabs",
                count.to_string(),
                &expected,
                "leave the key out for the usual number",
            );
        }
        let plain = |c: char| c.is_ascii_alphanumeric() || " -./_".contains(c);
        if let Some(number) = &self.part_number
            && (number.trim().is_empty() || number.len() > PART_NUMBER_MAX || !number.chars().all(plain))
        {
            let expected = format!("1 to {PART_NUMBER_MAX} letters, digits, blanks or - . / _");
            return wrong("shop.part_number", format!("{number:?}"), &expected, "shorten or simplify it");
        }
        for (key, field) in [
            ("shop.title", &self.title),
            ("shop.drawing_number", &self.drawing_number),
            ("shop.revision", &self.revision),
            ("shop.company", &self.company),
            ("shop.drawn_by", &self.drawn_by),
            ("shop.date", &self.date),
        ] {
            if let Some(text) = field
                && (text.trim().is_empty()
                    || text.chars().count() > FIELD_MAX
                    || text.chars().any(char::is_control))
            {
                let expected = format!("1 to {FIELD_MAX} characters on one line");
                return wrong(key, format!("{text:?}"), &expected, "shorten it or leave the key out");
            }
        }
        if let Some(name) = &self.currency
            && (name.trim().is_empty()
                || name.chars().count() > CURRENCY_MAX
                || name.chars().any(char::is_control))
        {
            let expected = format!("1 to {CURRENCY_MAX} characters, as in \"EUR\"");
            return wrong("shop.currency", format!("{name:?}"), &expected, "use the short name");
        }
        Ok(())
    }
}

#[cfg(test)]
mod tests {
    use super::super::Brief;

    #[test]
    fn a_wrong_value_is_refused_by_its_key() {
        for (line, key) in [
            ("machine_rate = -1", "shop.machine_rate"),
            ("batch = 0", "shop.batch"),
            ("sheet = [0, 500]", "shop.sheet"),
            ("shims = []", "shop.shims"),
            ("shims = [0.5, -0.1]", "shop.shims"),
            ("part_number = \"é\"", "shop.part_number"),
            ("tabs = 99", "shop.tabs"),
            ("revision = \"\"", "shop.revision"),
            ("date = \"a\\nb\"", "shop.date"),
        ] {
            let error = Brief::parse(&format!("[shop]\n{line}\n"), "brief.toml").unwrap_err().to_string();
            assert!(error.contains(key), "{line}: {error}");
        }
        for (line, known) in
            [("paper = \"a5\"", "`a3` or `tabloid`"), ("units = \"mm\"", "`mm-n` or `in-lbf`")]
        {
            let error = Brief::parse(&format!("[shop]\n{line}\n"), "brief.toml").unwrap_err().to_string();
            assert!(error.contains(known) && error.contains("line 2"), "{line}: {error}");
        }
        let sound = "[shop]\nmachine_rate = 90\nsheet_price = 12\nset_up = 40\nbatch = 20\ncurrency = \"EUR\"\nsheet = \
                     [500, 300]\nshims = [0.5, 1.0]\npart_number = \"PF-017.2\"\ntabs = 0\n";
        assert_eq!(Brief::parse(sound, "brief.toml").unwrap().shop.batch(), 20);
    }
}
