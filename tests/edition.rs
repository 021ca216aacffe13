//! Content hashes: the published check values, and what makes no other text.

use witnessmark::edition::{Digest, Pin};

/// The messages are those of NIST: "abc" and the 448-bit message from the examples to FIPS 180-4, the
/// empty one from the byte-oriented test vectors of its validation programme (SHA256ShortMsg, Len = 0).
const PUBLISHED: [(&str, &str); 3] = [
    ("abc", "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"),
    (
        "abcdbcdecdefdefgefghfghighijhijkijkljklmklmnlmnomnopnopq",
        "248d6a61d20638b8e5c026930c3e6039a33ce45964ff2167f6ecedd419db06c1",
    ),
    ("", "e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855"),
];

#[test]
fn hashes_are_the_published_ones() {
    for (message, wanted) in PUBLISHED {
        let digest = Digest::of(message);
        assert_eq!(digest.to_string(), wanted);
        assert_eq!(digest.short(), wanted[..12]);
    }
}

#[test]
fn line_ends_and_a_byte_order_mark_make_no_other_text() {
    let plain = Digest::of("form: job/1\n\nunit: {}\n");
    for same in [
        "form: job/1\r\n\r\nunit: {}\r\n",
        "form: job/1\r\runit: {}\r",
        "\u{feff}form: job/1\n\r\nunit: {}\r",
    ] {
        assert_eq!(Digest::of(same), plain, "{same:?}");
    }
    for other in ["form: job/1\nunit: {}\n", "form: job/1\n\nunit: {}", "form: job/1\n\n unit: {}\n", ""] {
        assert_ne!(Digest::of(other), plain, "{other:?}");
    }
}

#[test]
fn a_pin_is_the_beginning_of_a_hash() {
    let (message, digits) = PUBLISHED[0];
    let digest = Digest::of(message);
    for length in Pin::SHORTEST..=Pin::LONGEST {
        let pin = Pin::parse(&digits[..length]).unwrap();
        assert!(digest.matches(&pin) && !Digest::of("abd").matches(&pin), "{length}");
    }
    let shouted = Pin::parse(" BA7816BF8F01 ").unwrap();
    assert!(digest.matches(&shouted));
    assert_eq!(shouted.to_string(), "ba7816bf8f01");
    let long = format!("{digits}0");
    for none in ["", "ba7816bf8f0", &long, "ba7816bf8f0g", "ba7816bf 8f01", "sha256:ba7816bf8f01", "ﬀﬀﬀﬀ"]
    {
        assert_eq!(Pin::parse(none), None, "{none:?}");
    }
}
