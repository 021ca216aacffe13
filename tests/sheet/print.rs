//! The printed sheet: one page of HTML that fetches nothing, runs nothing and shows every text as text.

use super::{ALL, PROCEDURES, procedure, run};
use crate::support::Folder;

fn page(name: &str) -> String {
    run(&format!("sheet --print {PROCEDURES}/{name}.yaml"), "").out
}

/// The names of the elements that a page opens and closes, in their order; every `<` begins one.
fn elements(page: &str) -> Vec<String> {
    let body = page.split_once("</style>").unwrap().1;
    body.split('<').skip(1).map(|rest| rest.split(['>', ' ']).next().unwrap().to_owned()).collect()
}

fn is_well_nested(page: &str) -> bool {
    let mut open = Vec::new();
    for element in elements(page) {
        match element.strip_prefix('/') {
            Some(closed) => {
                if open.pop().as_deref() != Some(closed) {
                    return ["head", "html"].contains(&closed) && open.is_empty();
                }
            }
            None if ["br", "wbr"].contains(&&*element) => {}
            None => open.push(element),
        }
    }
    open.is_empty()
}

#[test]
fn a_page_needs_nothing_else_and_runs_nothing() {
    for name in ALL {
        let page = page(name);
        assert!(page.starts_with("<!DOCTYPE html>\n<html lang=\"en\">\n"), "{name}");
        for word in
            ["<script", "http:", "https:", "url(", "@import", " src=", " href=", "onload", "javascript"]
        {
            assert!(!page.contains(word), "{name} holds `{word}`");
        }
        let body = page.split_once("<body>").unwrap().1;
        let body = format!("</style>{}", body.split_once("</body>").unwrap().0);
        assert!(is_well_nested(&body), "{name}: {:?}", elements(&body));
    }
}

#[test]
fn a_page_holds_the_work_with_its_limits() {
    let page = page("six-speed-sump-service");
    for piece in [
        "<h1>Fluid and filter, six speed automatic, pan off</h1>",
        "10 Nm ± 10 %: 9 Nm .. 11 Nm",
        "45 Nm ± 10 %: 40.5 Nm .. 49.5 Nm",
        "<b>30 °C .. 50 °C</b>",
        "with the small torque wrench",
        "from the middle outwards",
        "<b>Raised vehicle</b>",
        "come before this sheet",
        "counter(page) \" of \" counter(pages)",
    ] {
        assert!(page.contains(piece), "`{piece}` is not in\n{page}");
    }
    let steps = page.matches("<td><span class=\"box\"></span>").count();
    assert!(steps >= 7, "{steps} steps");
    // The cautions come before the work that needs them, and a step's own before its text.
    let at = |text: &str| page.find(text).unwrap_or_else(|| panic!("{text}"));
    assert!(at("Before the work: cautions") < at("Steps, in this order"));
    assert!(at("&#9888; Rotating parts, exhaust gas") < at("<b>Level check.</b>"));
    // Nothing is told by colour: black on white is all there is in print.
    let style = page.split_once("<style>").unwrap().1.split_once("</style>").unwrap().0;
    let colours: Vec<&str> =
        style.split('#').skip(1).map(|rest| rest.split([';', ' ', '}']).next().unwrap()).collect();
    assert!(colours.iter().all(|colour| ["000", "fff", "ddd"].contains(colour)), "{colours:?}");
}

/// No type is smaller than can be read under a vehicle.
#[test]
fn no_type_is_smaller_than_nine_points() {
    let style = include_str!("../../src/show/sheet/sheet.css");
    let sizes = style.split("pt").filter_map(|before| before.rsplit([' ', ':']).next()?.parse::<f64>().ok());
    let sizes: Vec<f64> = sizes.collect();
    assert!(sizes.len() >= 3 && sizes.iter().all(|size| *size >= 9.0), "{sizes:?}");
}

#[test]
fn hostile_texts_are_shown_as_texts() {
    let evil = r#"</style><script>alert(1)</script>" onload='x' &amp; \u202e\u0000"#;
    let quoted = format!("'{}'", evil.replace('\'', "''").replace("\\u202e\\u0000", "\u{202e}"));
    let folder = Folder::new();
    folder.write(
        "p.yaml",
        format!(
            "form: procedure/1\nprocedure: {{name: {quoted}, edition: 1, title: {quoted}, author: {quoted}, issued: 2026-03-01}}\n\
             unit: {{kind: final drive, family: {quoted}}}\nsteps: [{{name: {quoted}, text: {quoted}, tools: [{quoted}]}}]\n\
             tools: [{{name: {quoted}}}]\nparts: [{{name: {quoted}, number: {quoted}}}]\nreferences: [{quoted}]\n\
             fluids: [{{specification: {quoted}, product: {quoted}}}]\n\
             fastenings: [{{role: {quoted}, place: {quoted}, thread: {quoted}, tool: {quoted}}}]\nseals: [{{place: {quoted}}}]\n"
        ),
    );
    let ran = folder.run("sheet --print p.yaml --without-settings");
    assert!(ran.code < 2, "{ran:#?}");
    let page = ran.out;
    assert_eq!(page.matches("</style>").count(), 1, "{page}");
    assert!(!page.contains("<script") && !page.contains("' onload") && !page.contains('\u{202e}'), "{page}");
    assert!(page.contains("&lt;/style&gt;&lt;script"), "{page}");
    assert!(page.contains("\\u{202e}"), "{page}");
    let body = format!("</style>{}", page.split_once("<body>").unwrap().1.split_once("</body>").unwrap().0);
    assert!(is_well_nested(&body));
}

/// An instruction is never cut off, and a long word cannot push a table off the page.
#[test]
fn long_texts_stay_whole() {
    let (text, word) = ("Turn. ".repeat(2_000), "turn".repeat(50));
    let folder = Folder::new();
    folder.write("p.yaml", procedure(&format!("steps: [{{name: s, text: {text}END}}, {{name: {word}}}]\n")));
    let page = folder.run("sheet --print p.yaml --without-settings").out;
    assert!(page.contains("END") && !page.contains('…'));
    assert!(page.contains(&format!("{}<wbr>", "turn".repeat(5))), "{page}");
}
