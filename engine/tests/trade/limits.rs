//! Whatever a plan gives a function, it gets a number or a reason, never infinity.

use engine::measure::{
    Angle, Area, Currency, Data, DataRate, Day, Days, Illuminance, Length, Mass, Money, Pixels, Quantity, Resolution,
    Time, Units,
};
use engine::script::bindings;
use engine::script::{Args, Function};
use engine::{Found, Message, Value};
use rust_decimal::Decimal;

fn function(name: &str) -> &'static Function {
    bindings::all().find(|one| one.name == name).unwrap_or_else(|| panic!("no function {name}"))
}

fn call(name: &'static str, values: &[Value]) -> Result<Found, Message> {
    (function(name).call)(&Args { function: name, values })
}

fn made(name: &'static str, values: &[Value]) -> Value {
    call(name, values).unwrap_or_else(|message| panic!("{name}: {message}")).value
}

fn inch(value: f64) -> Value {
    Length::inch(value).into()
}

fn list(all: &[f64]) -> Value {
    Value::List(all.iter().copied().map(inch).collect())
}

fn usd(value: i64) -> Value {
    Money::new(Decimal::from(value), Currency::of("USD").unwrap()).into()
}

/// A call of every function that works, all its arguments given.
fn calls() -> Vec<(&'static str, Vec<Value>)> {
    let film = || made("film", &["6x17".into()]);
    let scan = || made("scan", &[film(), Resolution::ppi(4000.0).into()]);
    let print = || made("enlarge", &[scan(), inch(72.0)]);
    let glass = || made("sheet", &["float glass".into(), Length::mm(3.0).into()]);
    let roll = || made("roll", &[inch(50.0)]);
    let size = || list(&[24.0, 72.0]);
    let deg = |value: f64| Value::from(Angle::degrees(value));
    let lb = |value: f64| Value::from(Mass::lb(value));
    let lab = |a: f64| Value::List(vec![50.0.into(), a.into(), 3.0.into()]);
    let step = Value::List(vec![1_i64.into(), 10_i64.into(), usd(4000)]);
    let day = |text: &str| Value::from(Day::parse(text).unwrap());
    let days_off = || Value::List(vec![day("2027-01-18")]);
    let steps = || {
        let one = |name: &str, days: f64| vec![Value::from(name), Days::days(days).into()];
        let print = one("Print", 3.0).into_iter().chain([Value::List(vec!["Scan".into()])]).collect();
        Value::List(vec![Value::List(one("Scan", 7.0)), Value::List(print)])
    };
    let plan = || made("schedule", &[steps(), day("2027-01-04")]);
    let bounds = || {
        Value::List(vec![
            Value::List(vec!["laminator".into(), inch(61.0)]),
            Value::List(vec!["board".into(), inch(96.0), inch(48.0)]),
            Value::List(vec!["stick".into(), inch(132.0), "long".into()]),
        ])
    };
    let breaks =
        || Value::List(vec![Value::List(vec![1_i64.into(), usd(48)]), Value::List(vec![5_i64.into(), usd(42)])]);
    let lifted = || made("lift", &[lb(35.0), inch(15.0), inch(27.0), inch(17.0)]);
    let prices = || made("edition_prices", &[Value::List(vec![step.clone()])]);
    vec![
        ("film", vec![inch(6.6), inch(2.2)]),
        ("upright", vec![film()]),
        ("crop", vec![film(), 2.5.into()]),
        ("crop", vec![film(), list(&[24.0, 70.0])]),
        ("scan", vec![film(), Resolution::ppi(4000.0).into(), Resolution::ppi(3200.0).into()]),
        ("density_range", vec![16_i64.into()]),
        ("ppi_for_distance", vec![inch(48.0)]),
        ("distance_for_ppi", vec![Resolution::ppi(150.0).into()]),
        ("enlarge", vec![scan(), inch(72.0)]),
        ("enlarge", vec![film(), inch(72.0)]),
        ("largest_print", vec![scan(), Resolution::ppi(300.0).into()]),
        ("resample", vec![print(), Resolution::ppi(300.0).into()]),
        ("with_border", vec![print(), inch(1.0)]),
        ("bleed", vec![size(), inch(0.25)]),
        ("elevation", vec![list(&[72.0, 24.0]), inch(58.0), inch(66.0), inch(48.0)]),
        ("back_of", vec![list(&[72.0, 24.0]), "straps".into(), inch(12.0), inch(4.0)]),
        ("cut_from", vec![list(&[72.0, 24.0]), Value::List(vec![inch(96.0), inch(48.0)]), inch(0.25)]),
        ("panels", vec![list(&[144.0, 96.0]), inch(50.0), inch(1.0)]),
        ("delta_e_76", vec![lab(1.0), lab(2.0)]),
        ("delta_e_2000", vec![lab(1.0), lab(2.0)]),
        ("density", vec![0.18.into()]),
        ("reflectance", vec![2.3.into()]),
        ("lightness", vec![0.18.into()]),
        (
            "file",
            vec![
                Value::List(vec![Pixels::px(21_600.0).into(), Pixels::px(7200.0).into()]),
                16_i64.into(),
                3_i64.into(),
            ],
        ),
        ("upload", vec![Data::mb(933.0).into(), DataRate::mbit_s(20.0).into(), 0.8.into()]),
        ("sheet_size", vec!["A2".into()]),
        ("roll", vec![inch(50.0), inch(0.5), inch(0.5), inch(0.5)]),
        ("on_roll", vec![size(), roll(), 3_i64.into(), true.into()]),
        ("nest", vec![Value::List(vec![size(), size()]), roll(), true.into()]),
        ("sheet", vec!["own".into(), inch(0.75), engine::measure::Grammage::gsm(2650.0).into()]),
        ("sheet", vec!["own".into(), inch(0.75), engine::measure::Density::kg_m3(700.0).into()]),
        ("stack", vec![Value::List(vec![glass(), glass()])]),
        ("weight", vec![glass(), size()]),
        ("compare_glazing", vec![size(), inch(0.12), inch(0.12)]),
        ("grammage_of", vec![lb(12.0), size()]),
        ("wood", vec!["white ash".into(), 12_i64.into()]),
        ("moulding", vec!["ash".into(), inch(0.75), inch(2.0), "white ash".into()]),
        (
            "float_frame",
            vec![
                size(),
                inch(0.25),
                inch(0.75),
                inch(0.77),
                inch(0.5),
                inch(0.25),
                engine::measure::Density::kg_m3(600.0).into(),
            ],
        ),
        ("rabbet_frame", vec![size(), inch(1.0), inch(0.25), inch(1.25), inch(0.125), "white ash".into()]),
        ("mat", vec![size(), inch(4.0), inch(0.5), inch(0.125)]),
        ("cut_list", vec![inch(120.0), list(&[74.0, 74.0, 26.0, 26.0]), inch(0.125), inch(1.0)]),
        ("mitre", vec![4_i64.into()]),
        ("mitre_gap", vec![deg(0.1), inch(0.75)]),
        ("rating", vec![lb(28.0), 2_i64.into(), 4_i64.into()]),
        ("hang_two_hooks", vec![lb(24.0), inch(20.0), inch(28.0), 4_i64.into()]),
        ("wire", vec![lb(24.0), inch(24.0), inch(3.0), 4_i64.into()]),
        ("wire_at_angle", vec![lb(24.0), deg(30.0), 4_i64.into()]),
        ("cleat", vec![lb(24.0), inch(1.0), inch(20.0), 4_i64.into()]),
        ("hook_height", vec![inch(26.0), inch(58.0), inch(4.0)]),
        ("illuminance", vec![900.0.into(), inch(60.0), deg(30.0)]),
        ("light_dose", vec![Illuminance::lux(200.0).into(), Time::hours(8.0).into(), 300_i64.into()]),
        ("beam", vec![deg(36.0), inch(60.0), 500.0.into()]),
        ("lamp_offset", vec![inch(108.0), inch(58.0), deg(30.0)]),
        ("lamp", vec![inch(108.0), inch(58.0), deg(30.0)]),
        ("lamps", vec![size(), made("lamp", &[inch(108.0), inch(58.0)]), 3_i64.into(), 1000.0.into(), deg(60.0)]),
        ("light_limit", vec!["R2".into()]),
        ("viewing_light", vec!["P2".into()]),
        (
            "lift",
            vec![
                lb(35.0),
                inch(15.0),
                inch(27.0),
                inch(17.0),
                deg(0.0),
                0.2.into(),
                Time::hours(1.0).into(),
                "poor".into(),
            ],
        ),
        ("crate_for", vec![size(), inch(2.0), inch(2.0), inch(0.5)]),
        ("dim_weight", vec![list(&[80.0, 32.0, 6.0]), "postal".into(), lb(30.0), lb(1.0)]),
        ("passes_door", vec![size(), inch(2.0), list(&[32.0, 80.0])]),
        ("longest_round_corner", vec![inch(4.0), inch(36.0), inch(48.0)]),
        (
            "passes_car",
            vec![size(), inch(2.0), list(&[51.0, 80.0, 90.0]), list(&[36.0, 84.0]), inch(2.0), inch(90.0), inch(3.0)],
        ),
        ("freight_class", vec![list(&[80.0, 12.0, 42.0]), lb(240.0)]),
        ("passes_side_door", vec![inch(60.0), inch(3.0), inch(44.0), inch(36.0), inch(5.0), inch(100.0)]),
        ("passes_landing", vec![inch(40.0), inch(4.0), inch(36.0), inch(42.0), inch(4.0)]),
        ("passes_van", vec![size(), inch(2.0), list(&[68.0, 120.0, 66.0]), list(&[48.0, 12.0]), list(&[60.0, 62.0])]),
        ("price", vec![usd(1000), usd(500), 0.5.into()]),
        ("markup", vec![usd(1000), 1.5.into()]),
        ("margin", vec![usd(1000), usd(2500)]),
        ("tax", vec![usd(4850), 0.08875.into()]),
        ("commission", vec![usd(4850), 0.5.into()]),
        ("split", vec![usd(100), 3_i64.into()]),
        ("split", vec![usd(100), Value::List(vec![70_i64.into(), 30_i64.into()])]),
        ("break_even", vec![usd(6200), usd(4850), 0.5.into(), usd(1000)]),
        ("edition_prices", vec![Value::List(vec![step.clone()])]),
        ("price_of", vec![prices(), 3_i64.into()]),
        ("artist_proofs", vec![25_i64.into(), 0.1.into(), "up".into()]),
        ("certificate_facts", vec![]),
        ("statute", vec!["New York".into()]),
        ("holidays", vec![2026_i64.into()]),
        ("lab_of_srgb", vec![255_i64.into(), 0_i64.into(), 0_i64.into()]),
        ("least_car", vec!["centred".into()]),
        ("schedule", vec![steps(), day("2027-01-04"), day("2027-03-01"), days_off()]),
        ("spare_days", vec![plan(), "Print".into()]),
        ("earliest_start", vec![plan(), "Print".into()]),
        ("latest_start", vec![plan(), "Print".into()]),
        ("start_by", vec![day("2027-02-01"), Days::days(10.0).into(), days_off()]),
        ("count_working_days", vec![day("2026-06-01"), day("2026-07-01"), days_off()]),
        ("week_of", vec![day("2027-01-01")]),
        ("day_of_year", vec![day("2026-12-31")]),
        ("calendar_text", vec!["Proof".into(), day("2026-06-08"), day("2026-06-12")]),
        ("practice", vec!["gallery commission".into()]),
        ("within_limits", vec![list(&[90.0, 30.0]), bounds()]),
        ("price_ladder", vec![25_i64.into(), 10_i64.into(), usd(4000), 0.2.into(), usd(50)]),
        ("viewing_distance", vec![size(), 1.5.into()]),
        ("price_at_margin", vec![usd(1000), 0.6.into()]),
        ("discount", vec![usd(4850), 0.1.into()]),
        ("net_after", vec![usd(4850), 0.1.into(), 0.5.into(), "artist".into()]),
        ("quantity_price", vec![6_i64.into(), breaks(), usd(95)]),
        ("tax_on", vec![Value::List(vec![usd(50), usd(12)]), 0.0725.into(), "item".into()]),
        ("insurance", vec![usd(4200), 0.012.into(), usd(35)]),
        ("round_even", vec![inch(0.09375), inch(0.0625)]),
        ("minor_units", vec!["JPY".into()]),
        ("scan_needed", vec![film(), inch(72.0), Resolution::ppi(300.0).into()]),
        ("flatbed_or_drum", vec![Resolution::ppi(3200.0).into(), Resolution::ppi(2400.0).into()]),
        ("nyquist", vec![Resolution::ppi(3200.0).into()]),
        ("bits_for", vec![3.6.into()]),
        ("enlarge_to_height", vec![scan(), inch(24.0)]),
        ("trimmed", vec![print(), inch(0.25)]),
        ("proof_sheet", vec![print(), list(&[24.0, 20.0]), 3_i64.into(), list(&[7.0, 8.0]), inch(0.5)]),
        ("xyz_of_srgb", vec![255_i64.into(), 0_i64.into(), 0_i64.into()]),
        ("linear_srgb", vec![128_i64.into(), 128_i64.into(), 128_i64.into()]),
        ("white_point", vec!["D50".into()]),
        ("compare_patches", vec![Value::List(vec![lab(1.0)]), Value::List(vec![lab(2.0)]), 2.0.into()]),
        ("file_format", vec!["49492a0008000000".into()]),
        ("checksum", vec!["d41d8cd98f00b204e9800998ecf8427e".into()]),
        ("same_checksum", vec!["d41d8cd98f00b204e9800998ecf8427e".into(), "D41D8CD98F00B204E9800998ECF8427E".into()]),
        ("file_work", vec![]),
        ("roll_widths", vec!["pigment".into()]),
        ("roll_for", vec![inch(30.5), "chromogenic".into(), inch(0.5)]),
        ("boards_for", vec![list(&[30.0, 40.0]), 5_i64.into(), list(&[96.0, 48.0]), inch(0.125)]),
        ("mat_windows", vec![size(), 3_i64.into(), inch(4.0), inch(2.0), inch(0.5), inch(0.125)]),
        ("moulding_to_buy", vec![size(), inch(0.75), inch(0.125), 0.1.into()]),
        ("moment", vec![lb(28.0), inch(2.0)]),
        ("hang_row", vec![size(), 3_i64.into(), inch(2.0)]),
        ("stops", vec![Illuminance::lux(500.0).into(), Illuminance::lux(125.0).into()]),
        ("lift_end", vec![lifted(), inch(20.0), inch(10.0)]),
        ("team_lift", vec![lifted(), 2_i64.into()]),
        ("tube_for", vec![list(&[40.0, 30.0]), inch(6.0), inch(0.75), inch(2.0)]),
        ("customs_facts", vec![]),
        ("edition_total", vec![10_i64.into(), 1_i64.into(), 1_i64.into(), 0_i64.into(), 1_i64.into()]),
        ("next_number", vec![10_i64.into(), Value::List(vec![1_i64.into(), 3_i64.into()])]),
        ("number_label", vec![4_i64.into(), 10_i64.into()]),
        ("round", vec![inch(29.87), inch(0.25)]),
        ("floor", vec![2.7.into()]),
        ("ceiling", vec![usd(12), usd(5)]),
        ("abs", vec![inch(-3.0)]),
        ("sqrt", vec![2.0.into()]),
        ("whole", vec![2.6.into()]),
        ("min", vec![inch(63.0), inch(60.0)]),
        ("max", vec![inch(63.0), inch(60.0)]),
    ]
}

/// Every number in a value, its parts and their workings is one that can be counted with.
fn all_finite(value: &Value, row: &str) {
    match value {
        Value::Quantity(Quantity { value, .. }) => assert!(value.is_finite(), "{row} gives {value}"),
        Value::List(all) => all.iter().for_each(|one| all_finite(one, row)),
        Value::Thing(thing) => {
            for one in thing.summary() {
                if !matches!(one, Value::Thing(_)) {
                    all_finite(&one, row);
                }
            }
            for (name, _) in thing.parts() {
                if let Some(found) = thing.part(name) {
                    all_finite(&found.value, &format!("{row}.{name}"));
                    let working = found.working.map(|working| working.shown(Units::Inch)).unwrap_or_default();
                    assert!(!working.contains("inf") && !working.contains("NaN"), "{row}.{name}: {working}");
                }
            }
        }
        _ => {}
    }
}

#[test]
fn every_function_works_with_all_its_arguments() {
    let calls = calls();
    for function in bindings::all() {
        let (fewest, most) = function.arity();
        assert!(
            calls.iter().any(|(name, _)| *name == function.name),
            "`{}` is not tried here: add a call with all its arguments to `calls` in engine/tests/trade/limits.rs",
            function.name
        );
        assert!(fewest <= most && !function.about.is_empty() && function.example.contains(function.name));
    }
    for (name, values) in &calls {
        let (fewest, most) = function(name).arity();
        assert!((fewest..=most).contains(&values.len()), "{name} takes {fewest} to {most}");
        let found = call(name, values).unwrap_or_else(|message| panic!("{name}: {message}"));
        all_finite(&found.value, name);
    }
}

#[test]
fn every_part_a_thing_lists_can_be_asked_for() {
    for (name, values) in calls() {
        if let Value::Thing(thing) = made(name, &values) {
            for (part, about) in thing.parts() {
                let missing = (name == "enlarge" && matches!(*part, "ppi" | "file_ppi"))
                    || (name == "float_frame" && *part == "ledge_weight")
                    || (name == "statute"
                        && matches!(*part, "wilful_multiple" | "years_after_discovery" | "years_after_sale"));
                assert!(missing || thing.part(part).is_some(), "{name}.{part}");
                assert!(about.ends_with('.'), "{name}.{part}: {about}");
            }
            assert!(thing.part("no such part").is_none());
            assert!(!Value::Thing(thing).shown(Units::Metric).is_empty());
        }
    }
}

fn number_functions() -> impl Iterator<Item = &'static str> {
    let subject = bindings::SUBJECTS.iter().find(|(subject, _)| *subject == "number").expect("there are numbers");
    subject.1.iter().map(|one| one.name)
}

#[test]
fn a_missing_or_foreign_argument_is_named() {
    for (name, values) in calls() {
        let (fewest, _) = function(name).arity();
        for short in 0..fewest {
            let message = call(name, &values[..short]).expect_err(name);
            assert!(message.what.contains(name) && !message.next.is_empty(), "{name}: {message}");
        }
        for place in 0..values.len() {
            let mut wrong = values.clone();
            // What rounds and compares takes any number, of whatever unit.
            let any_number = number_functions().any(|one| one == name);
            wrong[place] = if any_number { made("film", &["6x17".into()]) } else { Area::m2(1.0).into() };
            assert!(call(name, &wrong).is_err(), "{name} takes something foreign as argument {place}");
        }
    }
}

#[test]
fn no_number_a_plan_can_write_gives_infinity() {
    let odd = [
        0.0,
        -0.0,
        -1.0,
        f64::NAN,
        f64::INFINITY,
        f64::NEG_INFINITY,
        1e308,
        -1e308,
        1e-308,
        5e-324,
        1e30,
        1e-30,
        1e15,
        1e-15,
    ];
    let swap = |value: &Value, with: f64| match value {
        Value::Quantity(quantity) => Some(Value::Quantity(Quantity::new(with, quantity.dims))),
        Value::Whole(_) => Some(Value::from(with)),
        _ => None,
    };
    let mut tried = 0;
    for (name, values) in calls() {
        for place in 0..values.len() {
            for with in odd {
                let mut variants = Vec::new();
                if let Some(value) = swap(&values[place], with) {
                    variants.push(value);
                }
                if let Value::List(all) = &values[place] {
                    for inner in 0..all.len() {
                        if let Some(value) = swap(&all[inner], with) {
                            let mut all = all.clone();
                            all[inner] = value;
                            variants.push(Value::List(all));
                        }
                    }
                }
                for value in variants {
                    let mut given = values.clone();
                    given[place] = value;
                    tried += 1;
                    if let Ok(found) = call(name, &given) {
                        all_finite(&found.value, &format!("{name} with {with} as argument {place}"));
                    }
                }
            }
        }
    }
    assert!(tried > 1000, "{tried}");
}
