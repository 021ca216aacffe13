//! Vehicle identification numbers and trouble codes.

use witnessmark::metrology::identity::{
    change, fault_code_of_bytes, fault_code_well_formed, vin_check_digit_agrees, vin_well_formed,
};

/// 49 CFR 565.15(c): the sample of the regulation, that of the outline for new manufacturers and a public worked
/// one (all read and recomputed), a much-quoted one (from memory, recomputed) and one that checks the weights.
#[test]
fn published_numbers_have_their_check_digit() {
    for vin in [
        "1G4AH59H45G118341",
        "1J9RP1A36A1644345",
        "1FAPP64R7LH123456",
        "1M8GDM9AXKP042788",
        "11111111111111111",
    ] {
        assert!(vin_check_digit_agrees(vin).unwrap(), "{vin}");
    }
    assert!(!vin_check_digit_agrees("1M8GDM9A0KP042788").unwrap());
}

/// Every change of one character is caught, unless its value is the same modulo 11.
#[test]
fn a_slip_in_one_character_is_caught() {
    let vin = "1M8GDM9AXKP042788";
    for at in (0..17).filter(|at| *at != 8) {
        for other in '0'..='9' {
            let mut slip: Vec<char> = vin.chars().collect();
            let (was, before) = (slip[at], slip[at].to_digit(10));
            slip[at] = other;
            let slip: String = slip.into_iter().collect();
            if was == other || before.is_none() {
                continue;
            }
            assert!(!vin_check_digit_agrees(&slip).unwrap(), "{slip}");
        }
    }
}

#[test]
fn what_is_no_number_has_no_check_digit() {
    for wrong in [
        "",
        "1M8GDM9AXKPO42788",
        "1M8GDM9AXKPI42788",
        "1M8GDM9AXKPQ42788",
        "1m8gdm9axkp042788",
        "1M8GDM9AXKP04278",
        "1M8GDM9AXKP0427888",
    ] {
        assert!(!vin_well_formed(wrong), "{wrong}");
        assert_eq!(vin_check_digit_agrees(wrong).unwrap_err().code.as_str(), "rules/vin-form");
    }
}

/// SAE J2012 (from memory), recomputed by its rule of bits.
#[test]
fn codes_of_two_bytes() {
    for (bytes, code) in [
        (0x0143, "P0143"),
        (0x0711, "P0711"),
        (0x0420, "P0420"),
        (0xC100, "U0100"),
        (0x9234, "B1234"),
        (0x5001, "C1001"),
    ] {
        assert_eq!(fault_code_of_bytes(bytes), code);
    }
    assert!((0..=u16::MAX).all(|bytes| fault_code_well_formed(&fault_code_of_bytes(bytes))));
    for wrong in ["", "P071", "P07111", "P4711", "X0711", "p0711", "P071g", "P071a", "0711"] {
        assert!(!fault_code_well_formed(wrong), "{wrong}");
    }
}

#[test]
fn two_readings_are_compared_as_sets() {
    let change = change(&["P0711", "U0100", "P0711"], &["C1001", "U0100"]);
    assert_eq!((change.gone, change.stayed, change.new), (vec!["P0711"], vec!["U0100"], vec!["C1001"]));
}
