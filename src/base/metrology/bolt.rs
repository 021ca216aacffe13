//! Bolted joints: stress area and proof load, tightening torque and preload of metric bolts.
//!
//! | symbol | meaning |
//! |---|---|
//! | `d`, `P` | nominal diameter and pitch of the thread, mm |
//! | `d2`, `d3` | pitch and root diameter: d − 0.6495·P, d − 1.2269·P |
//! | `A_s` | stress area π/4·(d − 0.9382·P)² |
//! | `S_p`, `R_p` | proof stress and 0.2 % yield strength of the property class, MPa |
//! | `d_0`, `A_0` | (d2 + d3)/2 and π/4·d_0² |
//! | `D_Km` | mean diameter of the bearing surface, (d_w + d_h)/2 |
//! | `µ` | coefficient of friction in the thread and under the head |
//! | `F_M`, `M_A` | preload and tightening torque at 90 % of yield |
//! | `K` | nut factor in T = K·d·F |
//!
//! F_M = A_0·0.9·R_p/√(1 + 3·[1.5·(d2/d_0)·(P/(π·d2) + 1.155·µ)]²) and
//! M_A = F_M·(0.16·P + 0.58·d2·µ + D_Km/2·µ). Valid for steel bolts of ISO threads with a hexagon head of the usual
//! size, M5 to M14, property classes 8.8, 10.9 and 12.9, µ from 0.08 to 0.24; not for threads in aluminium, plastic
//! caps or sealing plugs. So what it says of a rule is an advice, never a hold. Stress areas and proof loads hold
//! from M1.6 to M39. Sources: ISO 898-1 (read), ISO 724 and ISO 261 for the thread, VDI 2230 for the torque (fine
//! threads read, coarse from memory), ISO 4014 and ISO 273 for the bearing surface (from memory).

use std::f64::consts::PI;

use crate::diagnostic::Fault;
use crate::quantity::{Number, Quantity};

use super::figure::{figure_in, impossible, outside, rounded_in, unknown};
use super::working::Working;

/// The places of thread and friction among the arguments of [`preload`], for faults.
const THREAD: usize = 0;
const FRICTION: usize = 2;

/// A metric ISO thread.
#[derive(Clone, Debug, PartialEq)]
pub struct Thread {
    diameter: Number,
    pitch: Number,
}

/// A property class of steel bolts.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct PropertyClass {
    name: &'static str,
    /// Proof stress and yield strength up to M16, and above, MPa.
    small: (u32, u32),
    large: (u32, u32),
}

/// ISO 898-1: proof stress and 0.2 % yield strength.
const CLASSES: [PropertyClass; 3] = [
    PropertyClass { name: "8.8", small: (580, 640), large: (600, 660) },
    PropertyClass { name: "10.9", small: (830, 940), large: (830, 940) },
    PropertyClass { name: "12.9", small: (970, 1100), large: (970, 1100) },
];

/// Nominal diameter and coarse pitch, in hundredths of a millimetre; ISO 261.
const COARSE: [(i128, i128); 23] = [
    (160, 35),
    (200, 40),
    (250, 45),
    (300, 50),
    (350, 60),
    (400, 70),
    (500, 80),
    (600, 100),
    (700, 100),
    (800, 125),
    (1000, 150),
    (1200, 175),
    (1400, 200),
    (1600, 200),
    (1800, 250),
    (2000, 250),
    (2200, 250),
    (2400, 300),
    (2700, 300),
    (3000, 350),
    (3300, 350),
    (3600, 400),
    (3900, 400),
];

/// Nominal diameter and greatest pitch of the threads that ISO 261 has as fine ones only, in hundredths of a
/// millimetre.
const FINE_ONLY: [(i128, i128); 8] =
    [(1500, 150), (1700, 150), (2500, 200), (2600, 150), (2800, 200), (3200, 200), (3500, 150), (3800, 150)];

/// Nominal diameter, outer diameter of the bearing surface (ISO 4014, d_w) and hole (ISO 273, medium), mm.
const BEARING: [(f64, f64, f64); 6] = [
    (5.0, 6.88, 5.5),
    (6.0, 8.88, 6.6),
    (8.0, 11.63, 9.0),
    (10.0, 14.63, 11.0),
    (12.0, 16.63, 13.5),
    (14.0, 19.64, 15.5),
];

impl Thread {
    /// Reads a designation: `M8` with its coarse pitch, `M14x1.5` with its own.
    ///
    /// # Errors
    /// A text of another form; a diameter or pitch that ISO 261 does not have from M1.6 to M39.
    pub fn parse(text: &str) -> Result<Thread, Fault> {
        let shown: String = text.chars().take(40).collect();
        let form = "write a metric thread as `M8`, or with its pitch as `M14x1.5`";
        let rest = text
            .trim()
            .strip_prefix('M')
            .ok_or_else(|| unknown(format!("`{shown}` is not a metric thread"), form))?;
        let (diameter, pitch) = match rest.split_once(['x', '×', 'X']) {
            Some((diameter, pitch)) => (Number::parse(diameter)?, Some(Number::parse(pitch)?)),
            None => (Number::parse(rest)?, None),
        };
        let hundredths = |figure: i128| Number::ratio(figure, 100).unwrap_or(Number::ZERO);
        let row = |table: &[(i128, i128)]| {
            let row = table.iter().find(|(nominal, _)| hundredths(*nominal) == diameter);
            row.map(|(_, pitch)| hundredths(*pitch))
        };
        let (coarse, fine) = (row(&COARSE), row(&FINE_ONLY));
        let most = coarse.clone().or(fine).ok_or_else(|| {
            unknown(format!("there is no thread `{shown}` among the metric ones from M1.6 to M39"), form)
        })?;
        let pitch = pitch.or(coarse).ok_or_else(|| {
            unknown(format!("the thread `{shown}` has no coarse pitch"), "write its pitch, as in `M26x1.5`")
        })?;
        if pitch > most || pitch < hundredths(20) {
            return Err(unknown(
                format!("the thread `{shown}` has a pitch of {pitch} mm, and {most} mm is its greatest"),
                "write the pitch in millimetres",
            ));
        }
        Ok(Thread { diameter, pitch })
    }

    fn nominal(&self) -> f64 {
        self.diameter.to_f64()
    }

    fn pitch(&self) -> f64 {
        self.pitch.to_f64()
    }

    fn pitch_diameter(&self) -> f64 {
        self.nominal() - 0.6495 * self.pitch()
    }

    fn root_diameter(&self) -> f64 {
        self.nominal() - 1.2269 * self.pitch()
    }

    fn area(&self) -> f64 {
        PI / 4.0 * (self.nominal() - 0.9382 * self.pitch()).powi(2)
    }

    /// The mean diameter of the bearing surface of a hexagon head.
    fn bearing_diameter(&self) -> Result<f64, Fault> {
        let row = BEARING.iter().find(|(nominal, ..)| *nominal == self.nominal());
        row.map(|(_, outer, hole)| (outer + hole) / 2.0).ok_or_else(|| {
            outside(
                format!("the size of the head of an M{} bolt is not known here", self.diameter),
                "tightening torques are computed for M5, M6, M8, M10, M12 and M14",
            )
            .argument(THREAD)
        })
    }

    /// Torque per preload, mm.
    fn lever(&self, friction: f64) -> Result<f64, Fault> {
        let bearing = self.bearing_diameter()?;
        Ok(0.16 * self.pitch() + 0.58 * self.pitch_diameter() * friction + bearing / 2.0 * friction)
    }
}

impl PropertyClass {
    /// Reads a property class: `8.8`, `10.9`, `12.9`.
    ///
    /// # Errors
    /// Another text.
    pub fn parse(text: &str) -> Result<PropertyClass, Fault> {
        CLASSES.into_iter().find(|class| class.name == text.trim()).ok_or_else(|| {
            let shown: String = text.chars().take(40).collect();
            unknown(
                format!("the strength of property class `{shown}` is not known here"),
                "the property classes of ISO 898-1 that are known are 8.8, 10.9 and 12.9",
            )
        })
    }

    fn strengths(self, thread: &Thread) -> (f64, f64) {
        let (proof, yielding) = if thread.nominal() <= 16.0 { self.small } else { self.large };
        (f64::from(proof), f64::from(yielding))
    }
}

/// The stress area of a thread.
///
/// # Errors
/// None that a thread could cause.
pub fn stress_area(thread: &Thread, working: &mut Working) -> Result<Quantity, Fault> {
    let area = rounded_in(thread.area(), "mm²")?;
    working.line("ISO 898-1", "stress area", "A_s = π/4·(d − 0.9382·P)²", || {
        format!("π/4·({} − 0.9382·{})² = {area}", thread.diameter, thread.pitch)
    });
    Ok(area)
}

/// The proof load of a bolt.
///
/// # Errors
/// None that a thread and a class could cause.
pub fn proof_load(thread: &Thread, class: PropertyClass, working: &mut Working) -> Result<Quantity, Fault> {
    let area = stress_area(thread, working)?;
    let (proof, _) = class.strengths(thread);
    let load = rounded_in(proof * thread.area() / 1e3, "kN")?;
    working.line("ISO 898-1", "proof load", "F_p = S_p·A_s", || format!("{proof} MPa × {area} = {load}"));
    Ok(load)
}

/// The preload at 90 % of yield.
///
/// # Errors
/// Friction outside 0.08 to 0.24; a thread outside M5 to M14.
pub fn preload(
    thread: &Thread,
    class: PropertyClass,
    friction: &Number,
    working: &mut Working,
) -> Result<Quantity, Fault> {
    let force = rounded_in(preload_figure(thread, class, coefficient(friction)?)? / 1e3, "kN")?;
    working.line(
        "VDI 2230",
        "preload at 90 % of yield",
        "F_M = A_0·0.9·R_p/√(1 + 3·[1.5·(d2/d_0)·(P/(π·d2) + 1.155·µ)]²)",
        || {
            let (_, yielding) = class.strengths(thread);
            let (d2, d3) = (thread.pitch_diameter(), thread.root_diameter());
            format!("d2 = {d2:.4} mm, d3 = {d3:.4} mm, R_p = {yielding} MPa, µ = {friction}: {force}")
        },
    );
    Ok(force)
}

/// The tightening torque at 90 % of yield.
///
/// # Errors
/// As [`preload`].
pub fn tightening_torque(
    thread: &Thread,
    class: PropertyClass,
    friction: &Number,
    working: &mut Working,
) -> Result<Quantity, Fault> {
    let force = preload(thread, class, friction, working)?;
    let friction_figure = coefficient(friction)?;
    let figure = preload_figure(thread, class, friction_figure)? * thread.lever(friction_figure)? / 1e3;
    let torque = rounded_in(figure, "Nm")?;
    working.line("VDI 2230", "tightening torque", "M_A = F_M·(0.16·P + 0.58·d2·µ + D_Km/2·µ)", || {
        format!("{force} with µ = {friction}: {torque}")
    });
    Ok(torque)
}

/// The preload that a torque gives.
///
/// # Errors
/// As [`preload`]; a torque below zero.
pub fn preload_of_torque(
    torque: &Quantity,
    thread: &Thread,
    friction: &Number,
    working: &mut Working,
) -> Result<Quantity, Fault> {
    let lever = thread.lever(coefficient(friction)?).map_err(|fault| fault.argument(1))?;
    let force = rounded_in(torque_figure(torque)? / lever, "kN")?;
    working.line("VDI 2230", "preload", "F = T/(0.16·P + 0.58·d2·µ + D_Km/2·µ)", || {
        format!("{torque}/{lever:.4} mm = {force}")
    });
    Ok(force)
}

/// A torque as a share of the tightening torque at 90 % of yield.
///
/// # Errors
/// As [`preload`]; a torque below zero.
pub fn torque_share(
    torque: &Quantity,
    thread: &Thread,
    class: PropertyClass,
    friction: &Number,
    working: &mut Working,
) -> Result<Quantity, Fault> {
    // There the torque stands before the others.
    let most = tightening_torque(thread, class, friction, working).map_err(|fault| {
        let argument = fault.argument.map_or(0, |argument| argument as usize + 1);
        fault.argument(argument)
    })?;
    let share = rounded_in(100.0 * torque_figure(torque)? / figure_in(&most, "Nm")?, "%")?;
    working
        .line("VDI 2230", "share of the tightening torque", "T/M_A", || format!("{torque}/{most} = {share}"));
    Ok(share)
}

/// The mean tension in the stress area that a torque gives with a nut factor.
///
/// # Errors
/// A torque below zero; a nut factor outside 0.05 to 0.5.
pub fn mean_stress(
    torque: &Quantity,
    thread: &Thread,
    nut_factor: &Number,
    working: &mut Working,
) -> Result<Quantity, Fault> {
    let factor = nut_factor.to_f64();
    if !(0.05..=0.5).contains(&factor) {
        return Err(outside(
            format!("a nut factor of {nut_factor} is outside 0.05 to 0.5"),
            "0.2 is usual for dry steel, 0.15 for oiled steel",
        )
        .argument(2));
    }
    let force = torque_figure(torque)? * 1e3 / (factor * thread.nominal());
    let stress = rounded_in(force / thread.area(), "MPa")?;
    working.line("ISO 898-1", "mean tension", "σ = T/(K·d·A_s)", || {
        format!("{torque}/({nut_factor} × {} mm × {:.3} mm²) = {stress}", thread.diameter, thread.area())
    });
    Ok(stress)
}

/// In newtons.
fn preload_figure(thread: &Thread, class: PropertyClass, friction: f64) -> Result<f64, Fault> {
    thread.bearing_diameter()?;
    let (d2, d3, pitch) = (thread.pitch_diameter(), thread.root_diameter(), thread.pitch());
    let d0 = (d2 + d3) / 2.0;
    let (_, yielding) = class.strengths(thread);
    let twist = 1.5 * (d2 / d0) * (pitch / (PI * d2) + 1.155 * friction);
    Ok(PI / 4.0 * d0 * d0 * 0.9 * yielding / (1.0 + 3.0 * twist * twist).sqrt())
}

fn torque_figure(torque: &Quantity) -> Result<f64, Fault> {
    let figure = figure_in(torque, "Nm")?;
    if figure < 0.0 {
        return Err(impossible(format!("the torque `{torque}` is below zero"), "write it without a sign"));
    }
    Ok(figure)
}

fn coefficient(friction: &Number) -> Result<f64, Fault> {
    let figure = friction.to_f64();
    if (0.08..=0.24).contains(&figure) {
        return Ok(figure);
    }
    Err(outside(
        format!("a coefficient of friction of {friction} is outside 0.08 to 0.24"),
        "0.12 is usual for oiled steel",
    )
    .argument(FRICTION))
}
