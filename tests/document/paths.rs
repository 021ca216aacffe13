//! Paths as they are written and read.

use witnessmark::document::path::{DocPath, Every, NoPath, PathPattern};

#[test]
fn a_path_is_read_as_it_is_written() {
    let paths = [
        (DocPath::root(), ""),
        (DocPath::root().key("fluid").key("drained"), "fluid.drained"),
        (DocPath::root().key("fastenings").entry(2).key("torque"), "fastenings[2].torque"),
        (DocPath::root().entry(0).entry(11), "[0][11]"),
        (DocPath::root().key("a.b").key("c"), "[\"a.b\"].c"),
        (DocPath::root().key("Öl").key("0 s").key(""), "Öl[\"0 s\"][\"\"]"),
    ];
    for (path, written) in paths {
        assert_eq!(path.to_string(), written);
        assert_eq!(written.parse(), Ok(path), "{written}");
    }
    let pattern = PathPattern::root().key("steps").entry(Every).key("positions").entry(Every);
    assert_eq!(pattern.to_string(), "steps[].positions[]");
    assert_eq!("steps[].positions[]".parse(), Ok(pattern));
}

#[test]
fn what_is_no_path_is_refused() {
    for text in ["a[", "a[x]", "a[-1]", "a[]", "a..b", ".", "a[1", "[\"a", "a[99999999999999999999999]"] {
        assert_eq!(text.parse::<DocPath>(), Err(NoPath), "{text}");
    }
    assert_eq!("a[1]".parse::<PathPattern>(), Err(NoPath));
}

#[test]
fn a_path_lies_within_what_it_leads_through() {
    let path = |text: &str| text.parse::<DocPath>().unwrap();
    for outer in ["", "fastenings", "fastenings[1]", "fastenings[1].torque"] {
        assert!(path("fastenings[1].torque").is_within(&path(outer)), "{outer}");
    }
    for other in ["fasten", "fastenings[11]", "fastenings[1].torque.x", "torque"] {
        assert!(!path("fastenings[1].torque").is_within(&path(other)), "{other}");
    }
}
