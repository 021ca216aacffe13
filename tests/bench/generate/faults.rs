//! Every known way in which a record of the generator can be wrong, and what must be found then.

use super::Unit;
use super::tree::Edit::{self, List, Plain, Remove, Rename, Set};

/// A way to be wrong.
#[derive(Debug)]
pub struct Fault {
    /// What is wrong, in a few words.
    pub name: &'static str,
    /// The units whose records can be wrong so.
    pub units: &'static [Unit],
    /// How a right record becomes a wrong one.
    pub edits: &'static [Edit],
    /// The rules of which there is then one finding each.
    pub rules: &'static [&'static str],
    /// The codes of what is then wrong with the document itself.
    pub codes: &'static [&'static str],
}

const ALL: &[Unit] = &[Unit::SteppedAutomatic, Unit::TwinClutch, Unit::Engine, Unit::Wheels];
const OILED: &[Unit] = &[Unit::SteppedAutomatic, Unit::TwinClutch, Unit::Engine];
const GEARBOX: &[Unit] = &[Unit::SteppedAutomatic, Unit::TwinClutch];
const STEPPED: &[Unit] = &[Unit::SteppedAutomatic];
const TWIN: &[Unit] = &[Unit::TwinClutch];
const ENGINE: &[Unit] = &[Unit::Engine];
const WHEELS: &[Unit] = &[Unit::Wheels];

/// A fault of the work: rules are broken or undecided, the form is kept.
const fn work(
    name: &'static str,
    units: &'static [Unit],
    edits: &'static [Edit],
    rules: &'static [&'static str],
) -> Fault {
    Fault { name, units, edits, rules, codes: &[] }
}

/// A fault of writing: the form is not kept, and what is lost leaves rules undecided.
const fn writing(
    name: &'static str,
    units: &'static [Unit],
    edits: &'static [Edit],
    rules: &'static [&'static str],
    codes: &'static [&'static str],
) -> Fault {
    Fault { name, units, edits, rules, codes }
}

/// All of them.
pub const FAULTS: &[Fault] = &[
    // Which vehicle, who, when.
    work("VIN too short", ALL, &[Set("vehicle/vin", "AZ1LR48K4MG20411")], &["job_basics.vehicle_number"]),
    work(
        "check digit wrong, North America",
        ALL,
        &[Set("vehicle/vin", "AZ1LR48K0MG204117"), Set("vehicle/market", "north america")],
        &["job_basics.check_digit"],
    ),
    work(
        "check digit wrong, Europe",
        ALL,
        &[Set("vehicle/vin", "AZ1LR48K0MG204117"), Set("vehicle/market", "europe")],
        &["job_basics.check_digit_elsewhere"],
    ),
    work("odometer unbelievable", ALL, &[Set("vehicle/odometer", "8421000 km")], &["job_basics.odometer"]),
    work("technician one letter", ALL, &[Set("job/technician", "X")], &["job_basics.technician"]),
    work("technician missing", ALL, &[Remove("job/technician")], &["job_basics.technician"]),
    work(
        "closed before opened",
        ALL,
        &[Set("job/closed", "2025-12-30T17:00:00+01:00")],
        &["job_basics.closed_later"],
    ),
    // Fault memory, drive, cautions, waste.
    work(
        "fault memory not read after",
        OILED,
        &[Plain("fault_memory/after/read", "no"), List("fault_memory/after/codes", &[])],
        &["job_basics.fault_memory_after"],
    ),
    work(
        "fault memory after missing",
        OILED,
        &[Remove("fault_memory/after")],
        &["job_basics.fault_codes", "job_basics.fault_memory_after"],
    ),
    work(
        "fault memory not read before",
        OILED,
        &[Plain("fault_memory/before/read", "no")],
        &["job_basics.fault_memory_before"],
    ),
    work(
        "new fault stored",
        OILED,
        &[
            List("fault_memory/before/codes", &["P0711"]),
            List("fault_memory/after/codes", &["P0711", "U0100"]),
        ],
        &["job_basics.faults_left", "job_basics.faults_left", "job_basics.no_new_faults"],
    ),
    work(
        "fault code ill-formed",
        OILED,
        &[List("fault_memory/before/codes", &["P4711"]), List("fault_memory/after/codes", &[])],
        &["job_basics.fault_codes"],
    ),
    work("not driven", OILED, &[Plain("road_test/done", "no")], &["job_basics.road_test"]),
    work("leak after the drive", OILED, &[Set("road_test/leaks", "weeping")], &["job_basics.no_leaks"]),
    work("cautions not read", ALL, &[Plain("cautions/acknowledged", "no")], &["job_basics.cautions_read"]),
    work(
        "raised vehicle not secured",
        ALL,
        &[Plain("cautions/raised_vehicle_supported", "no")],
        &["job_basics.raised_vehicle"],
    ),
    work(
        "high voltage not isolated",
        OILED,
        &[Plain("vehicle/high_voltage", "yes")],
        &["job_basics.high_voltage"],
    ),
    work(
        "used oil not collected",
        OILED,
        &[Plain("used_oil/collected", "no")],
        &["job_basics.used_oil_collected"],
    ),
    work(
        "used oil does not add up",
        OILED,
        &[Set("used_oil/volume", "0.5 L")],
        &["job_basics.used_oil_volume"],
    ),
    work(
        "still in work",
        OILED,
        &[
            Set("job/state", "in work"),
            Set("job/opened", "2026-12-30T08:15:00+01:00"),
            Remove("job/closed"),
            Remove("used_oil"),
            Remove("road_test"),
        ],
        &["job_basics.road_test", "job_basics.used_oil_collected", "job_basics.used_oil_volume"],
    ),
    // Screws and plugs.
    work(
        "plug too tight",
        GEARBOX,
        &[Set("fastenings/drain plug/torque", "58 Nm")],
        &["fastenings.torque_reached"],
    ),
    work(
        "plug too loose",
        GEARBOX,
        &[Set("fastenings/level plug/torque", "29 lbf·ft")],
        &["fastenings.torque_reached"],
    ),
    work(
        "plug without torque",
        GEARBOX,
        &[Remove("fastenings/level plug/torque")],
        &["fastenings.torque_reached"],
    ),
    work(
        "sump screw too tight",
        STEPPED,
        &[Set("fastenings/A2/torque", "12.4 Nm")],
        &["fastenings.torque_reached"],
    ),
    work(
        "sump screw too loose",
        STEPPED,
        &[Set("fastenings/A3/torque", "7900 mN·m")],
        &["fastenings.torque_reached"],
    ),
    work(
        "filter cap too tight",
        TWIN,
        &[Set("fastenings/filter cap/torque", "11 Nm")],
        &["fastenings.torque_reached"],
    ),
    work(
        "filter cap too loose",
        TWIN,
        &[Set("fastenings/filter cap/torque", "7.1 Nm")],
        &["fastenings.torque_reached"],
    ),
    // Seals.
    work(
        "seal not renewed",
        GEARBOX,
        &[Plain("seals/drain plug/renewed", "no")],
        &["seals_and_filters.seal_renewed"],
    ),
    work(
        "gasket not renewed",
        STEPPED,
        &[Plain("seals/sump/renewed", "no")],
        &["seals_and_filters.seal_renewed"],
    ),
    work(
        "cap ring not renewed",
        TWIN,
        &[Plain("seals/filter cap/renewed", "no")],
        &["seals_and_filters.seal_renewed"],
    ),
    work(
        "cap ring dry",
        TWIN,
        &[Plain("seals/filter cap/lubricated", "no")],
        &["seals_and_filters.ring_lubricated"],
    ),
    // Filter, pan, magnets.
    work(
        "filter not renewed",
        STEPPED,
        &[Plain("filters/pan/renewed", "no")],
        &["seals_and_filters.filter_renewed"],
    ),
    work(
        "external filter not renewed",
        TWIN,
        &[Plain("filters/external/renewed", "no")],
        &["seals_and_filters.filter_renewed"],
    ),
    work(
        "filter torn",
        TWIN,
        &[Set("filters/external/condition_removed", "torn")],
        &["seals_and_filters.filter_condition"],
    ),
    work(
        "filter collapsed",
        STEPPED,
        &[Set("filters/pan/condition_removed", "collapsed")],
        &["seals_and_filters.filter_condition"],
    ),
    work(
        "wrong medium, as before",
        TWIN,
        &[Set("filters/external/media_fitted", "paper"), Set("filters/external/media_removed", "paper")],
        &["seals_and_filters.filter_medium_right"],
    ),
    work(
        "wrong medium",
        TWIN,
        &[Set("filters/external/media_fitted", "paper")],
        &["seals_and_filters.filter_medium_right"],
    ),
    work(
        "cap of another version",
        TWIN,
        &[Set("filters/external/cap_fitted", "C")],
        &["seals_and_filters.cap_version"],
    ),
    work(
        "pan not cleaned",
        STEPPED,
        &[Plain("pan/cleaned", "no"), Plain("pan/renewed", "no")],
        &["seals_and_filters.pan_cleaned"],
    ),
    work(
        "pan not checked",
        STEPPED,
        &[Plain("pan/flatness_checked", "no"), Plain("pan/renewed", "no")],
        &["seals_and_filters.pan_flat"],
    ),
    work(
        "magnet not cleaned",
        GEARBOX,
        &[Plain("magnets/main/cleaned", "no"), Plain("magnets/main/renewed", "no")],
        &["seals_and_filters.magnets_cleaned"],
    ),
    work(
        "chips on a magnet",
        GEARBOX,
        &[Set("magnets/main/debris", "chips")],
        &["oil_service.debris_on_magnets", "oil_service.no_chips"],
    ),
    // Fluid.
    work("fluid burnt", STEPPED, &[Set("fluid/appearance", "burnt")], &["oil_service.appearance_sound"]),
    work("specification missing", GEARBOX, &[Remove("fluid/specification")], &["oil_service.fluid_named"]),
    work("overfilled", GEARBOX, &[Set("fluid/fills/first/volume", "6.9 L")], &["oil_service.refill_volume"]),
    work(
        "first stage short",
        TWIN,
        &[Set("fluid/fills/first/volume", "3.6 L"), Set("fluid/fills/second/volume", "2.0 L")],
        &["oil_service.first_stage_volume"],
    ),
    work(
        "first stage, engine running",
        TWIN,
        &[Set("fluid/fills/first/engine", "running")],
        &["oil_service.first_stage"],
    ),
    work(
        "second stage, engine off",
        TWIN,
        &[Set("fluid/fills/second/engine", "off")],
        &["oil_service.later_stage"],
    ),
    // Level.
    work(
        "level too warm",
        GEARBOX,
        &[Set("level_check/temperature", "142 °F")],
        &["level.level_temperature"],
    ),
    work("level too cold", GEARBOX, &[Set("level_check/temperature", "21 °C")], &["level.level_temperature"]),
    work("level, engine off", GEARBOX, &[Set("level_check/engine", "off")], &["level.level_engine"]),
    work("not level", GEARBOX, &[Plain("level_check/vehicle_level", "no")], &["level.level_stance"]),
    work("level low", GEARBOX, &[Set("level_check/result", "low")], &["level.level_right"]),
    work(
        "hold too short",
        GEARBOX,
        &[Set("level_check/positions/R/held", "1.4 s")],
        &["level.positions_held"],
    ),
    work("position left out", STEPPED, &[Remove("level_check/positions/N")], &["level.positions_complete"]),
    // Engine and wheels.
    work(
        "washer not renewed",
        ENGINE,
        &[Plain("seals/drain plug/renewed", "no")],
        &["seals_and_filters.seal_renewed"],
    ),
    work("oil above the mark", ENGINE, &[Set("fluid/level_after", "above maximum")], &["level.level_after"]),
    work(
        "nut too loose",
        WHEELS,
        &[Set("fastenings/rear right 3/torque", "95 Nm")],
        &["fastenings.torque_reached"],
    ),
    work("seat dirty", WHEELS, &[Plain("wheels/rear right/seat_clean", "no")], &["wheel_refit.seats_clean"]),
    work(
        "nut forgotten",
        WHEELS,
        &[Remove("fastenings/rear right 5")],
        &["wheel_refit.nuts_complete", "fastenings.wheel_criss_cross"],
    ),
    // Slips of the pen.
    writing(
        "field misspelt",
        GEARBOX,
        &[Rename("level_check/temperature", "temprature")],
        &["level.level_temperature"],
        &["document/unknown-field"],
    ),
    writing(
        "field missing",
        ALL,
        &[Remove("job/opened")],
        &["job_basics.closed_after_opened"],
        &["document/missing-field"],
    ),
    writing(
        "number without unit",
        GEARBOX,
        &[Plain("fastenings/drain plug/torque", "45")],
        &["fastenings.torque_reached"],
        &["quantity/unit-missing"],
    ),
    writing(
        "word unknown",
        GEARBOX,
        &[Set("fluid/wear_debris", "fine pastes")],
        &["oil_service.no_chips", "oil_service.wear_debris"],
        &["document/unknown-word"],
    ),
    writing(
        "neither yes nor no",
        OILED,
        &[Plain("road_test/done", "perhaps")],
        &["job_basics.road_test"],
        &["document/yes-or-no"],
    ),
];
