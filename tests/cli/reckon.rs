//! `weephole reckon`, from the words of the command line to the answer.

use clap::Parser;
use proptest::prelude::*;
use weephole::cli::reckon::{ReckonArgs, Reckoning, reckon, write};
use weephole::units::UnitSystem;

#[derive(Parser)]
#[command(name = "reckon", no_binary_name = true)]
struct Line {
    #[command(flatten)]
    args: ReckonArgs,
}

fn try_in(system: UnitSystem, words: &[&str]) -> Result<Reckoning, String> {
    let line = Line::try_parse_from(words).map_err(|error| error.to_string())?;
    reckon(&line.args, system).map_err(|error| error.to_string())
}

#[track_caller]
fn metric(words: &[&str]) -> Reckoning {
    try_in(UnitSystem::Metric, words).unwrap_or_else(|error| panic!("{words:?}: {error}"))
}

#[track_caller]
fn refused(words: &[&str], parts: &[&str]) {
    let error = try_in(UnitSystem::Metric, words).expect_err("should be refused");
    for part in parts {
        assert!(error.contains(part), "{words:?}: `{error}` does not say `{part}`");
    }
}

/// The number in the result row of this name.
#[track_caller]
fn figure(reckoning: &Reckoning, name: &str) -> f64 {
    let row = reckoning.results.iter().find(|row| row.name == name);
    row.unwrap_or_else(|| panic!("no `{name}` in {reckoning:?}")).value.unwrap()
}

#[track_caller]
fn near(reckoning: &Reckoning, name: &str, wanted: f64, tolerance: f64) {
    let found = figure(reckoning, name);
    assert!((found - wanted).abs() <= tolerance, "{name}: {found}, not {wanted} within {tolerance}");
}

fn text(words: &[&str], system: UnitSystem, width: usize) -> String {
    let mut out = Vec::new();
    write(&try_in(system, words).unwrap(), false, width, &mut out).unwrap();
    String::from_utf8(out).unwrap()
}

/// facts.md section 3: water under a cap at sea level, and open at altitude (IAPWS-IF97, ISO 2533).
#[test]
fn boil_gives_the_published_rows_of_water() {
    for (cap, celsius) in
        [("7psi", 111.3), ("13 psi", 118.8), ("15psi", 121.0), ("16psi", 122.0), ("18psi", 124.0)]
    {
        near(&metric(&["boil", "--cap", cap]), "boiling-point", celsius, 0.06);
    }
    for (altitude, open, capped) in
        [("0 m", 100.0, 121.0), ("1000 m", 96.7, 119.1), ("2,000 m", 93.3, 117.4), ("3000m", 90.0, 115.8)]
    {
        near(&metric(&["boil", "--altitude", altitude]), "boiling-point", open, 0.06);
        let capped_here = metric(&["boil", "--altitude", altitude, "--cap", "15 psi"]);
        near(&capped_here, "boiling-point", capped, 0.06);
        near(&capped_here, "boiling-point-open", open, 0.06);
    }
}

/// facts.md section 3: 50 % boils at 107.8 °C open and 129.7 °C under 15 psi (ideal solution, pure glycol).
#[test]
fn boil_gives_half_and_half_and_its_margin() {
    let pure = ["boil", "--strength", "50%", "--basis", "pure"];
    near(&metric(&pure), "boiling-point", 107.8, 0.15);
    let hot = metric(&[&pure[..], &["--cap", "15 psi", "--coolant", "118 C"]].concat());
    near(&hot, "boiling-point", 129.7, 0.15);
    near(&hot, "margin", 11.7, 0.15);
    assert!(hot.meaning.contains("only the cap keeps it so"), "{}", hot.meaning);
    let boiling = metric(&["boil", "--coolant", "101 C"]);
    assert!(boiling.meaning.starts_with("It boils now: stop the engine"), "{}", boiling.meaning);
    assert!(boiling.cautions[0].starts_with("Never open the cap of a hot engine"));
}

/// facts.md section 3: makers' rows by concentrate, computed rows by pure glycol, Lange's by propylene glycol.
#[test]
fn freeze_gives_the_published_rows_on_their_basis() {
    for (strength, celsius) in [("40%", -24.0), ("50/50", -37.0), ("60 %", -52.0)] {
        near(&metric(&["freeze", strength]), "freezing-point", celsius, 0.05);
    }
    for (strength, celsius, gravity) in
        [("20%", -9.0, 1.028), ("33%", -19.3, 1.048), ("50%", -39.8, 1.070), ("55%", -47.4, 1.076)]
    {
        let row = metric(&["freeze", strength, "--basis", "pure"]);
        near(&row, "freezing-point", celsius, 0.06);
        near(&row, "gravity-20", gravity, 0.000_6);
    }
    for (strength, celsius) in [("20%", -6.7), ("30%", -12.8), ("40%", -20.6), ("50%", -33.3)] {
        near(
            &metric(&["freeze", strength, "--basis", "pure", "--glycol", "propylene"]),
            "freezing-point",
            celsius,
            0.9,
        );
    }
    near(&metric(&["freeze", "--protect", "-37C"]), "strength", 50.0, 0.01);
    near(&metric(&["freeze", "--refractometer", "-34.6 F"]), "strength", 50.0, 0.01);
}

#[test]
fn a_hot_hydrometer_reading_is_corrected() {
    let cold = metric(&["freeze", "--gravity", "1.070", "--at", "20C", "--scale", "20C", "--basis", "pure"]);
    near(&cold, "strength", 50.0, 0.3);
    // The same mix at 60 °C weighs 1043.43 kg/m³ (CoolProp 8.0.0) against 999.02 of water at 60 °F: 1.0445.
    let hot = metric(&["freeze", "--gravity", "1.0445", "--at", "60C", "--basis", "pure"]);
    near(&hot, "strength", 50.0, 0.2);
    assert!(figure(&hot, "gravity-corrected") > 1.07);
    assert!((0.5..4.0).contains(&figure(&hot, "strength-error")));
}

/// Common practice: a gallon of water, one of concentrate and one of half-and-half make three of half-and-half.
#[test]
fn mix_pours_fills_and_corrects() {
    let three = metric(&[
        "mix",
        "--pour",
        "1 gal (US) @ 0%",
        "--pour",
        "1 gal (US) @ 100%",
        "--pour",
        "1 gal (US) @ 50%",
    ]);
    near(&three, "volume", 3.0 * 3.785_411_784, 1e-6);
    near(&three, "strength", 50.0, 1e-9);
    near(&three, "freezing-point", -37.0, 0.05);
    let fill = metric(&["mix", "--capacity", "9.5 L", "--strength", "50%", "--left", "3 L"]);
    near(&fill, "concentrate", 4.75, 1e-9);
    near(&fill, "water", 1.75, 1e-9);
    let fix = metric(&["mix", "--capacity", "10 L", "--strength", "50%", "--now", "30%"]);
    near(&fix, "replace", 20.0 / 7.0, 1e-8);
    let weaker = metric(&["mix", "--capacity", "10 L", "--strength", "50%", "--now", "60%"]);
    assert!(weaker.meaning.contains("as much distilled water"), "{}", weaker.meaning);
    let strong = metric(&["mix", "--pour", "5 L @ 100%", "--pour", "1 L @ 0%"]);
    assert!(
        strong.basis.iter().any(|line| line.contains("stronger than the tables go")),
        "{:?}",
        strong.basis
    );
    let recipe = metric(&["mix", "--strength", "40%"]);
    assert!(
        recipe.meaning.starts_with("4 parts of concentrate and 6 parts of distilled water"),
        "{}",
        recipe.meaning
    );
}

/// facts.md section 3: keeping the share r, r^n is left after n times.
#[test]
fn drain_follows_the_power_law() {
    let halves = metric(&[
        "drain",
        "--capacity",
        "10 L",
        "--out",
        "5 L",
        "--times",
        "3",
        "--now",
        "50%",
        "--fill",
        "0%",
    ]);
    near(&halves, "left", 12.5, 1e-9);
    near(&halves, "strength", 6.25, 1e-9);
    near(&halves, "waste", 15.0, 1e-9);
    near(&metric(&["drain", "--capacity", "10 L", "--out", "5 L", "--thin-to", "5%"]), "times", 5.0, 0.0);
}

#[test]
fn cap_compares_its_mark_with_what_it_holds() {
    let weak = metric(&["cap", "--cap", "16 psi", "--opens", "9 psi"]);
    near(&weak, "cap-bar", 1.103, 0.001);
    near(&weak, "boiling-point", 122.0, 0.06);
    assert!(
        weak.meaning.contains("below its mark") && weak.meaning.contains("replace it"),
        "{}",
        weak.meaning
    );
    assert!(metric(&["cap", "--cap", "16 psi", "--opens", "15.5 psi"]).meaning.contains("of its mark: good"));
    assert!(metric(&["cap", "--cap", "7 psi", "--opens", "9 psi"]).meaning.contains("above its mark"));
    near(&metric(&["cap", "--boil", "121 C"]), "cap-needed", 103.7, 0.2);
    assert!(metric(&["cap", "--boil", "95 C"]).meaning.contains("needs no cap"));
}

/// facts.md section 2: the two-point check of one common family, and its torque table.
#[test]
fn sensor_and_torque_give_their_rows() {
    let points = ["sensor", "--point", "2.5k ohm @ 20C", "--point", "100C @ 186 ohm"];
    near(&metric(&[&points[..], &["--temperature", "20 C"]].concat()), "resistance", 2.5, 1e-8);
    near(&metric(&[&points[..], &["--resistance", "186 ohm"]].concat()), "temperature", 100.0, 1e-6);
    let off = metric(&[&points[..], &["--resistance", "400 ohm", "--temperature", "80 C"]].concat());
    assert!(off.meaning.contains("colder than it is"), "{}", off.meaning);
    near(
        &metric(&[&points[..], &["--resistance", "2.5k", "--pull-up", "2.5k"]].concat()),
        "voltage",
        2.5,
        1e-9,
    );
    near(&metric(&["torque", "M8", "8.8"]), "printed", 20.0, 0.0);
    near(&metric(&["torque", "3/8", "5"]), "printed", 47.0, 0.0);
}

#[test]
fn pulley_finds_slip_and_belt() {
    let belt = metric(&[
        "pulley",
        "--driver",
        "160mm",
        "--driven",
        "120mm",
        "--speed",
        "800rpm",
        "--measured",
        "960rpm",
    ]);
    near(&belt, "driven-speed", 1_066.666_667, 1e-4);
    near(&belt, "measured-slip", 10.0, 1e-6);
    assert!(belt.meaning.contains("so the belt slips"), "{}", belt.meaning);
    let equal =
        metric(&["pulley", "--driver", "4 in", "--driven", "4 in", "--speed", "900", "--centres", "12 in"]);
    near(&equal, "driver-wrap", 180.0, 1e-9);
    near(&equal, "belt-length", 25.4 * (24.0 + 4.0 * std::f64::consts::PI), 1e-4);
}

#[test]
fn convert_knows_kinds_and_air() {
    near(&metric(&["convert", "16 psi", "kPa"]), "converted", 110.316_116_7, 1e-6);
    near(&metric(&["convert", "190F", "C"]), "converted", 87.777_777_8, 1e-6);
    near(&metric(&["convert", "-40 F", "C"]), "converted", -40.0, 1e-9);
    near(&metric(&["convert", "9 F", "K", "--kind", "temperature-difference"]), "converted", 5.0, 1e-9);
    near(&metric(&["convert", "1 1/2 in", "mm"]), "converted", 38.1, 1e-9);
    near(&metric(&["convert", "0 psi", "psia"]), "converted", 14.695_948_8, 1e-6);
    near(&metric(&["convert", "14.695948775 psia", "psi"]), "converted", 0.0, 1e-8);
    near(&metric(&["convert", "4000 ft", "m"]), "converted", 1219.2, 1e-9);
    near(&metric(&["convert", "2.5 gal (US)", "L"]), "converted", 9.463_529_46, 1e-8);
    assert!(metric(&["convert", "16 psi"]).results.len() > 5);
}

#[test]
fn wrong_use_is_refused_with_what_to_type() {
    refused(&["boil", "--cap", "16"], &["--cap: `16` has no unit", "`16 psi`"]);
    refused(&["boil", "--cap", "12 A"], &["--cap", "electric current, where a gauge pressure is wanted"]);
    refused(
        &["boil", "--cap", "900 psi"],
        &["a cap pressure of 6205 kPa (900 psi) is outside the known range"],
    );
    refused(&["boil", "--cap", "-5 psi"], &["a cap pressure of -34.5 kPa (-5 psi) is outside"]);
    refused(&["boil", "--coolant", "-300 C"], &["--coolant: -300 °C is outside what a temperature can be"]);
    refused(
        &["boil", "--strength", "150%"],
        &["--strength: 150 % is outside what a share can be, 0 % to 100 %"],
    );
    refused(&["boil", "--strength", "0.5"], &["may be a fraction or a per cent"]);
    refused(&["freeze"], &["needs a strength", "--protect", "--gravity", "--refractometer"]);
    refused(&["freeze", "80%"], &["80 % concentrate is stronger than the tables go (60 %)"]);
    refused(&["freeze", "--protect", "-70C"], &["a freezing point of -70 °C (-94 °F) is outside", "-52 °C"]);
    refused(&["freeze", "--gravity", "1.05"], &["--at"]);
    refused(&["mix", "--capacity", "2 gal", "--strength", "50%"], &["`2 gal (US)`", "`2 gal (imp)`"]);
    refused(&["mix", "--capacity", "9.5 L", "--strength", "50%", "--left", "6 L"], &["gives 37 %, not 50 %"]);
    refused(&["mix", "--pour", "2 L"], &["has no `@`"]);
    refused(
        &["drain", "--capacity", "5 L", "--out", "9 L"],
        &["9 L", "cannot come out of a system that holds 5 L"],
    );
    refused(
        &["pulley", "--driver", "0 mm", "--driven", "120mm", "--speed", "800"],
        &["above zero, not 0 mm"],
    );
    refused(
        &["sensor", "--point", "186 ohm @ 20C", "--point", "2.5k @ 100C", "--resistance", "1k"],
        &["must fall"],
    );
    refused(
        &["sensor", "--point", "2.5k @ 20C", "--resistance", "1k"],
        &["two or three points are needed, not 1"],
    );
    refused(&["torque", "M7", "8.8"], &["no torque is known for `M7 8.8`", "`M8 8.8`"]);
    refused(&["convert", "16 pis"], &["`16 pis` is no quantity that is known here", "`16 psi`"]);
    refused(&["convert", "16 psi", "C"], &["UNIT: `C` is a temperature, where a gauge pressure is wanted"]);
    refused(&["convert", "2 gal", "L"], &["`2 gal (US)`"]);
    refused(&["convert", "-300 C", "F"], &["-300 °C is outside what a temperature can be"]);
    refused(&["convert", "1,175 kohm", "ohm"], &["`1175 kohm`", "`1.175 kohm`"]);
    refused(&["convert", "1,100 mbar", "psi"], &["`1100 mbar`", "`1.1 mbar`"]);
    refused(&["convert", "99999999999 km"], &["outside what a road distance can be"]);
    refused(&["convert", "5 K", "--kind", "warmth"], &["`warmth` is not a kind", "temperature-difference"]);
    refused(&["cap"], &["--cap 16psi", "--boil 125C"]);
}

/// The shape that docs/reckon.md promises, for every command.
#[test]
fn json_has_the_documented_shape() {
    for words in [
        &["boil", "--cap", "16psi"][..],
        &["freeze", "50%"],
        &["mix", "--strength", "50%", "--capacity", "9 L"],
        &["cap", "--cap", "1.1 bar"],
        &["drain", "--capacity", "9 L", "--out", "4 L"],
        &["pulley", "--driver", "160mm", "--driven", "120mm", "--speed", "800rpm"],
        &["sensor", "--point", "2.5k @ 20C", "--point", "186 ohm @ 100C", "--resistance", "1k"],
        &["torque", "M8", "8.8"],
        &["convert", "16 psi", "bar"],
    ] {
        let mut out = Vec::new();
        write(&metric(words), true, 80, &mut out).unwrap();
        let line = String::from_utf8(out).unwrap();
        assert_eq!(line.matches('\n').count(), 1, "one line");
        let json: serde_json::Value = serde_json::from_str(&line).unwrap();
        let keys: Vec<&String> = json.as_object().unwrap().keys().collect();
        assert_eq!(keys, ["reckon", "title", "cautions", "given", "results", "meaning", "basis", "sources"]);
        assert_eq!(json["reckon"], words[0]);
        assert!(
            !json["meaning"].as_str().unwrap().is_empty() && !json["sources"].as_array().unwrap().is_empty()
        );
        for row in json["given"].as_array().unwrap().iter().chain(json["results"].as_array().unwrap()) {
            for key in ["name", "label", "unit", "text"] {
                assert!(row[key].is_string(), "{key} in {row}");
            }
            assert!(row["value"].is_number() || row.get("value").is_none());
        }
    }
}

#[test]
fn texts_say_cautions_first_and_both_units() {
    let cap = ["cap", "--cap", "16psi", "--opens", "9psi", "--strength", "50%", "--altitude", "1500 m"];
    insta::assert_snapshot!("cap_metric", text(&cap, UnitSystem::Metric, 80));
    insta::assert_snapshot!("cap_imperial_narrow", text(&cap, UnitSystem::Imperial, 40));
    insta::assert_snapshot!(
        "freeze_hydrometer",
        text(&["freeze", "--gravity", "1.058", "--at", "45C"], UnitSystem::Metric, 80)
    );
    insta::assert_snapshot!(
        "mix_left",
        text(&["mix", "--capacity", "9.5L", "--protect", "-30C", "--left", "3L"], UnitSystem::Metric, 80)
    );
    insta::assert_snapshot!("convert_all", text(&["convert", "16 psi"], UnitSystem::Imperial, 80));
}

proptest! {
    #[test]
    fn no_option_text_panics(value in "\\PC{0,12}", number in -1e4_f64..1e4, unit in 0_usize..8) {
        let typed = format!("{number}{}", ["psi", "C", "%", "L", "mm", "rpm", "ohm", "V"][unit]);
        for text in [value.as_str(), typed.as_str()] {
            for words in [
                ["boil", "--cap", text], ["boil", "--strength", text], ["boil", "--altitude", text], ["boil", "--coolant", text],
                ["freeze", "--protect", text], ["freeze", "--refractometer", text], ["cap", "--boil", text],
                ["mix", "--strength", text], ["mix", "--pour", text], ["torque", text, "8.8"], ["convert", "16 psi", text],
            ] {
                let _ = try_in(UnitSystem::Imperial, &words);
            }
            let _ = try_in(UnitSystem::Metric, &["convert", text]);
            let _ = try_in(UnitSystem::Metric, &["freeze", "--gravity", text, "--at", text]);
            let _ = try_in(UnitSystem::Metric, &["drain", "--capacity", text, "--out", text]);
            let _ = try_in(UnitSystem::Metric, &["pulley", "--driver", text, "--driven", text, "--speed", text]);
            let _ = try_in(UnitSystem::Metric, &["sensor", "--point", text, "--point", text, "--resistance", text]);
        }
    }
}

/// Every console block of docs/reckon.md, through the program itself.
#[test]
fn the_documented_sessions_are_what_the_program_prints() {
    trycmd::TestCases::new().case("docs/reckon.md").run();
}

fn program(words: &[&str]) -> assert_cmd::assert::Assert {
    let home = tempfile::tempdir().unwrap();
    let mut command = assert_cmd::Command::cargo_bin("weephole").unwrap();
    command.env_clear().env("WEEPHOLE_HOME", home.path()).arg("reckon").args(words).assert()
}

#[test]
fn data_goes_to_standard_output_and_refusals_to_standard_error_with_status_2() {
    let done = program(&["freeze", "--protect", "-37C", "--format", "json"]).code(0);
    assert!(done.get_output().stderr.is_empty());
    let json: serde_json::Value = serde_json::from_slice(&done.get_output().stdout).unwrap();
    assert_eq!(json["results"][1]["name"], "freezing-point");
    for words in [
        &["boil", "--cap", "16"][..],
        &["boil", "--coolant", "NaN C"],
        &["convert", "2 gal", "L"],
        &["boil", "--wat"],
        &["mix"],
    ] {
        let refused = program(words).code(2);
        assert!(refused.get_output().stdout.is_empty(), "{words:?}");
        assert!(!refused.get_output().stderr.is_empty(), "{words:?}");
    }
}

#[test]
fn imperial_units_stand_first_when_asked_for() {
    let out = program(&["boil", "--cap", "16 psi", "--units", "imperial"]).code(0);
    let text = String::from_utf8_lossy(&out.get_output().stdout).into_owned();
    assert!(text.contains("boils at          251.6 °F (122 °C)"), "{text}");
}
