//! The commands on one case after the other, and what they have to say alike.

use flatspire::outline::{Role, from_dxf};
use serde_json::Value;

use super::cases::{self, KINDS};
use super::{Bench, Said, count, number, numbers, table};

/// Two forces that are the same but for the digits that were written, and the way they were computed (relative to the
/// larger of the force and a tenth of the largest).
const SAME: f64 = 1e-3;
/// Forces of two springs that are nearly the same: segments seat at slightly other deflections.
const STEPPED: f64 = 0.02;
/// Interpolated and computed forces of a disc in an assembly: an arm seats segment by segment, and between two of these
/// steps a steep force differs by up to 2 % with the deflections that are asked for.
const INTERPOLATED: f64 = 0.03;
/// Share of its travel beyond which the force of a disc is not compared.
const NEAR_FLAT: f64 = 0.9;

#[track_caller]
fn assert_near(found: &[f64], expected: &[f64], tolerance: f64, what: &str) {
    assert_eq!(found.len(), expected.len(), "{what}");
    let floor = 0.1 * expected.iter().copied().map(f64::abs).fold(0.0, f64::max);
    for (k, (a, b)) in found.iter().zip(expected).enumerate() {
        let off = (a - b).abs();
        assert!(off <= tolerance * b.abs().max(floor) + 1e-8, "{what}, row {k}: {a}, expected {b}");
    }
}

/// A list as a table that `--at` reads.
fn deflections(list: &[f64]) -> String {
    let rows: Vec<String> = list.iter().map(|x| format!("{x}")).collect();
    format!("deflection_mm\n{}\n", rows.join("\n"))
}

/// Force of a spring at deflections that increase.
fn forces(bench: &Bench, spring: &str, at: &[f64]) -> Vec<f64> {
    bench.add("at.csv", &deflections(at));
    let said = bench.run_once(&format!("predict {spring} --at at.csv"));
    assert_eq!(said.code, 0, "{}: {}", said.command, said.err);
    table(&said.out, &said.command)["force_n"].clone()
}

/// `passed`, `failed`, exit code and every state say one thing.
fn assert_one_judgement(said: &Said, summary: &Value) {
    let passed = summary["passed"].as_bool().unwrap();
    assert_eq!(said.code, if passed { 0 } else { 3 }, "{}", said.command);
    let failed: Vec<&str> =
        summary["failed"].as_array().unwrap().iter().map(|name| name.as_str().unwrap()).collect();
    assert_eq!(passed, failed.is_empty(), "{}", said.command);
    let verdicts = summary["verdicts"].as_object().unwrap();
    assert_eq!(verdicts.len(), 9, "{}", said.command);
    for (name, verdict) in verdicts {
        let fails = match verdict["state"].as_str() {
            Some("yes" | "not asked") => false,
            Some("no" | "not judged") => true,
            other => panic!("{}: {name}: {other:?}", said.command),
        };
        assert_eq!(fails, failed.contains(&name.as_str()), "{}: {name}: {verdict}", said.command);
        assert!(!fails || !verdict["reason"].as_str().unwrap().is_empty(), "{}: {name}", said.command);
    }
}

/// State of every verdict but that on the parts, which only the commands that write a package compute.
fn states(summary: &Value) -> Vec<(String, Value)> {
    let verdicts = summary["verdicts"].as_object().unwrap().iter();
    verdicts
        .filter(|(name, _)| *name != "parts")
        .map(|(name, v)| (name.clone(), v["state"].clone()))
        .collect()
}

/// The drawing as two readers find it: a general one, and the program's own. Slots and circles of the spring file are
/// there.
fn assert_drawing(bench: &Bench, file: &str, arms: usize) {
    let bytes = bench.text(file).into_bytes();
    let drawing = dxf::Drawing::load(&mut bytes.as_slice()).unwrap();
    let mut layers: Vec<String> = Vec::new();
    for entity in drawing.entities() {
        let finite = match &entity.specific {
            dxf::entities::EntityType::Polyline(line) => line
                .vertices()
                .all(|at| at.location.x.is_finite() && at.location.y.is_finite() && at.bulge.is_finite()),
            dxf::entities::EntityType::Circle(circle) => circle.radius.is_finite() && circle.radius > 0.0,
            _ => continue,
        };
        assert!(finite, "{}: {file}: {entity:?}", bench.name);
        layers.push(entity.common.layer.clone());
    }
    let on = |layer: &str| layers.iter().filter(|other| *other == layer).count();
    assert_eq!(on("slots") + on("cut_on_line"), arms, "{}: {layers:?}", bench.name);
    assert_eq!(on("outside"), 1, "{}: {layers:?}", bench.name);
    let read = from_dxf(&bytes, file).unwrap();
    let of = |role: Role| read.contours.iter().filter(|contour| contour.role == role).count();
    assert_eq!(of(Role::Slot) + of(Role::CutOnLine), arms, "{}: {file}", bench.name);
    assert_eq!((of(Role::Outside), of(Role::Bore)), (1, on("bore")), "{}: {file}", bench.name);
}

/// Number behind a key of the bench's spring file.
fn key(bench: &Bench, file: &str, name: &str) -> f64 {
    let text = bench.text(file);
    let line = text.lines().find_map(|line| line.strip_prefix(&format!("{name} = "))).unwrap();
    line.parse().unwrap()
}

/// The spring predicted from its drawing, as far off as the command that drew it says.
fn assert_drawn_force(bench: &Bench, outline: &Said, at: &[f64], expected: &[f64]) {
    let off = number(&outline.json(), "/drawing/read_back/force_percent");
    bench.add("at.csv", &deflections(at));
    let again = bench.run_once("predict drawings/outline_mm.dxf --like spring.toml --at at.csv");
    assert_eq!(again.code, 0, "{}: {}", again.command, again.err);
    let found = &table(&again.out, &again.command)["force_n"];
    // told at a few deflections, seen here at all of them
    assert_near(found, expected, 0.05 * off + STEPPED, &format!("{}: {off} %", again.command));
}

/// One random spring through every command; whether it was answered.
fn spring(case: u64) -> bool {
    let bench = Bench::with(format!("spring {case}"), &cases::spring(case));
    let by_stations = bench.path("stations.csv").exists();
    let predicted = bench.run("predict spring.toml");
    let flat = bench.run("flat spring.toml --json");
    if !predicted.answered() {
        // what has no curve has no evaluation
        assert_eq!(flat.code, 2, "{}", flat.command);
        return false;
    }
    let columns = table(&predicted.out, &predicted.command);
    let (x, force) = (&columns["deflection_mm"], &columns["force_n"]);
    assert!(x.windows(2).all(|pair| pair[0] < pair[1]), "{}", predicted.command);
    assert!(columns["seated_share"].iter().all(|share| (0.0..=1.0).contains(share)), "{}", predicted.command);
    let json = bench.run_once("predict spring.toml --json").json();
    assert_near(&numbers(&json, "/curve/force_n"), force, SAME, "predict as JSON");
    assert_near(
        &numbers(&json, "/curve/peak_stress_mpa"),
        &columns["peak_stress_mpa"],
        SAME,
        "predict as JSON",
    );

    if !flat.answered() {
        return false;
    }
    let summary = flat.json();
    assert_one_judgement(&flat, &summary);
    let closing = number(&summary, "/flat/closing_force_n");
    assert_near(&[closing], &force[force.len() - 1..], SAME, &format!("{}: closing force", flat.command));
    let told = bench.run_once("flat spring.toml");
    assert_eq!(told.code, flat.code, "{}", told.command);
    let last = told.out.lines().last().unwrap();
    assert_eq!(last.contains("not passed"), flat.code == 3, "{}: {last}", told.command);

    let outline = bench.run("outline spring.toml --out drawings --json");
    let cutting = &summary["verdicts"]["cutting"]["state"];
    match outline.code {
        2 => assert_eq!(cutting, "not judged", "{}: {}", outline.command, outline.err),
        code => {
            assert_eq!(cutting == "yes", code == 0, "{}: {cutting}", outline.command);
            assert_drawing(&bench, "drawings/outline_mm.dxf", key(&bench, "spring.toml", "arms") as usize);
            // a drawing says nothing of heights, and the key of the file need not be that of the stations
            if !by_stations {
                assert_drawn_force(&bench, &outline, &x[10..90], &force[10..90]);
            }
        }
    }
    if case.is_multiple_of(4) {
        let scattered = bench.run("scatter spring.toml --runs 40 --out band --json");
        if scattered.answered() {
            let found = scattered.json();
            let at = numbers(&found, "/curve/deflection_mm");
            let nominal = numbers(&found, "/curve/force_n");
            assert_near(&nominal, &forces(&bench, "spring.toml", &at), SAME, &scattered.command);
        }
    }
    if case.is_multiple_of(10) && !by_stations {
        let compared = bench.run("compare spring.toml --out comparison --json");
        if compared.answered() {
            let first = &compared.json()["springs"][0];
            assert_eq!(first["passed"].as_bool(), Some(compared.code == 0), "{}", compared.command);
        }
    }
    bench.assert_same_files();
    true
}

/// One random question through `design` and what takes its package; whether it was answered.
fn question(case: u64) -> bool {
    let bench = Bench::with(format!("brief {case}"), &cases::brief(case));
    let designed = bench.run("design curve.csv --brief brief.toml --time-limit 0 --out p --json");
    if !designed.answered() {
        assert!(!bench.path("p").exists(), "{}: files of a refused question", designed.command);
        return false;
    }
    let summary = designed.json();
    assert_one_judgement(&designed, &summary);
    assert_eq!(bench.text("p/summary.json"), designed.out, "{}", designed.command);
    let curve = table(&bench.text("p/curve.csv"), &designed.command);
    assert_near(&numbers(&summary, "/curve/force_n"), &curve["force_n"], SAME, "curve.csv");
    assert!(
        number(&summary, "/fit/rms_percent") <= number(&summary, "/fit/max_percent"),
        "{}",
        designed.command
    );

    bench.assert_same_files();

    let flat = bench.run_once("flat p --json");
    assert!(flat.answered(), "{}: {}", flat.command, flat.err);
    let again = flat.json();
    assert_one_judgement(&flat, &again);
    assert_eq!(states(&again), states(&summary), "{}", flat.command);
    for pointer in ["/fit/rms_percent", "/flat/solid_height_mm", "/flat/closing_force_n", "/stress/peak_mpa"]
    {
        assert_near(&[number(&again, pointer)], &[number(&summary, pointer)], SAME, pointer);
    }
    if bench.path("p/assembly.toml").exists() {
        return true;
    }
    let predicted = forces(&bench, "p", &curve["deflection_mm"]);
    assert_near(&predicted, &curve["force_n"], SAME, &format!("{}: predict", designed.command));
    if bench.path("p/outline_mm.dxf").exists() {
        let outline = bench.run_once("outline p/spring.toml --out drawings");
        assert!(outline.answered(), "{}: {}", outline.command, outline.err);
        assert_eq!(
            bench.text("drawings/outline_mm.dxf"),
            bench.text("p/outline_mm.dxf"),
            "{}",
            outline.command
        );
        assert_drawing(&bench, "p/outline_mm.dxf", key(&bench, "p/spring.toml", "arms") as usize);
    }
    true
}

/// One random assembly; whether it was answered.
fn assembly(case: u64) -> bool {
    let bench = Bench::with(format!("assembly {case}"), &cases::assembly(case));
    let predicted = bench.run("predict assembly.toml");
    let flat = bench.run("flat assembly.toml --json");
    if !predicted.answered() {
        assert_eq!(flat.code, 2, "{}", flat.command);
        return false;
    }
    assert!(flat.answered(), "{}: {}", flat.command, flat.err);
    let summary = flat.json();
    assert_one_judgement(&flat, &summary);
    assert_eq!(summary["spring"], Value::Null);
    let columns = table(&predicted.out, &predicted.command);
    let json = bench.run_once("predict assembly.toml --json").json();
    assert_near(&numbers(&json, "/curve/force_n"), &columns["force_n"], SAME, &predicted.command);

    // equilibrium and compatibility from the members' own predictions
    let members = summary["assembly"]["members"].as_array().unwrap();
    let kind = KINDS[usize::try_from(case % 4).unwrap()];
    let mut stacks = Vec::new();
    let mut usable = vec![true; columns["force_n"].len()];
    let mut travel = vec![0.0; usable.len()];
    for (k, member) in members.iter().enumerate() {
        let folder = member["folder"].as_str().unwrap();
        let discs = &columns[&format!("{folder}_deflection_mm")];
        let closed = number(member, "/free_height_mm");
        let mut at: Vec<f64> = discs.iter().map(|y| y.min(NEAR_FLAT * closed)).collect();
        at.sort_by(f64::total_cmp);
        at.dedup();
        let known = forces(&bench, folder, &at);
        let count = number(member, "/count");
        let nested = member["stacked"] == "parallel";
        let force: Vec<f64> = discs
            .iter()
            .map(|y| {
                let place = at.iter().position(|x| x == &y.min(NEAR_FLAT * closed)).unwrap();
                if nested { count * known[place] } else { known[place] }
            })
            .collect();
        let multiple = if nested { 1.0 } else { count };
        let third = kind == "opposed-series";
        // a pair behind a third disc rests where its forces are equal, whatever the file says
        let at_rest = if third { discs[0] } else { number(member, "/installed_mm") };
        let sign = if kind == "opposed" && k == 1 { -1.0 } else { 1.0 };
        for (row, y) in discs.iter().enumerate() {
            usable[row] &= *y < NEAR_FLAT * closed && *y > 0.02 * closed;
            if third && k == 1 {
                // the hub moves disc b back by as much
                assert!((travel[row] - (at_rest - y)).abs() < 1e-4 || *y == 0.0, "{}: row {row}", bench.name);
                continue;
            }
            let moved = sign * multiple * (y - at_rest);
            travel[row] = if third || kind == "series" { travel[row] + moved } else { moved };
        }
        stacks.push(force);
    }
    let rows: Vec<usize> = (0..usable.len()).filter(|row| usable[*row]).collect();
    let pick = |list: &[f64]| rows.iter().map(|row| list[*row]).collect::<Vec<f64>>();
    let whole = pick(&columns["force_n"]);
    let [a, b] = [pick(&stacks[0]), pick(&stacks[1])];
    if let Some(third) = stacks.get(2) {
        assert_near(&pick(third), &whole, INTERPOLATED, &format!("{}: force of c", bench.name));
    }
    assert_near(
        &pick(&travel),
        &pick(&columns["deflection_mm"]),
        INTERPOLATED,
        &format!("{}: travel", bench.name),
    );
    match kind {
        "series" => {
            assert_near(&a, &whole, INTERPOLATED, &format!("{}: force of a", bench.name));
            assert_near(&b, &whole, INTERPOLATED, &format!("{}: force of b", bench.name));
        }
        "parallel" => {
            let sum: Vec<f64> = a.iter().zip(&b).map(|(a, b)| a + b).collect();
            assert_near(&sum, &whole, INTERPOLATED, &bench.name);
        }
        _ => {
            // the difference may be small beside both
            let scale = a.iter().chain(&b).copied().fold(0.0, f64::max);
            for (row, ((a, b), whole)) in a.iter().zip(&b).zip(&whole).enumerate() {
                assert!((a - b - whole).abs() < INTERPOLATED * scale, "{}: row {row}", bench.name);
            }
        }
    }
    bench.assert_same_files();
    true
}

/// Runs cases and counts the answered ones: refusing everything would agree with everything.
fn all(number: u64, least_percent: usize, case: fn(u64) -> bool) {
    // every case is tried and every fault told, not the first alone
    let ended: Vec<_> = (0..number).map(|k| std::panic::catch_unwind(|| case(k))).collect();
    let answered = ended.iter().filter(|ended| matches!(ended, Ok(true))).count();
    println!("{answered} of {number} answered");
    let faults: Vec<usize> = (0..ended.len()).filter(|k| ended[*k].is_err()).collect();
    assert!(faults.is_empty(), "faults in cases {faults:?}, each told above");
    assert!(100 * answered >= least_percent * number as usize, "{answered} of {number} answered");
}

#[test]
fn commands_agree_on_random_springs() {
    all(count(6), 60, spring);
}

#[test]
fn commands_agree_on_random_briefs() {
    all(count(2), 60, question);
}

#[test]
fn commands_agree_on_random_assemblies() {
    all(count(2), 60, assembly);
}
