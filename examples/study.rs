use std::time::Instant;
#[path = "../tests/study/draw.rs"]
mod draw;
#[path = "../tests/study/targets.rs"]
mod targets;
fn main() {
    let a: Vec<u64> = std::env::args().skip(1).map(|s| s.parse().unwrap()).collect();
    let mut all = vec![];
    let list: Vec<u64> = if a.len() == 2 { (a[0]..a[1]).collect() } else { a[2..].to_vec() };
    for case in list {
        let h = targets::hidden(case);
        let t = Instant::now();
        {
            use flatspire::model::*;
            let x = h.target.deflection[2];
            let f = |p: bool| {
                Model::of(&h.spring, &ModelSettings { in_plane: p, ..Default::default() })
                    .unwrap()
                    .response(&[x])
                    .unwrap()
                    .force[0]
            };
            let arm = h.spring.arm(200).unwrap();
            let st = (0..200).map(|i| (arm.height[i + 1] - arm.height[i]) / arm.chord(i)).fold(0.0, f64::max);
            print!(
                "plane {:5.1}% steep {:.3} len/h {:.1} ",
                100. * (f(true) / f(false) - 1.),
                st,
                arm.length() / h.spring.former.free_height
            );
            if std::env::var("DRY").is_ok() {
                println!("{case} rise {:.1}", h.rise);
                continue;
            }
        }
        match flatspire::package::answer(h.question(), &|_| ()) {
            Ok(an) => {
                let m = &an.outcome.designs[0].merits;
                all.push(m.rms_percent);
                println!(
                    "{case:4} N{} R{:.1} w/t{:.1} tap{:.1} rise{:5.1} h{:5.2}/{:5.2} {} | rms {:6.2} max {:6.2} stress {:4.0}/{:4.0} ease {:.1} n{} D{:.0}/{:.0} t{:.2}s {}",
                    h.spring.arms,
                    h.ratio,
                    h.aspect,
                    h.taper,
                    h.rise,
                    h.target.max_deflection(),
                    h.spring.former.free_height,
                    if h.spring.former.is_cone() { "cone" } else { "dome" },
                    m.rms_percent,
                    m.max_percent,
                    m.peak_stress_mpa,
                    m.allowable_mpa.unwrap_or(0.),
                    an.outcome.designs[0].spring.former.ease,
                    an.file.arm.width.as_ref().unwrap().len(),
                    m.outer_diameter_mm,
                    2. * h.spring.disc.outer_radius,
                    t.elapsed().as_secs_f64(),
                    if an.outcome.reach.reachable { "" } else { "UNREACHABLE" }
                );
            }
            Err(e) => {
                println!("{case:4} N{} {e}", h.spring.arms);
                all.push(99.);
            }
        }
    }
    all.sort_by(f64::total_cmp);
    println!(
        "n {} <=1%: {} <=3%: {} median {:.2} worst {:.2}",
        all.len(),
        all.iter().filter(|v| **v <= 1.0).count(),
        all.iter().filter(|v| **v <= 3.0).count(),
        all[all.len() / 2],
        all[all.len() - 1]
    );
}
