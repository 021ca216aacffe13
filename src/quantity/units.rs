//! The table of units. A unit is added here and nowhere else: one row.
//!
//! Every factor is exact, from the definition named beside it. The abbreviations: SI is the SI
//! Brochure (BIPM, 9th edition); IYP the international yard and pound agreement of 1959 (yard
//! 0.9144 m, pound 0.45359237 kg); GN the standard gravity 9.80665 m/s² of the 3rd CGPM (1901).

use super::kind::KindName::{self, *};
use super::number::Number;
use super::unit::{Refused, Unit};

/// A unit whose zero is the zero of its kind.
const fn unit(
    symbol: &'static str,
    spellings: &'static [&'static str],
    kind: KindName,
    ucum: &'static str,
    factor: (i128, i128),
    source: &'static str,
) -> Unit {
    point(symbol, spellings, kind, ucum, factor, source, ((0, 1), ""))
}

/// A unit of a point on a scale: where its zero lies, and the unit of a difference.
const fn point(
    symbol: &'static str,
    spellings: &'static [&'static str],
    kind: KindName,
    ucum: &'static str,
    factor: (i128, i128),
    source: &'static str,
    (offset, difference): ((i128, i128), &'static str),
) -> Unit {
    let factor = Number::exact(factor.0, factor.1);
    let offset = Number::exact(offset.0, offset.1);
    Unit { symbol, spellings, kind, ucum, factor, offset, difference, source }
}

const SI: &str = "SI";
const PREFIX: &str = "SI prefix";
const POUND_FORCE: &str = "IYP pound × GN";
const POUND_INCH: &str = "IYP pound × GN, IYP inch";
const KILOGRAM_FORCE: &str = "kilogram × GN";

/// Factors of pound-force, and of pound-force per square inch, to newton and pascal.
const LBF: (i128, i128) = (8_896_443_230_521, 2_000_000_000_000);
const PSI: (i128, i128) = (8_896_443_230_521, 1_290_320_000);
/// A gallon of 231 cubic inches, and the imperial one, in cubic metres times 10^12 and 10^8.
const US_GALLON: i128 = 473_176_473;
const IMPERIAL_GALLON: i128 = 454_609;

/// Every unit.
pub static UNITS: &[Unit] = &[
    // Torque.
    unit(
        "Nm",
        &["Nm", "N·m", "N.m", "N m", "N*m", "N-m", "newton metre", "newton metres"],
        Torque,
        "N.m",
        (1, 1),
        SI,
    ),
    unit(
        "lbf·ft",
        &[
            "lbf·ft", "lbf.ft", "lbf ft", "lbf-ft", "lbf*ft", "lbfft", "ft·lbf", "ft.lbf", "ft lbf",
            "ft-lbf", "ftlbf", "lb·ft", "lb.ft", "lb ft", "lb-ft", "lbft", "ft·lb", "ft.lb", "ft lb",
            "ft-lb", "ftlb", "ft lbs", "ft-lbs", "lbs ft",
        ],
        Torque,
        "[lbf_av].[ft_i]",
        (3_389_544_870_828_501, 2_500_000_000_000_000),
        "IYP pound × GN, IYP foot",
    ),
    unit(
        "kgf·m",
        &["kgf·m", "kgf.m", "kgf m", "kgf-m", "kgf*m", "kgfm", "m·kgf", "kp·m", "kpm"],
        Torque,
        "kgf.m",
        (980_665, 100_000),
        KILOGRAM_FORCE,
    ),
    unit(
        "lbf·in",
        &[
            "lbf·in", "lbf.in", "lbf in", "lbf-in", "lbf*in", "lbfin", "in·lbf", "in.lbf", "in lbf",
            "in-lbf", "inlbf", "lb·in", "lb.in", "lb in", "lb-in", "lbin", "in·lb", "in.lb", "in lb",
            "in-lb", "inlb", "in lbs", "in-lbs", "lbs in",
        ],
        Torque,
        "[lbf_av].[in_i]",
        (1_129_848_290_276_167, 10_000_000_000_000_000),
        POUND_INCH,
    ),
    unit(
        "ozf·in",
        &["ozf·in", "ozf.in", "ozf in", "ozf-in", "oz·in", "oz.in", "oz in", "oz-in", "in·ozf", "in-oz"],
        Torque,
        "[lbf_av].[in_i]/16",
        (1_129_848_290_276_167, 160_000_000_000_000_000),
        POUND_INCH,
    ),
    unit(
        "kgf·cm",
        &["kgf·cm", "kgf.cm", "kgf cm", "kgf-cm", "kgf*cm", "kgfcm", "kp·cm"],
        Torque,
        "kgf.cm",
        (980_665, 10_000_000),
        KILOGRAM_FORCE,
    ),
    unit("mNm", &["mNm", "mN·m", "mN.m", "mN m"], Torque, "mN.m", (1, 1_000), PREFIX),
    unit("cNm", &["cNm", "cN·m", "cN.m", "cN m"], Torque, "cN.m", (1, 100), PREFIX),
    unit("kNm", &["kNm", "kN·m", "kN.m", "kN m"], Torque, "kN.m", (1_000, 1), PREFIX),
    unit("MNm", &["MNm", "MN·m", "MN.m", "MN m"], Torque, "MN.m", (1_000_000, 1), PREFIX),
    // Energy and power.
    unit("J", &["J", "joule", "joules"], Energy, "J", (1, 1), SI),
    unit("kJ", &["kJ"], Energy, "kJ", (1_000, 1), PREFIX),
    unit("Wh", &["Wh"], Energy, "W.h", (3_600, 1), SI),
    unit("kWh", &["kWh"], Energy, "kW.h", (3_600_000, 1), SI),
    unit("W", &["W", "watt", "watts"], Power, "W", (1, 1), SI),
    unit("kW", &["kW"], Power, "kW", (1_000, 1), PREFIX),
    // Temperature: points on a scale, then differences.
    point(
        "°C",
        &["°C", "° C", "degC", "deg C", "Cel"],
        Temperature,
        "Cel",
        (1, 1),
        SI,
        ((27_315, 100), "Δ°C"),
    ),
    point(
        "°F",
        &["°F", "° F", "degF", "deg F"],
        Temperature,
        "[degF]",
        (5, 9),
        "NIST SP 811, B.8",
        ((45_967, 180), "Δ°F"),
    ),
    point("K", &["K absolute"], Temperature, "K", (1, 1), SI, ((0, 1), "K")),
    unit("K", &["K", "kelvin", "kelvins"], TemperatureDifference, "K", (1, 1), SI),
    unit("°C", &["Δ°C", "Δ °C", "delta °C", "delta degC"], TemperatureDifference, "K", (1, 1), SI),
    unit(
        "°F",
        &["Δ°F", "Δ °F", "delta °F", "delta degF"],
        TemperatureDifference,
        "K.5/9",
        (5, 9),
        "NIST SP 811, B.8",
    ),
    // Volume.
    unit("L", &["L", "l", "ltr", "litre", "litres", "liter", "liters"], Volume, "L", (1, 1_000), SI),
    unit(
        "US qt",
        &["US qt", "US-qt", "qt US", "qt (US)", "US quart", "US quarts"],
        Volume,
        "[qt_us]",
        (US_GALLON, 500_000_000_000),
        "US gallon = 231 in³, IYP inch",
    ),
    unit(
        "imp qt",
        &["imp qt", "imp. qt", "UK qt", "qt imp", "qt (imp)", "imperial quart", "imperial quarts"],
        Volume,
        "[qt_br]",
        (IMPERIAL_GALLON, 400_000_000),
        "imperial gallon = 4.54609 L",
    ),
    unit("mL", &["mL", "ml"], Volume, "mL", (1, 1_000_000), PREFIX),
    unit("cL", &["cL", "cl"], Volume, "cL", (1, 100_000), PREFIX),
    unit("dL", &["dL", "dl"], Volume, "dL", (1, 10_000), PREFIX),
    unit("cm³", &["cm³", "cm3", "cm^3", "cc", "ccm"], Volume, "cm3", (1, 1_000_000), SI),
    unit("m³", &["m³", "m3", "m^3"], Volume, "m3", (1, 1), SI),
    unit(
        "US gal",
        &["US gal", "US-gal", "gal US", "gal (US)", "US gallon", "US gallons"],
        Volume,
        "[gal_us]",
        (US_GALLON, 125_000_000_000),
        "US gallon = 231 in³, IYP inch",
    ),
    unit(
        "US pt",
        &["US pt", "pt (US)", "US pint", "US pints"],
        Volume,
        "[pt_us]",
        (US_GALLON, 1_000_000_000_000),
        "US gallon = 231 in³, IYP inch",
    ),
    unit(
        "US fl oz",
        &["US fl oz", "fl oz US", "fl oz (US)", "US fluid ounce", "US fluid ounces"],
        Volume,
        "[foz_us]",
        (US_GALLON, 16_000_000_000_000),
        "US gallon = 231 in³, IYP inch",
    ),
    unit(
        "imp gal",
        &["imp gal", "imp. gal", "UK gal", "gal imp", "gal (imp)", "imperial gallon", "imperial gallons"],
        Volume,
        "[gal_br]",
        (IMPERIAL_GALLON, 100_000_000),
        "imperial gallon = 4.54609 L",
    ),
    unit(
        "imp pt",
        &["imp pt", "imp. pt", "UK pt", "pt (imp)", "imperial pint", "imperial pints"],
        Volume,
        "[pt_br]",
        (IMPERIAL_GALLON, 800_000_000),
        "imperial gallon = 4.54609 L",
    ),
    unit(
        "imp fl oz",
        &["imp fl oz", "UK fl oz", "fl oz (imp)", "imperial fluid ounce"],
        Volume,
        "[foz_br]",
        (IMPERIAL_GALLON, 16_000_000_000),
        "imperial gallon = 4.54609 L",
    ),
    // Pressure: plain, gauge, absolute.
    unit("bar", &["bar"], Pressure, "bar", (100_000, 1), "SI Brochure 8th edition, table 8"),
    unit("kPa", &["kPa"], Pressure, "kPa", (1_000, 1), PREFIX),
    unit("psi", &["psi", "lbf/in²", "lbf/in2"], Pressure, "[psi]", PSI, POUND_INCH),
    unit("Pa", &["Pa", "N/m²", "N/m2"], Pressure, "Pa", (1, 1), SI),
    unit("MPa", &["MPa", "N/mm²", "N/mm2"], Pressure, "MPa", (1_000_000, 1), PREFIX),
    unit("mbar", &["mbar", "hPa"], Pressure, "mbar", (100, 1), "SI Brochure 8th edition, table 8"),
    unit(
        "kgf/cm²",
        &["kgf/cm²", "kgf/cm2", "kgf/cm^2", "kp/cm²"],
        Pressure,
        "kgf/cm2",
        (980_665, 10),
        KILOGRAM_FORCE,
    ),
    point(
        "bar gauge",
        &["bar gauge", "barg", "bar g", "bar(g)", "bar (g)", "bar (gauge)"],
        GaugePressure,
        "bar{gauge}",
        (100_000, 1),
        "SI Brochure 8th edition, table 8",
        ((0, 1), "bar"),
    ),
    point(
        "kPa gauge",
        &["kPa gauge", "kPag", "kPa g", "kPa(g)", "kPa (g)", "kPa (gauge)"],
        GaugePressure,
        "kPa{gauge}",
        (1_000, 1),
        PREFIX,
        ((0, 1), "kPa"),
    ),
    point(
        "psi gauge",
        &["psi gauge", "psig", "psi g", "psi(g)", "psi (g)", "psi (gauge)"],
        GaugePressure,
        "[psi]{gauge}",
        PSI,
        POUND_INCH,
        ((0, 1), "psi"),
    ),
    point(
        "Pa gauge",
        &["Pa gauge", "Pa(g)", "Pa (g)"],
        GaugePressure,
        "Pa{gauge}",
        (1, 1),
        SI,
        ((0, 1), "Pa"),
    ),
    point(
        "MPa gauge",
        &["MPa gauge", "MPa(g)", "MPa (g)"],
        GaugePressure,
        "MPa{gauge}",
        (1_000_000, 1),
        PREFIX,
        ((0, 1), "MPa"),
    ),
    point(
        "mbar gauge",
        &["mbar gauge", "mbarg", "mbar g", "mbar(g)", "mbar (g)"],
        GaugePressure,
        "mbar{gauge}",
        (100, 1),
        "SI Brochure 8th edition, table 8",
        ((0, 1), "mbar"),
    ),
    point(
        "kgf/cm² gauge",
        &["kgf/cm² gauge", "kgf/cm2 gauge", "kgf/cm²(g)", "kgf/cm2(g)"],
        GaugePressure,
        "kgf/cm2{gauge}",
        (980_665, 10),
        KILOGRAM_FORCE,
        ((0, 1), "kgf/cm²"),
    ),
    point(
        "bar absolute",
        &["bar absolute", "bara", "bar a", "bar(a)", "bar (a)", "bar abs", "bar (absolute)"],
        AbsolutePressure,
        "bar{absolute}",
        (100_000, 1),
        "SI Brochure 8th edition, table 8",
        ((0, 1), "bar"),
    ),
    point(
        "kPa absolute",
        &["kPa absolute", "kPaa", "kPa a", "kPa(a)", "kPa (a)", "kPa abs"],
        AbsolutePressure,
        "kPa{absolute}",
        (1_000, 1),
        PREFIX,
        ((0, 1), "kPa"),
    ),
    point(
        "psi absolute",
        &["psi absolute", "psia", "psi a", "psi(a)", "psi (a)", "psi abs"],
        AbsolutePressure,
        "[psi]{absolute}",
        PSI,
        POUND_INCH,
        ((0, 1), "psi"),
    ),
    point(
        "Pa absolute",
        &["Pa absolute", "Pa(a)", "Pa (a)", "Pa abs"],
        AbsolutePressure,
        "Pa{absolute}",
        (1, 1),
        SI,
        ((0, 1), "Pa"),
    ),
    point(
        "MPa absolute",
        &["MPa absolute", "MPa(a)", "MPa (a)", "MPa abs"],
        AbsolutePressure,
        "MPa{absolute}",
        (1_000_000, 1),
        PREFIX,
        ((0, 1), "MPa"),
    ),
    point(
        "mbar absolute",
        &["mbar absolute", "mbara", "mbar a", "mbar(a)", "mbar (a)", "mbar abs"],
        AbsolutePressure,
        "mbar{absolute}",
        (100, 1),
        "SI Brochure 8th edition, table 8",
        ((0, 1), "mbar"),
    ),
    point(
        "kgf/cm² absolute",
        &["kgf/cm² absolute", "kgf/cm2 absolute", "kgf/cm²(a)", "kgf/cm2(a)"],
        AbsolutePressure,
        "kgf/cm2{absolute}",
        (980_665, 10),
        KILOGRAM_FORCE,
        ((0, 1), "kgf/cm²"),
    ),
    // Length and area.
    unit("mm", &["mm"], Length, "mm", (1, 1_000), PREFIX),
    unit("m", &["m", "metre", "metres", "meter", "meters"], Length, "m", (1, 1), SI),
    unit("in", &["in", "inch", "inches", "″"], Length, "[in_i]", (254, 10_000), "IYP"),
    unit("µm", &["µm", "um", "micron", "microns"], Length, "um", (1, 1_000_000), PREFIX),
    unit("cm", &["cm"], Length, "cm", (1, 100), PREFIX),
    unit("km", &["km"], Length, "km", (1_000, 1), PREFIX),
    unit("ft", &["ft", "foot", "feet"], Length, "[ft_i]", (3_048, 10_000), "IYP"),
    unit("mi", &["mi", "mile", "miles"], Length, "[mi_i]", (1_609_344, 1_000), "IYP, 1760 yards"),
    unit("mm²", &["mm²", "mm2", "mm^2"], Area, "mm2", (1, 1_000_000), SI),
    unit("cm²", &["cm²", "cm2", "cm^2"], Area, "cm2", (1, 10_000), SI),
    unit("m²", &["m²", "m2", "m^2"], Area, "m2", (1, 1), SI),
    // Mass, density, force.
    unit("kg", &["kg", "kilogram", "kilograms"], Mass, "kg", (1, 1), SI),
    unit("g", &["g", "gram", "grams"], Mass, "g", (1, 1_000), SI),
    unit("lb", &["lb", "lbs", "pound", "pounds"], Mass, "[lb_av]", (45_359_237, 100_000_000), "IYP"),
    unit("oz", &["oz", "ounce", "ounces"], Mass, "[oz_av]", (45_359_237, 1_600_000_000), "IYP, pound ÷ 16"),
    unit("mg", &["mg"], Mass, "mg", (1, 1_000_000), PREFIX),
    unit("t", &["t", "tonne", "tonnes"], Mass, "t", (1_000, 1), SI),
    unit("kg/m³", &["kg/m³", "kg/m3", "kg/m^3", "g/L"], Density, "kg/m3", (1, 1), SI),
    unit("kg/L", &["kg/L", "kg/l"], Density, "kg/L", (1_000, 1), SI),
    unit("g/cm³", &["g/cm³", "g/cm3", "g/cm^3", "g/mL", "g/ml"], Density, "g/cm3", (1_000, 1), SI),
    unit("N", &["N", "newton", "newtons"], Force, "N", (1, 1), SI),
    unit("kN", &["kN"], Force, "kN", (1_000, 1), PREFIX),
    unit("lbf", &["lbf"], Force, "[lbf_av]", LBF, POUND_FORCE),
    unit("kgf", &["kgf", "kp"], Force, "kgf", (980_665, 100_000), KILOGRAM_FORCE),
    // Angle and turning.
    unit(
        "°",
        &["°", "deg", "degree", "degrees"],
        Angle,
        "deg",
        (1, 360),
        "SI Brochure, table 8: a turn is 360°",
    ),
    unit(
        "turn",
        &["turn", "turns", "rev", "revolution", "revolutions"],
        Angle,
        "circ",
        (1, 1),
        "ISO 80000-3: one turn",
    ),
    unit(
        "rpm",
        &["rpm", "rev/min", "r/min", "turn/min", "turns/min"],
        RotationalSpeed,
        "circ/min",
        (1, 60),
        "ISO 80000-3: one turn; minute of 60 s",
    ),
    unit(
        "rev/s",
        &["rev/s", "r/s", "turn/s", "turns/s"],
        RotationalSpeed,
        "circ/s",
        (1, 1),
        "ISO 80000-3: one turn",
    ),
    unit(
        "°/s",
        &["°/s", "deg/s"],
        RotationalSpeed,
        "deg/s",
        (1, 360),
        "SI Brochure, table 8: a turn is 360°",
    ),
    // Time, frequency, speed.
    unit("s", &["s", "sec", "secs", "second", "seconds"], Duration, "s", (1, 1), SI),
    unit("min", &["min", "mins", "minute", "minutes"], Duration, "min", (60, 1), "SI Brochure, table 8"),
    unit("h", &["h", "hr", "hrs", "hour", "hours"], Duration, "h", (3_600, 1), "SI Brochure, table 8"),
    unit("ms", &["ms"], Duration, "ms", (1, 1_000), PREFIX),
    unit("d", &["d", "day", "days"], Duration, "d", (86_400, 1), "SI Brochure, table 8"),
    unit("Hz", &["Hz", "1/s"], Frequency, "Hz", (1, 1), SI),
    unit("kHz", &["kHz"], Frequency, "kHz", (1_000, 1), PREFIX),
    unit("km/h", &["km/h", "kph", "kmh"], Speed, "km/h", (1_000, 3_600), SI),
    unit("m/s", &["m/s"], Speed, "m/s", (1, 1), SI),
    unit("mph", &["mph", "mi/h"], Speed, "[mi_i]/h", (1_609_344, 3_600_000), "IYP, 1760 yards"),
    unit("mm/s", &["mm/s"], Speed, "mm/s", (1, 1_000), PREFIX),
    // Flow and viscosity.
    unit("L/min", &["L/min", "l/min"], FlowRate, "L/min", (1, 60_000), SI),
    unit("mL/min", &["mL/min", "ml/min"], FlowRate, "mL/min", (1, 60_000_000), SI),
    unit("L/h", &["L/h", "l/h"], FlowRate, "L/h", (1, 3_600_000), SI),
    unit("L/s", &["L/s", "l/s"], FlowRate, "L/s", (1, 1_000), SI),
    unit("m³/s", &["m³/s", "m3/s"], FlowRate, "m3/s", (1, 1), SI),
    unit("mm²/s", &["mm²/s", "mm2/s", "mm^2/s"], KinematicViscosity, "mm2/s", (1, 1_000_000), SI),
    unit(
        "cSt",
        &["cSt"],
        KinematicViscosity,
        "cSt",
        (1, 1_000_000),
        "stokes = 1 cm²/s, SI Brochure 8th edition, table 9",
    ),
    unit("m²/s", &["m²/s", "m2/s"], KinematicViscosity, "m2/s", (1, 1), SI),
    unit("mPa·s", &["mPa·s", "mPa.s", "mPa s", "mPas"], DynamicViscosity, "mPa.s", (1, 1_000), PREFIX),
    unit(
        "cP",
        &["cP"],
        DynamicViscosity,
        "cP",
        (1, 1_000),
        "poise = 0.1 Pa·s, SI Brochure 8th edition, table 9",
    ),
    unit("Pa·s", &["Pa·s", "Pa.s", "Pa s"], DynamicViscosity, "Pa.s", (1, 1), SI),
    // Shares and counts.
    unit("%", &["%", "percent", "per cent"], Ratio, "%", (1, 100), "SI Brochure 5.4.7"),
    unit("‰", &["‰"], Ratio, "[ppth]", (1, 1_000), "ISO 80000-1: one in a thousand"),
    unit("ppm", &["ppm"], Ratio, "[ppm]", (1, 1_000_000), "SI Brochure 5.4.7"),
    unit(
        "particles/mL",
        &["particles/mL", "particles/ml", "/mL", "/ml", "1/mL"],
        ParticleCount,
        "{particles}/mL",
        (1_000_000, 1),
        "SI; ISO 4406 counts per millilitre",
    ),
    unit(
        "particles/100 mL",
        &["particles/100 mL", "particles/100 ml", "particles/100mL", "/100 mL"],
        ParticleCount,
        "{particles}/(100.mL)",
        (10_000, 1),
        "SI",
    ),
    unit("1/K", &["1/K", "/K", "1/°C", "/°C"], ThermalExpansion, "K-1", (1, 1), SI),
    unit("1/°F", &["1/°F", "/°F"], ThermalExpansion, "K-1.9/5", (9, 5), "NIST SP 811, B.8"),
    // Electricity.
    unit("V", &["V", "volt", "volts"], ElectricPotential, "V", (1, 1), SI),
    unit("mV", &["mV"], ElectricPotential, "mV", (1, 1_000), PREFIX),
    unit("kV", &["kV"], ElectricPotential, "kV", (1_000, 1), PREFIX),
    unit("A", &["A", "ampere", "amperes", "amp", "amps"], ElectricCurrent, "A", (1, 1), SI),
    unit("mA", &["mA"], ElectricCurrent, "mA", (1, 1_000), PREFIX),
    unit("Ω", &["Ω", "ohm", "ohms"], ElectricResistance, "Ohm", (1, 1), SI),
    unit("mΩ", &["mΩ", "mohm"], ElectricResistance, "mOhm", (1, 1_000), PREFIX),
    unit("kΩ", &["kΩ", "kohm"], ElectricResistance, "kOhm", (1_000, 1), PREFIX),
    unit("MΩ", &["MΩ", "Mohm"], ElectricResistance, "MOhm", (1_000_000, 1), PREFIX),
];

/// Short names that are refused, and what to write instead.
pub(super) static REFUSED: &[Refused] = &[
    refused(
        &["qt", "qts", "quart", "quarts"],
        "is 0.946 L in the United States and 1.137 L in the imperial system",
        &["US qt", "imp qt"],
    ),
    refused(
        &["gal", "gallon", "gallons"],
        "is 3.785 L in the United States and 4.546 L in the imperial system",
        &["US gal", "imp gal"],
    ),
    refused(
        &["pt", "pint", "pints"],
        "is 0.473 L in the United States and 0.568 L in the imperial system",
        &["US pt", "imp pt"],
    ),
    refused(
        &["fl oz", "fl. oz", "floz", "fluid ounce", "fluid ounces"],
        "is 29.57 mL in the United States and 28.41 mL in the imperial system",
        &["US fl oz", "imp fl oz"],
    ),
    refused(
        &["nm", "NM", "nM"],
        "is not the newton metre, whose letters are a capital N and a small m",
        &["Nm"],
    ),
    refused(
        &["kg·m", "kg.m", "kg m", "kg-m", "kgm", "mkg", "m·kg", "m-kg"],
        "is a mass times a length, no torque",
        &["kgf·m"],
    ),
    refused(
        &["kg·cm", "kg.cm", "kg cm", "kg-cm", "kgcm"],
        "is a mass times a length, no torque",
        &["kgf·cm"],
    ),
    refused(&["kg/cm²", "kg/cm2", "kg/cm^2"], "is a mass per area, no pressure", &["kgf/cm²"]),
    refused(&["lb/in²", "lb/in2"], "is a mass per area, no pressure", &["psi"]),
    refused(&["C", "c", "°c"], "is not the degree Celsius", &["°C"]),
    refused(&["F", "f", "°f"], "is not the degree Fahrenheit", &["°F"]),
    refused(&["°K", "degK"], "is not the kelvin, which is written without a degree sign", &["K"]),
    refused(&["1/min", "/min", "min-1", "min⁻¹"], "does not say what is counted", &["rpm"]),
    refused(&["rad", "radian", "radians"], "is no exact part of a turn", &["°", "turns"]),
    refused(&["M", "mins.", "MIN"], "can be a metre or a minute", &["m", "min"]),
];

const fn refused(
    spellings: &'static [&'static str],
    why: &'static str,
    offers: &'static [&'static str],
) -> Refused {
    Refused { spellings, why, offers }
}
