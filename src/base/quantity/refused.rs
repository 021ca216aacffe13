//! Short names of units that are refused, because they can mean two units or look like another.

use super::unit::Refused;

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
    refused(&["rad", "radian", "radians"], "is no exact part of a turn", &[]),
    refused(&["gr", "grain", "grains"], "is 64.8 mg, which is no gram", &[]),
    refused(&["mil", "mils"], "can be a thousandth of an inch or a millimetre", &["thou", "mm"]),
    refused(&["M", "mins.", "MIN"], "can be a metre or a minute", &["m", "min"]),
];

const fn refused(
    spellings: &'static [&'static str],
    why: &'static str,
    offers: &'static [&'static str],
) -> Refused {
    Refused { spellings, why, offers }
}
