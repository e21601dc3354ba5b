//! Every unit the program reads and writes, in one table. Factors are exact by definition where a definition
//! exists: inch 25.4 mm, pound-force 4.4482216152605 N, US gallon 3.785411784 L, imperial gallon 4.54609 L
//! (NIST SP 811, appendix B).

use super::Kind;

/// How a value is rounded for people.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Digits {
    /// At most this many digits behind the point.
    Fixed(usize),
    /// At least this many digits that carry meaning; digits before the point are never rounded away.
    Significant(usize),
}

/// One row of the table.
#[derive(Debug)]
pub(super) struct Spec {
    pub kind: Kind,
    /// What is printed behind the number; empty for plain numbers.
    pub symbol: &'static str,
    /// Base units in one of this unit.
    pub factor: f64,
    /// Base value at zero of this unit.
    pub offset: f64,
    pub digits: Digits,
    /// Spellings, already squeezed (see `squeeze`), case kept where case tells units apart.
    pub names: &'static [&'static str],
}

/// A unit of one kind: it has a symbol, and turns numbers into base values and back.
#[derive(Clone, Copy)]
pub struct Unit(pub(super) &'static Spec);

macro_rules! units {
    ($($(#[$doc:meta])* $id:ident: $kind:ident, $symbol:literal, $factor:expr, $offset:expr, $digits:expr, [$($name:literal),* $(,)?];)*) => {
        impl Unit {
            $(
                $(#[$doc])*
                pub const $id: Unit = Unit(&Spec {
                    kind: Kind::$kind,
                    symbol: $symbol,
                    factor: $factor,
                    offset: $offset,
                    digits: $digits,
                    names: &[$($name),*],
                });
            )*

            /// Every unit, in the order of the table.
            pub const ALL: &'static [Unit] = &[$(Unit::$id),*];
        }
    };
}

const PSI: f64 = 6.894_757_293_168_361;
const GALLON: f64 = 3.785_411_784;
const GALLON_IMPERIAL: f64 = 4.546_09;
const MILE: f64 = 1.609_344;
const FOOT_POUND: f64 = 1.355_817_948_331_400_4;
const MINUTES_A_YEAR: f64 = 525_960.0;

use Digits::{Fixed, Significant};

units! {
    /// °C.
    CELSIUS: Temperature, "°C", 1.0, 0.0, Fixed(1), ["c", "celsius", "centigrade", "degc", "celcius"];
    /// °F.
    FAHRENHEIT: Temperature, "°F", 5.0 / 9.0, -160.0 / 9.0, Fixed(1), ["f", "fahrenheit", "degf", "farenheit"];
    /// Kelvin as a temperature.
    KELVIN: Temperature, "K", 1.0, -273.15, Fixed(1), ["k", "kelvin", "degk"];

    /// Kelvin as a difference.
    KELVINS: TemperatureDifference, "K", 1.0, 0.0, Fixed(1), ["k", "kelvin", "kelvins", "degk", "c", "celsius", "degc"];
    /// Fahrenheit degrees as a difference.
    FAHRENHEIT_DEGREES: TemperatureDifference, "F°", 5.0 / 9.0, 0.0, Fixed(1), ["f", "fahrenheit", "degf", "fdeg"];

    /// Kilopascals above the surrounding air.
    KPA: Pressure, "kPa", 1.0, 0.0, Significant(3), ["kpa", "kpag", "kpagauge", "kilopascal", "kilopascals"];
    /// bar above the surrounding air.
    BAR: Pressure, "bar", 100.0, 0.0, Significant(3), ["bar", "bars", "barg", "bargauge", "atu"];
    /// Pounds per square inch above the surrounding air.
    PSI: Pressure, "psi", PSI, 0.0, Significant(3),
        ["psi", "psig", "psigauge", "lb", "lbs", "pound", "pounds", "lb/in2", "lbs/in2", "lbf/in2", "lb/sqin", "lbpersqin", "#"];
    /// mbar above the surrounding air.
    MILLIBAR: Pressure, "mbar", 0.1, 0.0, Significant(3), ["mbar", "millibar", "hpa"];
    /// Megapascals above the surrounding air.
    MPA: Pressure, "MPa", 1000.0, 0.0, Significant(3), ["mpa", "megapascal"];
    /// Pa above the surrounding air.
    PASCAL: Pressure, "Pa", 0.001, 0.0, Significant(3), ["pa", "pascal", "pascals"];
    /// Technical atmosphere (kilogram-force per square centimetre) above the surrounding air.
    KGF_PER_CM2: Pressure, "kgf/cm²", 98.0665, 0.0, Significant(3), ["kgf/cm2", "kg/cm2", "kp/cm2", "kgcm2"];
    /// Inches of mercury above the surrounding air; negative is vacuum.
    INCH_MERCURY: Pressure, "inHg", 3.386_389, 0.0, Significant(3), ["inhg", "inchhg", "inchesofmercury", "\"hg"];
    /// Millimetres of mercury above the surrounding air.
    MILLIMETRE_MERCURY: Pressure, "mmHg", 0.133_322_387_415, 0.0, Significant(3), ["mmhg", "torr"];
    /// Inches of water above the surrounding air.
    INCH_WATER: Pressure, "inH2O", 0.249_088_91, 0.0, Significant(3), ["inh2o", "inwc", "inchesofwater"];

    /// Kilopascals absolute.
    KPA_ABSOLUTE: AbsolutePressure, "kPa abs", 1.0, 0.0, Significant(4), ["kpa", "kpaa", "kpaabs", "kpaabsolute"];
    /// bar absolute.
    BAR_ABSOLUTE: AbsolutePressure, "bar abs", 100.0, 0.0, Significant(4), ["bar", "bara", "barabs", "barabsolute"];
    /// Pounds per square inch absolute.
    PSI_ABSOLUTE: AbsolutePressure, "psia", PSI, 0.0, Significant(4), ["psi", "psia", "psiabs", "psiabsolute"];
    /// Hectopascals (mbar) absolute.
    HPA_ABSOLUTE: AbsolutePressure, "hPa abs", 0.1, 0.0, Significant(4), ["hpa", "mbar", "hpaabs", "mbarabs", "millibar"];
    /// Megapascals absolute.
    MPA_ABSOLUTE: AbsolutePressure, "MPa abs", 1000.0, 0.0, Significant(4), ["mpa", "mpaa", "mpaabs"];
    /// Inches of mercury absolute, as a barometer shows it.
    INCH_MERCURY_ABSOLUTE: AbsolutePressure, "inHg abs", 3.386_389, 0.0, Significant(4), ["inhg", "inhgabs"];
    /// Millimetres of mercury absolute.
    MILLIMETRE_MERCURY_ABSOLUTE: AbsolutePressure, "mmHg abs", 0.133_322_387_415, 0.0, Significant(4), ["mmhg", "mmhgabs", "torr"];
    /// Standard atmospheres absolute.
    ATMOSPHERE: AbsolutePressure, "atm", 101.325, 0.0, Significant(4), ["atm", "atmosphere", "atmospheres"];

    /// mm.
    MILLIMETRE: Length, "mm", 1.0, 0.0, Significant(3), ["mm", "millimetre", "millimetres", "millimeter", "millimeters"];
    /// cm.
    CENTIMETRE: Length, "cm", 10.0, 0.0, Significant(3), ["cm", "centimetre", "centimetres", "centimeter", "centimeters"];
    /// m.
    METRE: Length, "m", 1000.0, 0.0, Significant(3), ["m", "metre", "metres", "meter", "meters"];
    /// µm.
    MICROMETRE: Length, "µm", 0.001, 0.0, Significant(3), ["um", "micron", "microns", "micrometre", "micrometer"];
    /// inch.
    INCH: Length, "in", 25.4, 0.0, Significant(3), ["in", "inch", "inches", "\""];
    /// foot.
    FOOT: Length, "ft", 304.8, 0.0, Significant(3), ["ft", "foot", "feet", "'"];
    /// A thousandth of an inch.
    THOU: Length, "thou", 0.0254, 0.0, Significant(3), ["thou", "mil", "mils"];

    /// m above sea level.
    METRE_ALTITUDE: Altitude, "m", 1.0, 0.0, Fixed(0), ["m", "metre", "metres", "meter", "meters", "masl"];
    /// km above sea level.
    KILOMETRE_ALTITUDE: Altitude, "km", 1000.0, 0.0, Significant(3), ["km"];
    /// ft above sea level.
    FOOT_ALTITUDE: Altitude, "ft", 0.3048, 0.0, Fixed(0), ["ft", "foot", "feet", "'"];

    /// km.
    KILOMETRE: Distance, "km", 1.0, 0.0, Significant(3), ["km", "kilometre", "kilometres", "kilometer", "kilometers", "kms"];
    /// mile.
    MILE: Distance, "mi", MILE, 0.0, Significant(3), ["mi", "mile", "miles"];

    /// L.
    LITRE: Volume, "L", 1.0, 0.0, Significant(3), ["l", "litre", "litres", "liter", "liters", "ltr", "dm3"];
    /// ml.
    MILLILITRE: Volume, "ml", 0.001, 0.0, Significant(3), ["ml", "cc", "cm3", "millilitre", "millilitres", "milliliter", "milliliters"];
    /// cl.
    CENTILITRE: Volume, "cl", 0.01, 0.0, Significant(3), ["cl"];
    /// dl.
    DECILITRE: Volume, "dl", 0.1, 0.0, Significant(3), ["dl"];
    /// US gallon.
    GALLON_US: Volume, "gal (US)", GALLON, 0.0, Significant(3),
        ["galus", "gallonus", "gallonsus", "usgal", "usgallon", "usgallons", "galsus", "usgals", "galusa"];
    /// US quart.
    QUART_US: Volume, "qt (US)", GALLON / 4.0, 0.0, Significant(3), ["qtus", "qtsus", "quartus", "quartsus", "usqt", "usqts", "usquart", "usquarts"];
    /// US pint.
    PINT_US: Volume, "pt (US)", GALLON / 8.0, 0.0, Significant(3), ["ptus", "ptsus", "pintus", "pintsus", "uspt", "uspint", "uspints"];
    /// US fluid ounce.
    FLUID_OUNCE_US: Volume, "fl oz (US)", GALLON / 128.0, 0.0, Significant(3), ["flozus", "ozus", "usfloz", "usoz"];
    /// Imperial gallon.
    GALLON_IMPERIAL: Volume, "gal (imp)", GALLON_IMPERIAL, 0.0, Significant(3),
        ["galimp", "gallonimp", "gallonsimp", "impgal", "impgallon", "impgallons", "imperialgallon", "imperialgallons",
         "galuk", "gallonuk", "gallonsuk", "ukgal", "ukgallon", "ukgallons", "galsimp", "galimperial", "gallonsimperial"];
    /// Imperial quart.
    QUART_IMPERIAL: Volume, "qt (imp)", GALLON_IMPERIAL / 4.0, 0.0, Significant(3), ["qtimp", "quartimp", "quartsimp", "impqt", "impquart", "impquarts", "qtuk", "ukqt", "ukquarts"];
    /// Imperial pint.
    PINT_IMPERIAL: Volume, "pt (imp)", GALLON_IMPERIAL / 8.0, 0.0, Significant(3), ["ptimp", "pintimp", "pintsimp", "imppt", "imppint", "imppints", "ptuk", "ukpint", "ukpints"];
    /// Imperial fluid ounce.
    FLUID_OUNCE_IMPERIAL: Volume, "fl oz (imp)", GALLON_IMPERIAL / 160.0, 0.0, Significant(3), ["flozimp", "ozimp", "impfloz", "flozuk", "ukfloz"];

    /// min.
    MINUTE: Time, "min", 1.0, 0.0, Significant(3), ["min", "mins", "minute", "minutes"];
    /// s.
    SECOND: Time, "s", 1.0 / 60.0, 0.0, Significant(3), ["s", "sec", "secs", "second", "seconds"];
    /// h.
    HOUR: Time, "h", 60.0, 0.0, Significant(3), ["h", "hr", "hrs", "hour", "hours"];
    /// Day of 24 hours.
    DAY: Time, "days", 1440.0, 0.0, Significant(3), ["d", "day", "days"];
    /// Week of seven days.
    WEEK: Time, "weeks", 10_080.0, 0.0, Significant(3), ["wk", "week", "weeks"];
    /// A twelfth of a year of 365.25 days.
    MONTH: Time, "months", MINUTES_A_YEAR / 12.0, 0.0, Significant(3), ["month", "months", "mo"];
    /// Year of 365.25 days.
    YEAR: Time, "years", MINUTES_A_YEAR, 0.0, Significant(3), ["year", "years", "yr", "yrs", "y"];

    /// Years of age.
    YEAR_AGE: Age, "years", 1.0, 0.0, Significant(3), ["year", "years", "yr", "yrs", "y", "yearsold", "yearold"];
    /// Months of age.
    MONTH_AGE: Age, "months", 1.0 / 12.0, 0.0, Significant(3), ["month", "months", "mo", "monthsold"];
    /// Weeks of age.
    WEEK_AGE: Age, "weeks", 7.0 / 365.25, 0.0, Significant(3), ["wk", "week", "weeks"];
    /// Days of age.
    DAY_AGE: Age, "days", 1.0 / 365.25, 0.0, Significant(3), ["d", "day", "days"];

    /// V.
    VOLT: Voltage, "V", 1.0, 0.0, Significant(3), ["v", "volt", "volts", "vdc", "vac"];
    /// mV.
    MILLIVOLT: Voltage, "mV", 0.001, 0.0, Significant(3), ["mv", "millivolt", "millivolts"];

    /// A.
    AMPERE: Current, "A", 1.0, 0.0, Significant(3), ["a", "amp", "amps", "ampere", "amperes"];
    /// mA.
    MILLIAMPERE: Current, "mA", 0.001, 0.0, Significant(3), ["ma", "milliamp", "milliamps"];

    /// ohm.
    OHM: Resistance, "ohm", 1.0, 0.0, Significant(3), ["ohm", "ohms", "r"];
    /// kilo-ohm.
    KILO_OHM: Resistance, "kohm", 1000.0, 0.0, Significant(3), ["kohm", "kohms", "k", "kiloohm", "kiloohms", "kilohm", "kilohms"];
    /// Mega-ohm: written with a capital M, for a small one is a thousandth.
    MEGA_OHM: Resistance, "Mohm", 1e6, 0.0, Significant(3), ["Mohm", "Mohms", "M", "megohm", "megohms", "megaohm", "megaohms"];
    /// Milli-ohm.
    MILLI_OHM: Resistance, "mohm", 0.001, 0.0, Significant(3), ["mohm", "mohms", "milliohm", "milliohms"];

    /// N·m.
    NEWTON_METRE: Torque, "N·m", 1.0, 0.0, Significant(3), ["nm", "newtonmetre", "newtonmetres", "newtonmeter", "newtonmeters", "n/m"];
    /// Foot-pound (force).
    FOOT_POUND: Torque, "ft-lb", FOOT_POUND, 0.0, Significant(3),
        ["ftlb", "ftlbs", "lbft", "lbsft", "ftlbf", "lbfft", "footpound", "footpounds", "poundfoot", "poundfeet", "lb/ft", "ft/lb", "ft/lbs", "footlb", "footlbs"];
    /// Inch-pound (force).
    INCH_POUND: Torque, "in-lb", FOOT_POUND / 12.0, 0.0, Significant(3),
        ["inlb", "inlbs", "lbin", "lbsin", "inlbf", "lbfin", "inchpound", "inchpounds", "poundinch", "poundinches", "in/lb", "in/lbs", "inchlb", "inchlbs"];
    /// Kilogram-force metre.
    KILOGRAM_METRE: Torque, "kgf·m", 9.806_65, 0.0, Significant(3), ["kgm", "kgfm", "kpm", "mkg", "mkp"];

    /// Revolutions a minute.
    RPM: Speed, "rpm", 1.0, 0.0, Fixed(0), ["rpm", "r/min", "rev/min", "revs", "revs/min", "1/min", "min1", "revolutionsperminute"];

    /// Degrees of angle.
    DEGREE_ANGLE: Angle, "degrees", 1.0, 0.0, Significant(3), ["deg", "degree", "degrees", "degs"];
    /// Turns.
    TURN: Angle, "turn", 360.0, 0.0, Significant(3), ["turn", "turns", "rev", "revolution", "revolutions"];

    /// Share as a fraction of one; shown in per cent.
    FRACTION: Ratio, "", 1.0, 0.0, Significant(3), ["fraction", "share"];
    /// Per cent.
    PERCENT: Ratio, "%", 0.01, 0.0, Fixed(1), ["%", "percent", "pct", "procent"];

    /// Specific gravity.
    SPECIFIC_GRAVITY: SpecificGravity, "", 1.0, 0.0, Fixed(3), ["sg", "kg/l", "g/ml", "g/cm3", "g/cc"];
    /// pH.
    PH: Ph, "", 1.0, 0.0, Fixed(1), ["ph"];

    /// mg/L, which is ppm in thin water.
    MG_PER_LITRE: Concentration, "mg/L", 1.0, 0.0, Significant(3), ["mg/l", "ppm", "mg/kg"];
    /// Grains per US gallon.
    GRAIN_PER_GALLON: Concentration, "gr/gal (US)", 64.798_91 / GALLON, 0.0, Significant(3), ["gr/galus", "gpg", "grain", "grains", "grains/galus"];

    /// L/min.
    LITRE_PER_MINUTE: FlowRate, "L/min", 1.0, 0.0, Significant(3), ["l/min", "lpm"];
    /// US gallons a minute.
    GALLON_US_PER_MINUTE: FlowRate, "gal (US)/min", GALLON, 0.0, Significant(3), ["galus/min", "usgpm", "gpmus", "usgal/min"];

    /// L lost over 1,000 km.
    LITRE_PER_1000_KM: LossRate, "L/1000 km", 1.0, 0.0, Significant(3), ["l/1000km"];
    /// US quarts lost over 1,000 miles.
    QUART_US_PER_1000_MILES: LossRate, "qt (US)/1000 mi", GALLON / 4.0 / MILE, 0.0, Significant(3), ["qtus/1000mi", "usqt/1000mi"];

    /// Kilopascals a minute.
    KPA_PER_MINUTE: PressureRate, "kPa/min", 1.0, 0.0, Significant(3), ["kpa/min"];
    /// psi a minute.
    PSI_PER_MINUTE: PressureRate, "psi/min", PSI, 0.0, Significant(3), ["psi/min"];

    /// A plain number.
    COUNT: Count, "", 1.0, 0.0, Significant(3), ["times", "x", "bubbles", "pieces"];
}
