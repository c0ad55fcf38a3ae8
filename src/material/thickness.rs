//! Thickness tolerance of strip and plate, from `data/thickness_tolerance.toml`.

use std::sync::OnceLock;

use serde::{Deserialize, Serialize};

use super::sheet::{Confidence, Material, Sourced, ToleranceStandard};

/// Tolerance class that the strip is ordered to; EN 10140 calls them A, B and C.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum ToleranceClass {
    /// normal, A
    #[default]
    Normal,
    /// fine, B
    Fine,
    /// precision, C
    Precision,
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct Tables {
    table: Vec<Table>,
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct Table {
    standard: ToleranceStandard,
    title: String,
    #[serde(default)]
    boundary: Boundary,
    /// upper ends of the columns (mm), increasing
    strip_width_below: Vec<f64>,
    source: String,
    confidence: Confidence,
    rows: Vec<Row>,
}

/// End that belongs to a row of thicknesses; standards differ.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, Deserialize)]
#[serde(rename_all = "kebab-case")]
enum Boundary {
    /// from … to below; the last row includes its end
    #[default]
    FromToBelow,
    /// over … up to and including
    OverUpTo,
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct Row {
    /// lower end of the thickness (mm)
    from: f64,
    /// upper end of the thickness (mm)
    to: f64,
    /// ± (mm): per column normal, fine, precision
    plus_minus: Vec<[f64; 3]>,
}

fn tables() -> &'static [Table] {
    static TABLES: OnceLock<Vec<Table>> = OnceLock::new();
    TABLES.get_or_init(|| {
        // part of the program, and a test reads it: an empty table cannot be released
        toml::from_str::<Tables>(include_str!("../../data/thickness_tolerance.toml"))
            .map_or_else(|_| Vec::new(), |tables| tables.table)
    })
}

/// The ± on the thickness (mm) of a sheet of that thickness (mm), slit from strip of that width (mm).
///
/// None where the sheet has no table, or the table does not reach to this thickness or width.
pub fn thickness_tolerance(
    material: &Material,
    thickness: f64,
    strip_width: f64,
    class: ToleranceClass,
) -> Option<Sourced> {
    let standard = material.tolerance_standard?;
    let table = tables().iter().find(|table| table.standard == standard)?;
    if strip_width.is_nan() || strip_width <= 0.0 {
        return None;
    }
    let column = table.strip_width_below.iter().position(|below| strip_width < *below)?;
    let row = match table.boundary {
        Boundary::FromToBelow => {
            let row = table.rows.iter().find(|row| row.from <= thickness && thickness < row.to);
            row.or_else(|| table.rows.last().filter(|last| thickness == last.to))?
        }
        Boundary::OverUpTo => table.rows.iter().find(|row| row.from < thickness && thickness <= row.to)?,
    };
    let value = row.plus_minus.get(column)?[class as usize];
    Some(Sourced {
        value,
        source: format!("{}, {}", table.source, table.title),
        confidence: table.confidence,
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::material::{find, stock};

    #[test]
    fn the_data_file_parses_into_whole_tables() {
        let tables: Tables = toml::from_str(include_str!("../../data/thickness_tolerance.toml")).unwrap();
        assert_eq!(tables.table.len(), 3);
        for table in &tables.table {
            let title = &table.title;
            assert!(table.strip_width_below.windows(2).all(|pair| pair[0] < pair[1]), "{title}: widths");
            for pair in table.rows.windows(2) {
                assert_eq!(pair[0].to, pair[1].from, "{title}: rows leave a gap or overlap");
            }
            for row in &table.rows {
                assert_eq!(row.plus_minus.len(), table.strip_width_below.len(), "{title}, from {}", row.from);
                for [normal, fine, precision] in &row.plus_minus {
                    assert!(normal >= fine && fine >= precision, "{title}, from {}: classes", row.from);
                }
                for columns in row.plus_minus.windows(2) {
                    assert!(columns[0] <= columns[1], "{title}, from {}: wider strip, smaller ±", row.from);
                }
            }
        }
    }

    #[test]
    fn values_are_those_of_iso_9445_1() {
        let sheet = find("1.4310+C1300").unwrap();
        for (thickness, strip_width, class, expected) in [
            (1.2, 100.0, ToleranceClass::Normal, 0.040),
            (1.2, 300.0, ToleranceClass::Precision, 0.030),
            (1.0, 124.9, ToleranceClass::Fine, 0.030),
            (1.0, 125.0, ToleranceClass::Fine, 0.035),
            (0.45, 200.0, ToleranceClass::Normal, 0.030),
            (3.0, 599.0, ToleranceClass::Normal, 0.090),
        ] {
            let found = thickness_tolerance(sheet, thickness, strip_width, class).unwrap();
            assert_eq!(found.value, expected, "t = {thickness}, w = {strip_width}, {class:?}");
            assert_eq!(found.confidence, Confidence::Read);
        }
    }

    #[test]
    fn carbon_strip_follows_en_10140_from_memory() {
        let sheet = find("C75S+QT").unwrap();
        let found = thickness_tolerance(sheet, 1.5, 80.0, ToleranceClass::Fine).unwrap();
        // 1.5 mm belongs to the row over 1.0 up to and including 1.5
        assert_eq!((found.value, found.confidence), (0.030, Confidence::Memory));
        let thicker = thickness_tolerance(sheet, 1.51, 80.0, ToleranceClass::Fine).unwrap();
        assert_eq!(thicker.value, 0.035);
        assert!(found.source.starts_with("EN 10140"), "{}", found.source);
    }

    #[test]
    fn outside_the_tables_there_is_no_answer() {
        let sheet = find("1.4310+C1300").unwrap();
        for (thickness, strip_width) in
            [(3.01, 100.0), (0.05, 100.0), (1.0, 600.0), (f64::NAN, 100.0), (1.0, f64::NAN), (1.0, 0.0)]
        {
            assert_eq!(thickness_tolerance(sheet, thickness, strip_width, ToleranceClass::Normal), None);
        }
        let bronze = find("CuSn8+hard").unwrap();
        assert_eq!(thickness_tolerance(bronze, 1.0, 100.0, ToleranceClass::Normal), None);
    }

    #[test]
    fn every_stock_thickness_of_stainless_strip_has_a_tolerance() {
        for sheet in
            stock().iter().filter(|s| s.tolerance_standard == Some(ToleranceStandard::StainlessNarrowStrip))
        {
            for thickness in &sheet.thicknesses {
                assert!(
                    thickness_tolerance(sheet, *thickness, 100.0, ToleranceClass::Normal).is_some(),
                    "{}: {thickness} mm",
                    sheet.name
                );
            }
        }
    }
}
