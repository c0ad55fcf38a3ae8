//! Tables at written precision.

use super::response_csv;
use crate::response::Response;

#[test]
fn a_table_is_written_to_significant_digits() {
    let response = Response {
        deflection: vec![0.0, 1.234_567_89],
        force: vec![0.0, 12.345_678_9],
        rate: vec![9.876_543_21, 10.0],
        seated_share: vec![-0.0, 0.123_456],
        peak_stress: vec![0.0, 345.678],
        ..Response::default()
    };
    let columns = "force_n,rate_n_per_mm,seated_share,peak_stress_mpa";
    assert_eq!(
        response_csv(&response, 0.0),
        format!(
            "deflection_mm,{columns}\n0.00000,0.00000,9.87654,0.0000,0.00\n1.23457,12.34568,10.00000,0.1235,345.68\n"
        )
    );
    // travel counts from the installed deflection
    let rows = response_csv(&response, 0.5);
    assert!(rows.starts_with(&format!("deflection_mm,travel_mm,{columns}\n0.00000,-0.50000,")), "{rows}");
    assert!(rows.contains("\n1.23457,0.73457,12.34568,"), "{rows}");
}
