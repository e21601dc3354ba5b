//! What people type, what they mean by it, and what they are told when it cannot be meant.

use proptest::prelude::*;
use weephole::units::{Kind, Quantity, Unit, UnitError, UnitSystem, parse_quantity};

#[track_caller]
fn reads(text: &str, kind: Kind, base: f64) {
    let quantity = parse_quantity(text, kind, None).unwrap_or_else(|error| panic!("`{text}`: {error}"));
    let close = (quantity.base() - base).abs() <= 1e-9 * base.abs().max(1.0);
    assert!(close, "`{text}` was read as {} instead of {base}", quantity.base());
}

#[track_caller]
fn refuses(text: &str, kind: Kind, parts: &[&str]) {
    let error = match parse_quantity(text, kind, None) {
        Ok(quantity) => panic!("`{text}` was read as {quantity:?}"),
        Err(error) => error.to_string(),
    };
    for part in parts {
        assert!(error.contains(part), "`{text}`: `{error}` does not say `{part}`");
    }
}

const PSI: f64 = 6.894_757_293_168_361;

#[test]
fn pressures_in_every_unit_of_the_trade() {
    for (text, kpa) in [
        ("16 psi", 16.0 * PSI),
        ("15psi", 15.0 * PSI),
        ("16 PSIG", 16.0 * PSI),
        ("16 lb", 16.0 * PSI),
        ("7 lbs/in²", 7.0 * PSI),
        ("1.1 bar", 110.0),
        ("1,1 bar", 110.0),
        ("1.1bar(g)", 110.0),
        ("110 kPa", 110.0),
        ("110kpa", 110.0),
        ("0.11 MPa", 110.0),
        ("-0.1 bar", -10.0),
        ("\u{2212}5 kPa", -5.0),
        ("1100 mbar", 110.0),
        ("~ 110 kPa", 110.0),
        ("about 16 psi", 16.0 * PSI),
    ] {
        reads(text, Kind::Pressure, kpa);
    }
    reads("14.7 psia", Kind::AbsolutePressure, 14.7 * PSI);
    reads("1013 hPa", Kind::AbsolutePressure, 101.3);
    reads("29.92 inHg", Kind::AbsolutePressure, 29.92 * 3.386_389);
}

#[test]
fn temperatures_and_differences() {
    for (text, celsius) in [
        ("190F", 87.777_777_777_777_78),
        ("190 °F", 87.777_777_777_777_78),
        ("190 deg F", 87.777_777_777_777_78),
        ("190 degrees fahrenheit", 87.777_777_777_777_78),
        ("88 °C", 88.0),
        ("88ºC", 88.0),
        ("88c", 88.0),
        ("88 Celsius", 88.0),
        ("361 K", 87.85),
        ("-37 C", -37.0),
        ("- 37 C", -37.0),
        ("minus 37 C", -37.0),
        ("82,5 C", 82.5),
        ("-459.67 F", -273.15),
        ("0 K", -273.15),
    ] {
        reads(text, Kind::Temperature, celsius);
    }
    for (text, kelvin) in [("2 K", 2.0), ("4 °C", 4.0), ("9 F", 5.0), ("-18 F", -10.0), ("4 deg C", 4.0)] {
        reads(text, Kind::TemperatureDifference, kelvin);
    }
}

#[test]
fn lengths_with_fractions_and_sums() {
    for (text, mm) in [
        ("1/2 in", 12.7),
        ("1/2\"", 12.7),
        ("½ in", 12.7),
        ("1 1/2 in", 38.1),
        ("1-1/2 in", 38.1),
        ("1½\"", 38.1),
        ("1 ½ in", 38.1),
        ("12 mm", 12.0),
        ("0.8mm", 0.8),
        (".8 mm", 0.8),
        ("0,8 mm", 0.8),
        ("5 thou", 0.127),
        ("0.005 in", 0.127),
        ("3 ft", 914.4),
        ("5 ft 6 in", 1676.4),
        ("5'6\"", 1676.4),
        ("1.2 m", 1200.0),
        ("250 µm", 0.25),
        ("1e1 mm", 10.0),
    ] {
        reads(text, Kind::Length, mm);
    }
}

#[test]
fn volumes_name_their_gallon() {
    for (text, litres) in [
        ("2.5 gal (US)", 9.463_529_46),
        ("2.5 US gallons", 9.463_529_46),
        ("2 gal (imp)", 9.092_18),
        ("2 UK gal", 9.092_18),
        ("9.5 L", 9.5),
        ("9,5 litres", 9.5),
        ("500 ml", 0.5),
        ("500cc", 0.5),
        ("1 qt (US)", 0.946_352_946),
        ("1 gal (US) 2 qt (US)", 5.678_117_676),
    ] {
        reads(text, Kind::Volume, litres);
    }
    refuses("2.5 gal", Kind::Volume, &["US or imperial", "`2.5 gal (US)`", "`2.5 gal (imp)`"]);
    refuses("3 quarts", Kind::Volume, &["`3 qt (US)`", "`3 qt (imp)`"]);
    assert_eq!(
        parse_quantity("2 gallons", Kind::Volume, Unit::GALLON_US).unwrap_err().to_string(),
        "`2 gallons` may be US or imperial measure: type `2 gal (US)` or `2 gal (imp)`"
    );
}

#[test]
fn electrics_torque_distance_time() {
    for (text, kind, base) in [
        ("2.5k ohm", Kind::Resistance, 2500.0),
        ("2.5 kΩ", Kind::Resistance, 2500.0),
        ("2.5k", Kind::Resistance, 2500.0),
        ("186 ohm", Kind::Resistance, 186.0),
        ("186 Ω", Kind::Resistance, 186.0),
        ("1 Mohm", Kind::Resistance, 1e6),
        ("20 mohm", Kind::Resistance, 0.02),
        ("0.3 V", Kind::Voltage, 0.3),
        ("300 mV", Kind::Voltage, 0.3),
        ("12 A", Kind::Current, 12.0),
        ("12 amps", Kind::Current, 12.0),
        ("39 Nm", Kind::Torque, 39.0),
        ("39 N·m", Kind::Torque, 39.0),
        ("39 N.m", Kind::Torque, 39.0),
        ("29 ft-lb", Kind::Torque, 39.318_720_501_610_61),
        ("29 lb ft", Kind::Torque, 39.318_720_501_610_61),
        ("120 in-lb", Kind::Torque, 13.558_179_483_314_004),
        ("140000 km", Kind::Distance, 140_000.0),
        ("140,000 km", Kind::Distance, 140_000.0),
        ("140 000 km", Kind::Distance, 140_000.0),
        ("140k km", Kind::Distance, 140_000.0),
        ("87000 mi", Kind::Distance, 140_012.928),
        ("1200 h", Kind::Time, 72_000.0),
        ("1 h 30 min", Kind::Time, 90.0),
        ("30 s", Kind::Time, 0.5),
        ("5 years", Kind::Age, 5.0),
        ("18 months", Kind::Age, 1.5),
        ("1 year 6 months", Kind::Age, 1.5),
        ("1,200 m", Kind::Altitude, 1200.0),
        ("4000 ft", Kind::Altitude, 1219.2),
        ("2500 rpm", Kind::Speed, 2500.0),
        ("2500 1/min", Kind::Speed, 2500.0),
        ("1/4 turn", Kind::Angle, 90.0),
        ("14 L/min", Kind::FlowRate, 14.0),
        ("40 ppm", Kind::Concentration, 40.0),
    ] {
        reads(text, kind, base);
    }
    refuses("140.000.000 km", Kind::Distance, &["140,000,000 km is outside what a road distance can be"]);
}

#[test]
fn shares_and_plain_numbers() {
    for (text, kind, base) in [
        ("50 %", Kind::Ratio, 0.5),
        ("50%", Kind::Ratio, 0.5),
        ("33,3 %", Kind::Ratio, 0.333),
        ("50/50", Kind::Ratio, 0.5),
        ("60/40", Kind::Ratio, 0.6),
        ("1/2", Kind::Ratio, 0.5),
        ("1:2", Kind::Ratio, 1.0 / 3.0),
        ("8.2", Kind::Ph, 8.2),
        ("pH 8.2", Kind::Ph, 8.2),
        ("8,2 pH", Kind::Ph, 8.2),
        ("1.065", Kind::SpecificGravity, 1.065),
        ("SG 1.065", Kind::SpecificGravity, 1.065),
        ("5", Kind::Count, 5.0),
    ] {
        reads(text, kind, base);
    }
    refuses("150 %", Kind::Ratio, &["150 %", "0 %", "100 %"]);
    refuses("15", Kind::Ph, &["15 is outside what a pH can be, 0 to 14"]);
    let asked = parse_quantity("0.5", Kind::Ratio, Unit::PERCENT).unwrap_err().to_string();
    assert_eq!(asked, "`0.5` may be a fraction or a per cent: type `0.5 %`, or `50 %` for the fraction");
    let plain = parse_quantity("50", Kind::Ratio, Unit::PERCENT).unwrap();
    assert!((plain.base() - 0.5).abs() < 1e-12);
}

#[test]
fn rates_over_distance_and_time() {
    reads("0.5 L/1000 km", Kind::LossRate, 0.5);
    reads("1 L in 800 km", Kind::LossRate, 1.25);
    reads("500 ml per 1,000 km", Kind::LossRate, 0.5);
    reads("1 qt (US)/1000 mi", Kind::LossRate, 0.946_352_946 / 1.609_344);
    reads("10 kPa/min", Kind::PressureRate, 10.0);
    reads("2 psi in 5 min", Kind::PressureRate, 2.0 * PSI / 5.0);
    reads("1/2 psi/min", Kind::PressureRate, 0.5 * PSI);
    refuses("10 kPa/km", Kind::PressureRate, &["`km`"]);
    refuses("1 L in 0 km", Kind::LossRate, &["no readable number"]);
    refuses("1 gal/1000 mi", Kind::LossRate, &["(US)", "(imp)"]);
}

#[test]
fn impossible_and_unclear_texts_are_refused_with_advice() {
    refuses("", Kind::Pressure, &["nothing was typed", "`16 psi`"]);
    refuses("hot", Kind::Temperature, &["`hot` has no readable number", "`190 F`"]);
    refuses("NaN C", Kind::Temperature, &["no readable number"]);
    refuses("inf kPa", Kind::Pressure, &["no readable number"]);
    refuses("1e999 kPa", Kind::Pressure, &["finite"]);
    refuses("-300 C", Kind::Temperature, &["-300 °C is outside", "-273.15 °C"]);
    refuses("-500 F", Kind::Temperature, &["-459.67 °F"]);
    refuses("-5 ohm", Kind::Resistance, &["-5 ohm is outside", "0 ohm"]);
    refuses("-2 bar", Kind::Pressure, &["-1.01 bar"]);
    refuses(
        "12 A",
        Kind::Pressure,
        &["is an electric current, where a gauge pressure is wanted", "`1.1 bar`"],
    );
    refuses("14.7 psia", Kind::Pressure, &["is an absolute pressure, where a gauge pressure is wanted"]);
    refuses("16", Kind::Pressure, &["has no unit"]);
    refuses("16 pis", Kind::Pressure, &["`pis` is not a unit of gauge pressure"]);
    refuses("80-90 C", Kind::Temperature, &["more than one figure"]);
    refuses("88 ± 2 C", Kind::Temperature, &["more than one figure"]);
    refuses("1/0 in", Kind::Length, &["no readable number"]);
    refuses("1.2.3 mm", Kind::Length, &["no readable number"]);
    refuses("12,34,56 mm", Kind::Length, &["no readable number"]);
    refuses("\u{1b}[31m12 mm", Kind::Length, &["`[31m12 mm`"]);
    refuses(&"9".repeat(300), Kind::Length, &["…"]);
}

/// A comma before three digits is read where only one reading is possible, and asked about where both are.
#[test]
fn an_unclear_comma_is_never_guessed() {
    reads("1,200 m", Kind::Altitude, 1200.0);
    reads("2,500 rpm", Kind::Speed, 2500.0);
    reads("2,500 ohm", Kind::Resistance, 2500.0);
    reads("1,065", Kind::SpecificGravity, 1.065);
    reads("1,200 bar", Kind::Pressure, 120.0);
    reads("0,500 bar", Kind::Pressure, 50.0);
    reads("1,200.5 mm", Kind::Length, 1200.5);
    reads("1.200,5 mm", Kind::Length, 1200.5);
    reads("1'200 mm", Kind::Length, 1200.0);
    refuses(
        "1,175 kohm",
        Kind::Resistance,
        &["may mark thousands or decimals", "`1175 kohm`", "`1.175 kohm`"],
    );
    refuses("1,250 kPa", Kind::Pressure, &["`1250 kPa`", "`1.25 kPa`"]);
    refuses("-1,100 mbar", Kind::PressureRate, &["is a gauge pressure"]);
    refuses("9,999 L", Kind::Volume, &["`9999 L`", "`9.999 L`"]);
}

#[test]
fn a_bare_number_takes_the_unit_that_was_offered() {
    let cap = parse_quantity("16", Kind::Pressure, Unit::PSI).unwrap();
    assert!((cap.base() - 16.0 * PSI).abs() < 1e-9);
    let hot = parse_quantity("190°", Kind::Temperature, Unit::FAHRENHEIT).unwrap();
    assert!((hot.base() - 87.777_777_777_8).abs() < 1e-9);
    // A unit of another kind is never taken.
    assert!(matches!(parse_quantity("16", Kind::Pressure, Unit::CELSIUS), Err(UnitError::NoUnit { .. })));
}

#[test]
fn values_are_shown_with_sensible_digits_in_both_systems() {
    for (text, kind, metric, imperial) in [
        ("16 psi", Kind::Pressure, "110 kPa", "16 psi"),
        ("121.04 C", Kind::Temperature, "121 °C", "249.9 °F"),
        ("0.8 mm", Kind::Length, "0.8 mm", "0.0315 in"),
        ("9.5 L", Kind::Volume, "9.5 L", "2.51 gal (US)"),
        ("500 ml", Kind::Volume, "0.5 L", "16.9 fl oz (US)"),
        ("2.5 kohm", Kind::Resistance, "2.5 kohm", "2.5 kohm"),
        ("140000 km", Kind::Distance, "140,000 km", "86,992 mi"),
        ("5 K", Kind::TemperatureDifference, "5 K", "9 F°"),
        ("50 %", Kind::Ratio, "50 %", "50 %"),
        ("1.0654", Kind::SpecificGravity, "1.065", "1.065"),
        ("18 months", Kind::Age, "1.5 years", "1.5 years"),
        ("6 months", Kind::Age, "6 months", "6 months"),
        ("1200 h", Kind::Time, "1200 h", "1200 h"),
        ("39 Nm", Kind::Torque, "39 N·m", "28.8 ft-lb"),
        ("1000 m", Kind::Altitude, "1000 m", "3281 ft"),
    ] {
        let quantity = parse_quantity(text, kind, None).unwrap();
        assert_eq!(quantity.display(UnitSystem::Metric), metric, "{text}");
        assert_eq!(quantity.display(UnitSystem::Imperial), imperial, "{text}");
    }
}

#[test]
fn kinds_and_units_have_names_that_lead_back_to_them() {
    for kind in Kind::ALL {
        assert_eq!(Kind::parse(kind.name()), Some(kind));
    }
    for unit in Unit::ALL.iter().filter(|unit| !unit.symbol().is_empty()) {
        assert_eq!(Unit::parse(unit.symbol(), unit.kind()), Ok(*unit), "{unit:?}");
    }
    let wrong = Unit::parse("psi", Kind::Temperature).unwrap_err().to_string();
    assert!(wrong.contains("gauge pressure, where a temperature is wanted"), "{wrong}");
}

#[test]
fn every_spelling_belongs_to_one_unit_of_its_kind() {
    for (i, unit) in Unit::ALL.iter().enumerate() {
        for other in &Unit::ALL[i + 1..] {
            assert_ne!(unit, other, "two units share their first name and kind");
        }
    }
}

fn any_kind() -> impl Strategy<Value = Kind> {
    proptest::sample::select(Kind::ALL.to_vec())
}

proptest! {
    #[test]
    fn no_text_panics(text in "\\PC{0,40}", kind in any_kind()) {
        let _ = parse_quantity(&text, kind, kind.unit(UnitSystem::Imperial));
    }

    #[test]
    fn no_text_made_of_likely_pieces_panics(
        pieces in proptest::collection::vec(
            proptest::sample::select(vec!["1", "23", "000", ",", ".", "/", " ", "-", "½", "e", "in", "ft", "\"", "'",
                "psi", "k", "ohm", "Ω", "°", "F", "%", ":", " per ", " in ", "min", "L", "gal", "(US)", "\u{a0}", "~", "pH", "é"]),
            0..9),
        kind in any_kind(),
    ) {
        let _ = parse_quantity(&pieces.concat(), kind, kind.unit(UnitSystem::Metric));
    }

    #[test]
    fn what_is_shown_reads_back_as_the_same(kind in any_kind(), share in 0.0_f64..1.0, power in -6.0_f64..0.0,
                                            imperial in proptest::bool::ANY) {
        let system = if imperial { UnitSystem::Imperial } else { UnitSystem::Metric };
        let (low, high) = kind.limits();
        let spread = (high - low) * 10_f64.powf(power);
        let base = low.max(0.0_f64.min(high)) + share * spread;
        let Ok(quantity) = Quantity::new(base.min(high), kind.base_unit()) else { return Ok(()) };
        let shown = quantity.display(system);
        let again = parse_quantity(&shown, kind, None).map_err(|e| TestCaseError::fail(format!("`{shown}`: {e}")))?;
        let unit = quantity.fitting_unit(system);
        let (was, is) = (quantity.value_in(unit).unwrap(), again.value_in(unit).unwrap());
        // Three significant digits, or the digits the unit allows: 0.05 °C, 0.5 r/min, 0.5 m.
        prop_assert!((was - is).abs() <= 0.006 * was.abs() + 0.51, "{shown}: {was} {is}");
    }

    #[test]
    fn units_convert_there_and_back(index in 0..Unit::ALL.len(), value in -1e6_f64..1e6) {
        let unit = Unit::ALL[index];
        let back = unit.of_base(unit.to_base(value));
        prop_assert!((back - value).abs() <= 1e-9 * value.abs().max(600.0));
    }

    #[test]
    fn temperature_differences_are_never_offset(a in -40.0_f64..150.0, d in -50.0_f64..50.0) {
        let at = |c: f64| Quantity::new(c, Unit::CELSIUS).unwrap().value_in(Unit::FAHRENHEIT).unwrap();
        let step = Quantity::new(d, Unit::KELVINS).unwrap().value_in(Unit::FAHRENHEIT_DEGREES).unwrap();
        prop_assert!((at(a + d) - at(a) - step).abs() < 1e-9);
    }
}
