//! The coolant sheet and torques against published figures (facts.md, sections 2 and 3, names the sources).

use weephole::physics::dilution;
use weephole::plan::fluids::{Dirt, Fluids, Known, fluids};
use weephole::plan::work::torque_of;
use weephole::rulebook::entries::{BoltInto, Fastening, StatedTorque, Vehicle};
use weephole::units::UnitSystem;

fn vehicle(capacity: &str, drains: &str, coldest: &str) -> Vehicle {
    let mut vehicle = Vehicle::default();
    vehicle.coolant.kind = Some("ethylene-glycol".to_owned());
    vehicle.coolant.capacity = Some(capacity.to_owned());
    vehicle.coolant.drains = Some(drains.to_owned());
    vehicle.coldest = Some(coldest.to_owned());
    vehicle.ratings.cap = Some("15 psi".to_owned());
    vehicle.ratings.thermostat_full = Some("95 °C".to_owned());
    vehicle
}

fn sheet(vehicle: &Vehicle, flush: Option<Dirt>) -> Fluids {
    let known = Known { flush: flush.map(|dirt| (dirt, "seen".to_owned())), strength: None };
    fluids(vehicle, &known, UnitSystem::Metric).unwrap()
}

/// One gallon of concentrate and one of water fill an empty two-gallon system with 50/50 (common practice; facts.md:
/// one of water, one of concentrate and one of 50/50 make three of 50/50).
#[test]
fn a_gallon_of_each_makes_two_of_fifty_fifty() {
    // 32 °C below is what a 50 % mix stands with 5 degrees in hand: -37 °C (makers' tables, read).
    let sheet = sheet(&vehicle("2 gal (US)", "2 gal (US)", "-32 °C"), None);
    let gallon = 3.785_411_784;
    assert!((sheet.wanted - 0.50).abs() < 1e-9, "wanted {}", sheet.wanted);
    assert!((sheet.concentrate - gallon).abs() < 1e-6);
    assert!((sheet.water - gallon).abs() < 1e-6);
    let (litres, share) = dilution::blend(&[(gallon, 1.0), (gallon, 0.0), (gallon, 0.5)]).unwrap();
    assert!((litres - 3.0 * gallon).abs() < 1e-9 && (share - 0.5).abs() < 1e-12);
}

/// Ethylene-glycol concentrate by volume, makers' tables (read): 40 % -24 °C, 50 % -37 °C, 60 % -52 °C. The weakest
/// mix with 5 degrees in hand, never below 40 %.
#[test]
fn strength_follows_the_makers_tables() {
    for (coldest, wanted, freezes) in
        [("-5 °C", 0.40, -24.0), ("-19 °C", 0.40, -24.0), ("-32 °C", 0.50, -37.0), ("-47 °C", 0.60, -52.0)]
    {
        let sheet = sheet(&vehicle("10 L", "10 L", coldest), None);
        assert!((sheet.wanted - wanted).abs() < 1e-9, "{coldest}: wanted {}", sheet.wanted);
        assert!((sheet.freezes - freezes).abs() < 0.1, "{coldest}: freezes {}", sheet.freezes);
    }
}

/// 50 % under 15 psi at sea level: 128 to 129.5 °C in the trade, 129.7 computed; water under 15 psi 121.0 °C
/// (IAPWS-IF97, computed). Tolerance 2 °C for the mix as facts.md states, 0.1 °C for water.
#[test]
fn boiling_follows_the_published_figures() {
    let sheet = sheet(&vehicle("10 L", "10 L", "-32 °C"), None);
    assert!((sheet.boils - 129.0).abs() < 2.0, "{}", sheet.boils);
    assert!((sheet.water_boils - 121.0).abs() < 0.1, "{}", sheet.water_boils);
    assert!((sheet.margin - (sheet.boils - 95.0)).abs() < 1e-9);
}

/// At 2,000 m a 15 psi cap lets water boil at 117.4 °C (ISO 2533 and IF97, computed).
#[test]
fn the_altitude_counts() {
    let mut high = vehicle("10 L", "10 L", "-20 °C");
    high.altitude = Some("2000 m".to_owned());
    let sheet = sheet(&high, None);
    assert!((sheet.water_boils - 117.4).abs() < 0.1, "{}", sheet.water_boils);
}

/// Draining and filling that keeps the fraction r leaves r^n after n times (facts.md). With 40 % kept, three drainings
/// leave 6.4 %, four 2.56 %: rusty coolant (at most 5 %) asks for three fills after the first draining.
#[test]
fn flushing_rounds_follow_r_to_the_n() {
    let vehicle = vehicle("10 L", "6 L", "-20 °C");
    let flushed = sheet(&vehicle, Some(Dirt::Rusty));
    let flush = flushed.flush.unwrap();
    assert!((flush.keeps - 0.4).abs() < 1e-9);
    assert_eq!(flush.rounds, 3);
    assert!((flush.left - 0.4_f64.powi(4)).abs() < 1e-12);
    // Four drainings of 6 L to be caught.
    assert!((flushed.waste - 24.0).abs() < 1e-9);
    let once = sheet(&vehicle, Some(Dirt::Old)).flush.unwrap();
    assert_eq!(once.rounds, 2, "0.4^2 is 16 %, 0.4^3 is 6.4 %: under 10 % after two fills");
}

/// After a flush, what stays is water, and the fill makes up for it: the balance closes.
#[test]
fn what_stays_behind_is_counted() {
    let sheet = sheet(&vehicle("10 L", "6 L", "-20 °C"), Some(Dirt::Old));
    assert!((sheet.stays - 4.0).abs() < 1e-9);
    assert!((sheet.concentrate + sheet.water + sheet.stays - 10.0).abs() < 1e-9);
    assert!((sheet.concentrate / 10.0 - sheet.wanted).abs() < 1e-9);
    // A 50/50 premix into 4 L of water: 3 L of concentrate in 10 L.
    assert!((sheet.premix.0 - 0.30).abs() < 1e-9);
    assert!(!sheet.premix_will_do, "30 % does not stand -20 °C");
}

/// The wanted strength cannot be had in one filling when more water stays than it allows.
#[test]
fn too_much_water_left_is_said() {
    let sheet = sheet(&vehicle("10 L", "3 L", "-40 °C"), Some(Dirt::Old));
    assert!((sheet.reached - 0.3).abs() < 1e-9);
    assert!(sheet.notes.iter().any(|note| note.contains("too much water stays")), "{:?}", sheet.notes);
}

#[test]
fn bottles_hold_what_is_poured() {
    for (capacity, drains) in [("10 L", "6 L"), ("15 L", "9.5 L"), ("6.8 L", "4.5 L")] {
        let sheet = sheet(&vehicle(capacity, drains, "-20 °C"), None);
        for packs in &sheet.buy {
            let bought: f64 = packs.packs.iter().map(|&(count, litres)| f64::from(count) * litres).sum();
            let needed = if packs.what.contains("concentrate") { sheet.concentrate } else { sheet.water };
            assert!(bought >= needed - 1e-9 && bought < needed + 5.0, "{bought} bought for {needed}");
        }
    }
}

/// Published table on the basis of SAE J1701 (read), with the 20 % band either way: 5/16 in grade 5 26 N·m, M8 8.8
/// into aluminium 20 N·m.
#[test]
fn torque_bands_follow_the_published_table() {
    let bolt = |size: &str, grade: &str, into| Fastening {
        what: "bolts".to_owned(),
        size: Some(size.to_owned()),
        grade: Some(grade.to_owned()),
        into: Some(into),
        ..Fastening::default()
    };
    for (size, grade, into, printed) in [
        ("5/16 in", "grade 5", BoltInto::Iron, 26.0),
        ("3/8 in", "grade 5", BoltInto::Iron, 47.0),
        ("M6", "8.8", BoltInto::Aluminium, 9.0),
        ("M8", "8.8", BoltInto::Aluminium, 20.0),
        ("M10", "8.8", BoltInto::Iron, 39.0),
    ] {
        let torque = torque_of(&bolt(size, grade, into));
        let (low, high) = torque.band.unwrap();
        assert!(
            (low - printed * 0.8).abs() < 1e-9 && (high - printed * 1.2).abs() < 1e-9,
            "{size}: {low} to {high}"
        );
        assert!(
            torque.source.contains("SAE J1701") && torque.source.contains("maker's figure"),
            "{}",
            torque.source
        );
    }
    let stated = Fastening {
        torque: Some(StatedTorque {
            value: "16 ft·lb".to_owned(),
            source: "the maker's book, page 12".to_owned(),
        }),
        ..bolt("M8", "8.8", BoltInto::Iron)
    };
    let torque = torque_of(&stated);
    // 1 ft·lb is 1.3558 N·m (exact definitions of foot and pound-force).
    assert!((torque.band.unwrap().0 - 16.0 * 1.355_817_948).abs() < 1e-6);
    assert_eq!(torque.source, "the maker's book, page 12");
    let unknown = torque_of(&Fastening { what: "wheel bolts".to_owned(), ..Fastening::default() });
    assert!(unknown.band.is_none() && unknown.source.contains("maker"));
}
