//! One function a reader: bytes in, and what has to hold whatever they are. The tests beside this file and the fuzz
//! targets in `tests/fuzz` call the same ones.

use flatspire::assembly::split;
use flatspire::curve::{self, TargetCurve, nearest_reachable};
use flatspire::layout::{ArmPath, Spring, read_stations};
use flatspire::live::{Asked, DraftAsked, Opened, RivalsAsked, SavedState};
use flatspire::model::{Model, ModelSettings};
use flatspire::outline::{from_dxf, measure};
use flatspire::pipeline::{SheetsToTry, cutting_limits};
use flatspire::setting::{read_former, read_readings};
use flatspire::spec::{AssemblyFile, Brief, SpringFile};
use flatspire::variation::Readings;

/// The readers by the names of their corpora.
pub const READERS: [(&str, fn(&[u8])); 9] = [
    ("assembly", assembly),
    ("brief", brief),
    ("curve", curve),
    ("drawing", drawing),
    ("heights", heights),
    ("measured", measured),
    ("request", request),
    ("spring", spring),
    ("stations", stations),
];

/// Segments of the model in these tests: enough to run through all of it.
const SEGMENTS: usize = 24;

/// A refusal names the file, says what was wrong and what to do.
#[track_caller]
fn assert_helps(message: &str, file: &str) {
    assert!(message.starts_with(file), "no file: {message}");
    assert!(message.len() > file.len() + 20 && message.contains([';', '?']), "nothing to do: {message}");
}

#[track_caller]
fn assert_finite(values: &[f64], what: &str) {
    assert!(values.iter().all(|value| value.is_finite()), "{what}: {values:?}");
}

/// An assembly file.
pub fn assembly(bytes: &[u8]) {
    let Ok(text) = std::str::from_utf8(bytes) else { return };
    match AssemblyFile::parse(text, "assembly.toml") {
        Ok(file) => {
            assert!(file.height > 0.0 && !file.member.is_empty() && file.discs() >= file.member.len());
            assert!(file.member.iter().all(|member| !member.folder.contains("..")));
            assert_eq!(AssemblyFile::parse(&file.to_toml(), "again.toml").as_ref(), Ok(&file));
        }
        Err(error) => assert_helps(&error.to_string(), "assembly.toml"),
    }
}

/// A curve that may go through zero, split for an opposed pair.
fn curve_to_both_sides(bytes: &[u8]) {
    let Ok(target) = curve::read_both_sides(bytes, &curve::ReadChoice::default(), "curve.csv") else {
        return;
    };
    assert_finite(&target.force, "force");
    assert!(target.max_force() > 0.0);
    // the splitting is the same for all points and takes a while for many
    if (3..200).contains(&target.len()) && target.max_force() < 1e9 {
        let (x, f) = split::nearest_opposed(&target.deflection, &target.force, &target.error_bases());
        assert_finite(&f, "nearest force of a pair");
        if let Ok(members) = split::opposed(&x, &f, 0.5, 0.0) {
            for member in &members {
                assert_finite(&member.force, "force of a member");
            }
        }
    }
}

/// A target curve.
pub fn curve(bytes: &[u8]) {
    curve_to_both_sides(bytes);
    match curve::read_deflections(bytes, "curve.csv") {
        Ok(list) => assert_finite(&list.deflection, "deflections"),
        Err(error) => assert_helps(&error.to_string(), "curve.csv"),
    }
    match curve::read(bytes, "curve.csv") {
        Ok(target) => sound_target(&target),
        Err(error) => assert_helps(&error.to_string(), "curve.csv"),
    }
}

fn sound_target(target: &TargetCurve) {
    assert!(target.len() >= 2 && target.force.len() == target.len());
    assert!(target.deflection.windows(2).all(|pair| pair[0] < pair[1]), "{:?}", target.deflection);
    assert!(target.deflection[0] >= 0.0 && target.force.iter().all(|force| *force >= 0.0));
    assert_finite(&target.deflection, "deflection");
    assert_finite(&target.force, "force");
    assert_eq!(target.errors_percent(&target.force), (0.0, 0.0));
    let reach = nearest_reachable(target, 0.0);
    assert_eq!(reach.nearest.deflection.len(), reach.nearest.force.len());
    assert_finite(&reach.nearest.force, "nearest force");
}

/// A measured curve.
pub fn measured(bytes: &[u8]) {
    match curve::read_measured(bytes, "measured.csv") {
        Ok(curve) => {
            assert!(curve.peak < curve.deflection.len() && curve.deflection.len() == curve.force.len());
            assert_finite(&curve.force, "force");
            for branch in [curve.loading(), curve.unloading()] {
                assert!(branch.ordered().0.windows(2).all(|pair| pair[0] < pair[1]));
            }
            assert_finite(&Readings::of(&curve).force, "elastic force");
        }
        Err(error) => assert_helps(&error.to_string(), "measured.csv"),
    }
}

/// A brief.
pub fn brief(bytes: &[u8]) {
    let Ok(text) = std::str::from_utf8(bytes) else { return };
    match Brief::parse(text, "brief.toml") {
        Ok(brief) => {
            if let Ok(sheets) = SheetsToTry::of(&brief) {
                assert!(!sheets.thicknesses.is_empty());
                for thickness in sheets.thicknesses {
                    assert!(cutting_limits(&brief, thickness).slot > 0.0);
                }
            }
            let asked = Asked { brief: brief.clone(), ..Asked::default() };
            assert_eq!(Brief::parse(&asked.brief_toml(), "again.toml").as_ref(), Ok(&brief));
        }
        Err(error) => assert_helps(&error.to_string(), "brief.toml"),
    }
}

/// A spring file, and the spring it describes.
pub fn spring(bytes: &[u8]) {
    let Ok(text) = std::str::from_utf8(bytes) else { return };
    match SpringFile::parse(text, "spring.toml") {
        Ok(file) => {
            // as text: a NaN among the target's points, which is refused where they are used, equals nothing
            let again = SpringFile::parse(&file.to_toml(), "again.toml").map(|again| again.to_toml());
            assert_eq!(again, Ok(file.to_toml()));
            sound_spring(&file);
        }
        Err(error) => assert_helps(&error.to_string(), "spring.toml"),
    }
}

fn sound_spring(file: &SpringFile) {
    if let Some((deflection, force)) =
        file.target.as_ref().and_then(|target| target.deflection.as_ref().zip(target.force.as_ref()))
    {
        match TargetCurve::points(deflection, force).curve("spring.toml: [target]") {
            Ok(target) => sound_target(&target),
            Err(error) => assert_helps(&error.to_string(), "spring.toml: [target]"),
        }
    }
    if file.arm.stations.is_some() {
        return;
    }
    let spring = match Spring::from_file(file, None) {
        Ok(spring) => spring,
        Err(error) => return assert!(error.to_string().contains([';', ':']), "nothing to do: {error}"),
    };
    let settings = ModelSettings { segments: SEGMENTS, ..ModelSettings::default() };
    let model = match Model::of(&spring, &settings) {
        Ok(model) => model,
        Err(error) => return assert!(error.to_string().contains([';', ':']), "nothing to do: {error}"),
    };
    if let Ok(response) = model.response(&[0.3, 0.6].map(|share| share * model.travel())) {
        for (values, what) in [
            (&response.force, "force"),
            (&response.rate, "rate"),
            (&response.seated_share, "seated share"),
            (&response.peak_stress, "stress"),
        ] {
            assert_finite(values, what);
        }
    }
}

/// The stations of an arm.
pub fn stations(bytes: &[u8]) {
    let Ok(text) = std::str::from_utf8(bytes) else { return };
    match read_stations(text, "stations.csv") {
        Ok(stations) => {
            if let Ok(arm) = ArmPath::through_stations(&stations, SEGMENTS) {
                assert_eq!(arm.segments(), SEGMENTS);
                for (values, what) in [
                    (&arm.angle, "angle"),
                    (&arm.radius, "radius"),
                    (&arm.width, "width"),
                    (&arm.height, "height"),
                    (&arm.rise, "rise"),
                ] {
                    assert_finite(values, what);
                }
            }
        }
        Err(error) => assert_helps(&error.to_string(), "stations.csv"),
    }
}

/// An arm that heights are measured on.
const ARM: &str = "[sheet]\nthickness = 1\nyoungs_modulus = 206000\nshear_modulus = 79300\n[disc]\narms = 2\nslot = 1.4\n\
                   arm_outer_diameter = 60\narm_inner_diameter = 20\n[arm]\nradius = [10, 30]\nwidth = [2.4, 5.6]\n[former]\n\
                   free_height = 9\n";

/// Heights of a spring that was set, and of the former it was set on.
pub fn heights(bytes: &[u8]) {
    let Ok(text) = std::str::from_utf8(bytes) else { return };
    let spring = Spring::from_file(&SpringFile::parse(ARM, "arm.toml").unwrap(), None).unwrap();
    let arm = spring.arm(SEGMENTS).unwrap();
    match read_readings(text, "heights.csv", &arm) {
        Ok(readings) => {
            assert!(!readings.is_empty() && readings.iter().all(|reading| reading.radius < arm.radius[0]));
            assert!(readings.windows(2).all(|pair| pair[0].height <= pair[1].height));
        }
        Err(error) => assert_helps(&error.to_string(), "heights.csv"),
    }
    match read_former(text, "heights.csv", &arm) {
        Ok(heights) => {
            assert_eq!(heights.len(), SEGMENTS + 1);
            assert_finite(&heights, "former");
        }
        Err(error) => assert_helps(&error.to_string(), "heights.csv"),
    }
}

/// A drawing.
pub fn drawing(bytes: &[u8]) {
    match from_dxf(bytes, "disc.dxf") {
        Ok(read) => {
            for vertex in read.contours.iter().flat_map(|contour| &contour.chain.vertices) {
                assert_finite(&[vertex.point[0], vertex.point[1], vertex.bulge], "vertex");
            }
            if let Ok(disc) = measure(&read.contours, 0.9) {
                for station in disc.stations() {
                    assert!(station.width > 0.0 && station.radius > 0.0 && station.angle >= 0.0);
                }
            }
        }
        Err(error) => assert_helps(&error.to_string(), "disc.dxf"),
    }
}

/// Requests of a page: a draft, a question, a comparison.
pub fn request(bytes: &[u8]) {
    if let Ok(asked) = DraftAsked::parse(bytes) {
        question(&asked.asked);
        if let Some(file) = asked.spring.filter(|file| file.check("the spring drawn last").is_ok()) {
            sound_spring(&file);
        }
    }
    match Asked::parse(bytes) {
        Ok(asked) => question(&asked),
        Err(error) => {
            let message = error.to_string();
            assert!(message.contains("not understood") && message.contains("try again"), "{message}");
        }
    }
    let _ = RivalsAsked::parse(bytes).map(|asked| question(&asked.asked));
    let _ = SavedState::parse(bytes).map(|state| state.check());
    // the same bytes as a file that is dropped on the page
    for name in ["dropped.csv", "dropped.toml", "dropped"] {
        if let Err(error) = Opened::read(bytes, name) {
            assert!(error.to_string().starts_with(name), "no file: {error}");
        }
    }
}

fn question(asked: &Asked) {
    match asked.question() {
        Ok(question) => {
            sound_target(&question.target);
            assert!(asked.as_files().is_ok_and(|archive| !archive.is_empty()));
        }
        Err(error) => {
            let message = error.to_string();
            assert!(
                message.starts_with("curve.csv") || message.starts_with("brief.toml"),
                "no file: {message}"
            );
        }
    }
}
