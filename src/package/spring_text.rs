//! Tables as text: stations and curve.

use super::answer::CurveTable;

/// `curve.csv`: the target after the deflection, then the prediction.
pub fn curve_csv(table: &CurveTable) -> String {
    let mut text =
        String::from("deflection_mm,target_n,force_n,rate_n_per_mm,seated_share,peak_stress_mpa\n");
    let response = &table.response;
    for i in 0..response.len() {
        text.push_str(&format!(
            "{:.5},{:.5},{:.5},{:.5},{:.4},{:.2}\n",
            table.deflection[i],
            table.target[i],
            response.force[i],
            response.rate[i],
            response.seated_share[i],
            response.peak_stress[i]
        ));
    }
    text
}
