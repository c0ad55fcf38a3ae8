//! Weight, time on the machine and price of a part in a batch, from the rates that the shop gives.

use serde::Serialize;

use crate::outline::{CutSummary, Nest};
use crate::spec::Shop;

/// Weight, time and price of a part. Money is in the maker's own currency; a price runs from the shorter to the longer
/// estimate of the time.
#[derive(Debug, Clone, Copy, Default, PartialEq, Serialize)]
pub struct Cost {
    /// parts of the batch
    pub batch: usize,
    /// weight of the finished part (g); none without a density
    pub part_g: Option<f64>,
    /// weight of the sheet that one part takes (g): its share of the shop's sheet, else the square round it
    pub sheet_g: Option<f64>,
    /// sheets that the batch takes; none where no sheet is given
    pub sheets: Option<usize>,
    /// time on the machine for one part (s); none where it does not follow the length cut
    pub machine_seconds: Option<[f64; 2]>,
    /// price of that time; none without a rate or a time
    pub machine: Option<[f64; 2]>,
    /// price of the sheet; none without a price or a density
    pub sheet: Option<f64>,
    /// share of the set-up; none without a price
    pub set_up: Option<f64>,
    /// price of one part: the sum of the three as far as they are known; none where none is
    pub part: Option<[f64; 2]>,
    /// whether a rate is given for a time that is not known, so that the price is without it
    pub without_time: bool,
}

impl Cost {
    /// Of a part cut from sheet `thickness` mm thick, of this density (g/cm³).
    pub fn of(
        thickness: f64,
        density: Option<f64>,
        cut: &CutSummary,
        nest: Option<&Nest>,
        shop: &Shop,
    ) -> Self {
        let batch = shop.batch();
        // g/cm³ times mm³ is milligrams
        let weight = |area: f64| density.map(|density| 1e-3 * density * area * thickness);
        let taken = nest.map_or(cut.square_mm * cut.square_mm, |nest| {
            nest.sheet[0] * nest.sheet[1] / nest.centres.len() as f64
        });
        let sheet_g = weight(taken);
        let machine = shop.machine_rate.and_then(|rate| {
            cut.machine_seconds.map(|seconds| seconds.map(|seconds| rate * seconds / 3600.0))
        });
        let sheet = shop.sheet_price.and_then(|price| sheet_g.map(|grams| 1e-3 * price * grams));
        let set_up = shop.set_up.map(|price| price / batch as f64);
        let known = machine.is_some() || sheet.is_some() || set_up.is_some();
        let part = known.then(|| {
            let rest = sheet.unwrap_or_default() + set_up.unwrap_or_default();
            machine.unwrap_or_default().map(|time| time + rest)
        });
        Self {
            batch,
            part_g: weight(cut.part_area_mm2),
            sheet_g,
            sheets: nest.map(|nest| batch.div_ceil(nest.centres.len())),
            machine_seconds: cut.machine_seconds,
            machine,
            sheet,
            set_up,
            part,
            without_time: shop.machine_rate.is_some() && machine.is_none(),
        }
    }

    /// The price of a part in words; `None` where `shop` holds no price.
    pub fn price(&self, shop: &Shop) -> Option<String> {
        let batch = if self.batch > 1 { format!(" in a batch of {}", self.batch) } else { String::new() };
        let without =
            if self.without_time { ", without machine time, which the process does not give" } else { "" };
        Some(format!("{}{batch}{without}", shop.money_range(self.part?)))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    fn cut() -> CutSummary {
        CutSummary {
            cut_length_mm: 600.0,
            pierces: 4,
            machine_seconds: Some([90.0, 360.0]),
            part_area_mm2: 3000.0,
            square_mm: 80.0,
            sheet_use: 0.47,
        }
    }

    #[test]
    fn the_price_is_the_sum_worked_out_by_hand() {
        // steel, 7.9 g/cm³, 1.5 mm: the square weighs 80·80·1.5·7.9 mg = 75.84 g, the part 35.55 g
        let shop = Shop {
            machine_rate: Some(120.0),
            sheet_price: Some(10.0),
            set_up: Some(40.0),
            batch: Some(20),
            ..Shop::default()
        };
        let cost = Cost::of(1.5, Some(7.9), &cut(), None, &shop);
        assert_relative_eq!(cost.part_g.unwrap(), 35.55, max_relative = 1e-12);
        assert_relative_eq!(cost.sheet_g.unwrap(), 75.84, max_relative = 1e-12);
        let [from, to] = cost.part.unwrap();
        assert_relative_eq!(from, 3.0 + 0.7584 + 2.0, max_relative = 1e-12);
        assert_relative_eq!(to, 12.0 + 0.7584 + 2.0, max_relative = 1e-12);
        let named = Shop { currency: Some("EUR".to_owned()), ..shop.clone() };
        assert_eq!(cost.price(&named).unwrap(), "5.76 to 14.76 EUR in a batch of 20");
        // fifteen parts from a sheet of 300 by 400 mm take 8,000 mm² each, and twenty parts two sheets
        let nest = Nest::discs(78.0, 2.0, 10.0, [300.0, 400.0]).unwrap();
        assert_eq!(nest.centres.len(), 15);
        let cost = Cost::of(1.5, Some(7.9), &cut(), Some(&nest), &shop);
        assert_relative_eq!(cost.sheet_g.unwrap(), 94.8, max_relative = 1e-12);
        assert_eq!(cost.sheets, Some(2));
    }

    #[test]
    fn what_is_not_known_is_left_out_and_said() {
        assert_eq!(Cost::of(1.5, None, &cut(), None, &Shop::default()).part, None);
        let etched = CutSummary { machine_seconds: None, ..cut() };
        let shop = Shop { machine_rate: Some(90.0), set_up: Some(5.0), ..Shop::default() };
        let cost = Cost::of(1.5, None, &etched, None, &shop);
        assert_eq!(cost.part, Some([5.0, 5.0]));
        assert!(cost.price(&shop).unwrap().contains("without machine time"));
    }
}
