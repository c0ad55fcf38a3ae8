//! Scale of an axis: range, ticks and the format of their numbers.

/// Range, ticks and number style of one axis.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Scale {
    pub low: f64,
    pub high: f64,
    /// increasing, inside the range
    pub ticks: Vec<f64>,
    /// numbers are shown divided by ten to this power
    pub power: i32,
    /// decimals of the numbers shown
    decimals: usize,
}

/// Share of the range that is left free beyond the largest value.
const HEADROOM: f64 = 0.04;

impl Scale {
    /// A scale for values between `least` and `most` with at most `ticks_max` ticks; `from_zero` takes zero in.
    pub fn over(least: f64, most: f64, from_zero: bool, headroom: bool, ticks_max: usize) -> Self {
        let (mut low, mut high) = (least.min(most), least.max(most));
        if from_zero {
            (low, high) = (low.min(0.0), high.max(0.0));
        }
        if high - low <= 1e-9 * high.abs().max(low.abs()) {
            // one value alone: room on both sides, or from zero to one
            let room = if high == 0.0 { 1.0 } else { 0.5 * high.abs() };
            low = if from_zero && high >= 0.0 { low.min(0.0) } else { low - room };
            high += room;
        }
        let span = high - low;
        if headroom {
            if low < 0.0 || !from_zero {
                low -= HEADROOM * span;
            }
            if high > 0.0 {
                high += HEADROOM * span;
            }
        }
        let step = round_step((high - low) / ticks_max.max(1) as f64);
        let slack = 1e-9 * (high - low);
        let first = ((low - slack) / step).ceil();
        let last = ((high + slack) / step).floor();
        let count = (last - first).clamp(0.0, 100.0).round();
        let mut ticks = Vec::new();
        let mut index = 0.0;
        while index <= count {
            ticks.push((first + index) * step);
            index += 1.0;
        }
        let power = shown_power(low.abs().max(high.abs()));
        let shown_step = step / 10_f64.powi(power);
        // the step is 1, 2, 2.5 or 5 times a power of ten: 2.5 needs one decimal more
        let mut decimals = 0;
        while decimals < 9 && !is_whole(shown_step * 10_f64.powi(decimals)) {
            decimals += 1;
        }
        Self { low, high, ticks, power, decimals: usize::try_from(decimals).unwrap_or(0) }
    }

    /// The number at a tick.
    pub fn number(&self, tick: f64) -> String {
        let shown = tick / 10_f64.powi(self.power);
        let text = format!("{:.*}", self.decimals, shown.abs());
        let (whole, fraction) = text.split_once('.').unwrap_or((&text, ""));
        let mut grouped = String::new();
        for (index, digit) in whole.chars().enumerate() {
            // a gap every three digits from five digits on (ISO 80000-1, 7.3.1)
            if whole.len() > 4 && index > 0 && (whole.len() - index).is_multiple_of(3) {
                grouped.push('\u{a0}');
            }
            grouped.push(digit);
        }
        let sign = if shown < 0.0 && text.chars().any(|c| ('1'..='9').contains(&c)) { "−" } else { "" };
        if fraction.is_empty() { format!("{sign}{grouped}") } else { format!("{sign}{grouped}.{fraction}") }
    }

    /// Share of the range at a value.
    pub fn share(&self, value: f64) -> f64 {
        (value - self.low) / (self.high - self.low)
    }

    /// The unit in brackets with the power of ten, as ` (10⁶ N)`; empty without unit and power.
    pub fn unit(&self, unit: &str) -> String {
        match (self.power, unit) {
            (0, "") => String::new(),
            (0, unit) => format!(" ({unit})"),
            (power, "") => format!(" (10{})", superscript(power)),
            (power, unit) => format!(" (10{} {unit})", superscript(power)),
        }
    }
}

/// The next larger of 1, 2, 2.5, 5 times a power of ten.
fn round_step(raw: f64) -> f64 {
    let decade = 10_f64.powf(raw.log10().floor());
    let mantissa = raw / decade;
    let rounded = [1.0, 2.0, 2.5, 5.0].into_iter().find(|m| mantissa <= m * (1.0 + 1e-9)).unwrap_or(10.0);
    rounded * decade
}

fn is_whole(value: f64) -> bool {
    (value - value.round()).abs() < 1e-6 * value.abs().max(1e-30) && value.round() != 0.0
}

/// Power of ten taken out of numbers that would be too long: a multiple of three, 0 between 0.001 and a million.
fn shown_power(largest: f64) -> i32 {
    if largest == 0.0 || (1e-3..1.1e6).contains(&largest) {
        return 0;
    }
    // a value within 1e-30 … 1e30 has a small exponent
    #[allow(clippy::cast_possible_truncation)]
    let exponent = largest.log10().floor() as i32;
    3 * exponent.div_euclid(3)
}

fn superscript(power: i32) -> String {
    power
        .to_string()
        .chars()
        .map(|c| match c {
            '-' => '⁻',
            '1' => '¹',
            '2' => '²',
            '3' => '³',
            '4' => '⁴',
            '5' => '⁵',
            '6' => '⁶',
            '7' => '⁷',
            '8' => '⁸',
            '9' => '⁹',
            _ => '⁰',
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn numbers(least: f64, most: f64, ticks_max: usize) -> Vec<String> {
        let scale = Scale::over(least, most, true, false, ticks_max);
        scale.ticks.iter().map(|tick| scale.number(*tick)).collect()
    }

    #[test]
    fn ticks_are_round_numbers_with_as_many_decimals_as_they_need() {
        assert_eq!(numbers(0.0, 9.0, 5), ["0", "2", "4", "6", "8"]);
        assert_eq!(numbers(0.0, 10.0, 4), ["0.0", "2.5", "5.0", "7.5", "10.0"]);
        assert_eq!(numbers(0.0, 1e-3, 5), ["0.0000", "0.0002", "0.0004", "0.0006", "0.0008", "0.0010"]);
        assert_eq!(numbers(-3.0, 3.0, 3), ["−2", "0", "2"]);
        assert_eq!(numbers(0.0, 1e6, 2), ["0", "500\u{a0}000", "1\u{a0}000\u{a0}000"]);
    }

    #[test]
    fn very_small_and_very_large_numbers_move_their_power_to_the_unit() {
        let large = Scale::over(0.0, 3.2e9, true, false, 4);
        assert_eq!((large.number(large.ticks[1]), large.unit("N")), ("1".to_owned(), " (10⁹ N)".to_owned()));
        let small = Scale::over(0.0, 4e-7, true, false, 4);
        assert_eq!(
            (small.number(small.ticks[1]), small.unit("N")),
            ("100".to_owned(), " (10⁻⁹ N)".to_owned())
        );
    }

    #[test]
    fn one_value_alone_has_room_around_it() {
        for value in [0.0, 5.0, -5.0, 1e-12] {
            for from_zero in [false, true] {
                let scale = Scale::over(value, value, from_zero, true, 5);
                assert!((0.0..1.0).contains(&scale.share(value)), "{value}: {}", scale.share(value));
                assert!(scale.ticks.len() > 1, "{value}: {:?}", scale.ticks);
            }
        }
    }
}
