//! All assumptions, each with source and confidence.

use serde::Serialize;

use super::shown::Shown;
use super::subject::Subject;
use crate::material::{self, Confidence, PROOF_SHARE_OF_TENSILE, ProcessRule, Sourced};
use crate::numeric::{Quantity, figures, significant};
use crate::outline::CutRules;
use crate::spec::{HubGuide, Pressing, Process, Rim, Roots};

/// One assumption.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub(super) struct Assumption {
    pub what: String,
    pub value: String,
    pub source: String,
    pub confidence: &'static str,
}

const READ: &str = "read in the source";
const MEMORY: &str = "from memory: confirm";
const GIVEN: &str = "as given";
const CHOICE: &str = "given or chosen";
const JUDGEMENT: &str = "judgement";
const MEASURED: &str = "measured and computed";

fn confidence(confidence: Confidence) -> &'static str {
    match confidence {
        Confidence::Read => READ,
        Confidence::Memory => MEMORY,
    }
}

struct List {
    rows: Vec<Assumption>,
}

impl List {
    fn add(&mut self, what: &str, value: String, source: impl Into<String>, confidence: &'static str) {
        self.rows.push(Assumption { what: what.to_owned(), value, source: source.into(), confidence });
    }

    /// A property of the sheet: the stock's where it is the stock's, else the user's.
    fn property(&mut self, what: &str, used: f64, shown: String, stock: Option<&Sourced>) {
        match stock.filter(|stock| stock.value == used) {
            Some(stock) => self.add(what, shown, stock.source.clone(), confidence(stock.confidence)),
            None => self.add(what, shown, "brief or spring file", GIVEN),
        }
    }

    /// A length of the process.
    fn rule(&mut self, what: &str, used: f64, given: Option<f64>, rule: Option<&ProcessRule>, shown: Shown) {
        let value = shown.sized(used);
        match (given, rule) {
            (None, Some(rule)) => self.add(what, value, rule.source.clone(), confidence(rule.confidence)),
            _ => self.add(what, value, "brief or spring file", GIVEN),
        }
    }
}

/// All assumptions of a spring, gathered from where they are used.
pub(super) fn assumptions(subject: &Subject, rules: &CutRules, shown: Shown) -> Vec<Assumption> {
    let mut list = List { rows: Vec::new() };
    sheet(subject, shown, &mut list);
    seat(subject, &mut list);
    cutting(subject, rules, shown, &mut list);
    closing(subject, shown, &mut list);
    model(&mut list);
    list.rows
}

fn sheet(subject: &Subject, shown: Shown, list: &mut List) {
    let sheet = &subject.spring.sheet;
    let stock = sheet.material.as_deref().and_then(|name| material::find(name).ok());
    let name = sheet.material.clone().unwrap_or_else(|| "not named".to_owned());
    let described = stock.map_or_else(|| "no sheet of the stock table".to_owned(), |s| s.description.clone());
    list.add("sheet", name, described, CHOICE);
    list.add(
        "thickness",
        shown.sized(sheet.thickness),
        "brief, spring file or stock list: measure it",
        CHOICE,
    );
    let stress = |value: f64| shown.stress(value);
    let rounded = |value: f64, quantity: Quantity| {
        let value = significant(value * quantity.factor(shown.units), 4);
        format!("{value}\u{a0}{}", shown.unit(quantity))
    };
    list.property(
        "Young's modulus E",
        sheet.youngs_modulus,
        rounded(sheet.youngs_modulus, Quantity::Stress),
        stock.map(|s| &s.youngs_modulus),
    );
    list.property(
        "shear modulus G",
        sheet.shear_modulus,
        rounded(sheet.shear_modulus, Quantity::Stress),
        stock.map(|s| &s.shear_modulus),
    );
    if let Some(tensile) = sheet.tensile_strength {
        let from = stock.and_then(|s| s.tensile_strength.as_ref());
        list.property("tensile strength Rm, least", tensile, stress(tensile), from);
    }
    if let Some(proof) = sheet.yield_strength {
        let from = stock.and_then(|s| s.yield_strength.as_ref());
        list.property("proof strength Rp0.2, least", proof, stress(proof), from);
    } else if let Some(tensile) = sheet.tensile_strength {
        list.add(
            "proof strength Rp0.2",
            format!("{PROOF_SHARE_OF_TENSILE} Rm = {}", stress(PROOF_SHARE_OF_TENSILE * tensile)),
            "common practice for hard strip, no source",
            MEMORY,
        );
    }
    if let Some(density) = sheet.density {
        list.property("density", density, rounded(density, Quantity::Density), stock.map(|s| &s.density));
    }
    if let Some(allowable) = &subject.checks.stress.allowable {
        list.add(
            "allowable stress",
            format!("{}, {}", shown.stress(allowable.limit), allowable.rule),
            allowable.source.clone(),
            confidence(allowable.confidence),
        );
    }
    if let Some(plan) = subject.checks.setting.as_ref().and_then(|setting| setting.plans.first()) {
        let row = &plan.row;
        let [low, high] = row.relaxed;
        list.add("heat for setting", row.heat.clone(), row.source.clone(), row.mark.words());
        list.add(
            "share of stress relaxed on the former",
            format!("{low:.2} to {high:.2}"),
            row.source.clone(),
            row.mark.words(),
        );
    }
}

fn seat(subject: &Subject, list: &mut List) {
    let seat = subject.spring.seat;
    let pressing = match seat.pressing {
        Pressing::Hub => "only the hub is pushed",
        Pressing::Plates => "an upper plate covers the arms",
    };
    let hub = match seat.hub {
        HubGuide::Guided => "guided: neither tilts nor shifts, turns freely",
        HubGuide::Tilting => "tilts so that the load passes through the axis",
    };
    let rim = match seat.rim {
        Rim::Resting => "loose on a flat base",
        Rim::Held => "clamped flat",
    };
    let source = "brief or spring file (the defaults are hub, guided, resting)";
    list.add("pressing", pressing.to_owned(), source, CHOICE);
    list.add("hub", hub.to_owned(), source, CHOICE);
    list.add("rim", rim.to_owned(), source, CHOICE);
    if subject.spring.roots == Roots::Rigid {
        list.add("roots", "ideal clamps".to_owned(), "spring file", GIVEN);
    }
}

fn cutting(subject: &Subject, rules: &CutRules, shown: Shown, list: &mut List) {
    let given = subject.file.process.clone().unwrap_or_default();
    let Process { kerf, slot_min, arm_min, tolerance, edge_slope, .. } = given;
    let known = given.kind().known();
    list.add("process", rules.process.clone(), "brief or spring file (waterjet where left out)", CHOICE);
    list.rule("kerf", rules.kerf, kerf, known.map(|k| &k.kerf), shown);
    list.add("slot", shown.sized(subject.spring.slot), "spring file", CHOICE);
    list.rule("least slot width", rules.slot_min, slot_min, known.map(|k| &k.slot_min), shown);
    list.rule("least arm width", rules.arm_min, arm_min, known.map(|k| &k.arm_min), shown);
    list.rule("± on a cut width", rules.tolerance, tolerance, known.map(|k| &k.tolerance), shown);
    list.rule("lean of one cut edge", rules.edge_slope, edge_slope, known.map(|k| &k.edge_slope), shown);
    match (given.speed, known.and_then(|k| k.speed.as_ref()), rules.speed) {
        (Some(speed), _, _) => {
            list.add("cutting speed", format!("{speed:.0}\u{a0}mm/min"), "brief or spring file", GIVEN);
        }
        (None, Some(table), Some(speed)) => list.add(
            "cutting speed",
            format!("{speed:.0}\u{a0}mm/min"),
            table.source.clone(),
            confidence(table.confidence),
        ),
        _ => {}
    }
}

fn closing(subject: &Subject, shown: Shown, list: &mut List) {
    let practice = "common practice, no source";
    let flat = &subject.checks.flat;
    let burr = subject.file.process.as_ref().and_then(|process| process.burr);
    let (burr_from, burr_kind) = burr.map_or((practice, JUDGEMENT), |_| ("brief or spring file", GIVEN));
    list.add("burr left, both faces", shown.sized(flat.burr_mm), burr_from, burr_kind);
    list.add("flatness when pressed", shown.sized(flat.flatness_mm), practice, JUDGEMENT);
    list.add(
        "closed",
        "99 % of the travel".to_owned(),
        "the sheet's flatness limits the last per cent",
        JUDGEMENT,
    );
    if let Some(fatigue) = &subject.checks.fatigue {
        let endurance = fatigue.endurance;
        list.add(
            "fatigue",
            format!(
                "{} amplitude in shear, fully reversed; times {} for the edge",
                shown.stress(endurance.reversed_mpa),
                figures(endurance.edge_factor)
            ),
            "Zimmerli's torsion data, as given in Shigley; Goodman in shear",
            if fatigue.edge_known { READ } else { JUDGEMENT },
        );
    }
}

fn model(list: &mut List) {
    list.add(
        "sections",
        "torsion of rectangles, curved-strip factor, plate bending".to_owned(),
        "Timoshenko & Goodier; Göhner",
        READ,
    );
    list.add(
        "force error of the prediction",
        "0.3 to 2\u{a0}% rms between 3 and 90\u{a0}% of the travel".to_owned(),
        "3-D finite elements with contact, thirteen springs; tests of this program",
        MEASURED,
    );
    list.add(
        "surface stress along the arm",
        "within 5\u{a0}%; slot ends 4 to 17\u{a0}% rms, rings by closed forms".to_owned(),
        "3-D finite elements; tests of this program",
        MEASURED,
    );
    list.add(
        "left out",
        "friction, damping, creep, impact, temperature".to_owned(),
        "not modelled: with friction, loading is above the curve and unloading below it",
        JUDGEMENT,
    );
}
