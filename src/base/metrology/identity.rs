//! Vehicle identification numbers and diagnostic trouble codes: their form, and what changed between two
//! readings of a fault memory.
//!
//! A VIN has 17 characters, digits and capital letters without I, O and Q. Each has a value and each place a
//! weight; the sum of value × weight modulo 11, with X for 10, is the check digit at place 9. Compulsory in North
//! America only; elsewhere a mismatch means nothing. Source: ISO 3779; 49 CFR 565.13 and 565.15(c) (read).
//!
//! A trouble code has five characters: P, C, B or U, a digit from 0 to 3, and three hexadecimal digits. In two
//! bytes, bits 15 and 14 give the letter, bits 13 and 12 the first digit, the others the hexadecimal digits.
//! Source: SAE J2012, ISO 15031-6 (from memory).

use std::collections::BTreeSet;

use crate::code::VIN_FORM;
use crate::diagnostic::Fault;

/// The weight of each place of a VIN; 49 CFR 565.15(c)(4).
const VIN_WEIGHTS: [u32; 17] = [8, 7, 6, 5, 4, 3, 2, 10, 0, 9, 8, 7, 6, 5, 4, 3, 2];

/// The letters of a trouble code: powertrain, chassis, body, network.
const LETTERS: [char; 4] = ['P', 'C', 'B', 'U'];

/// Whether a text has the form of a VIN.
#[must_use]
pub fn vin_well_formed(vin: &str) -> bool {
    vin_values(vin).is_some()
}

/// Whether the ninth character of a VIN is its check digit.
///
/// # Errors
/// A text that has not the form of a VIN.
pub fn vin_check_digit_agrees(vin: &str) -> Result<bool, Fault> {
    let values = vin_values(vin).ok_or_else(|| {
        Fault::new(
            VIN_FORM,
            format!("`{vin}` is not a vehicle identification number, so it has no check digit"),
        )
        .help("17 characters: digits and capital letters without I, O and Q")
    })?;
    let sum: u32 = values.iter().zip(VIN_WEIGHTS).map(|(value, weight)| value * weight).sum();
    let wanted = char::from_digit(sum % 11, 10).unwrap_or('X');
    Ok(vin.chars().nth(8) == Some(wanted))
}

/// The assigned value of each character of a well-formed VIN; 49 CFR 565.15(c)(3).
fn vin_values(vin: &str) -> Option<Vec<u32>> {
    let value = |character: char| match character {
        '0'..='9' => character.to_digit(10),
        'A'..='H' => Some(character as u32 - 'A' as u32 + 1),
        'J'..='N' => Some(character as u32 - 'J' as u32 + 1),
        'P' => Some(7),
        'R' => Some(9),
        'S'..='Z' => Some(character as u32 - 'S' as u32 + 2),
        _ => None,
    };
    let values = vin.chars().take(VIN_WEIGHTS.len() + 1).map(value).collect::<Option<Vec<u32>>>()?;
    (values.len() == VIN_WEIGHTS.len()).then_some(values)
}

/// Whether a text has the form of a trouble code.
#[must_use]
pub fn fault_code_well_formed(code: &str) -> bool {
    let mut characters = code.chars();
    characters.next().is_some_and(|letter| LETTERS.contains(&letter))
        && matches!(characters.next(), Some('0'..='3'))
        && characters.clone().count() == 3
        && characters.all(|c| c.is_ascii_digit() || matches!(c, 'A'..='F'))
}

/// The trouble code of two bytes, as a control unit sends them.
#[must_use]
pub fn fault_code_of_bytes(bytes: u16) -> String {
    let letter = LETTERS.get(usize::from(bytes >> 14)).copied().unwrap_or('P');
    format!("{letter}{}{:03X}", bytes >> 12 & 0b11, bytes & 0xFFF)
}

/// What changed between two readings of a fault memory, each list in order and without repetition.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Change<'c> {
    /// In the first reading alone.
    pub gone: Vec<&'c str>,
    /// In both.
    pub stayed: Vec<&'c str>,
    /// In the second reading alone.
    pub new: Vec<&'c str>,
}

/// Compares the codes of a reading before the work with those of one after it.
#[must_use]
pub fn change<'c>(before: &[&'c str], after: &[&'c str]) -> Change<'c> {
    let set = |codes: &[&'c str]| codes.iter().copied().collect::<BTreeSet<_>>();
    let (before, after) = (set(before), set(after));
    Change {
        gone: before.difference(&after).copied().collect(),
        stayed: before.intersection(&after).copied().collect(),
        new: after.difference(&before).copied().collect(),
    }
}
