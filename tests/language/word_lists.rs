//! Lists of words under a name.

use crate::support::{Folder, Ran};

const RULES: &str = "standard s edition 1 \"S\"
judges job

parameter plugs is words of fastenings.role \"Roles of plugs\" = one of (\"drain plug\")
let levels = one of (\"level plug\", \"overflow plug\")

rule torque \"Plugs have their torque\"
  concerns  each f in fastenings where f.role is plugs, at least 1
  demands   f.torque at least 20 Nm
  otherwise hold \"{f.role}: {f.torque}.\"

rule level \"The level is checked by a plug\"
  concerns  each f in fastenings
  demands   f.role is levels
  otherwise advice \"{f.role}, {levels} required.\"
";

fn inspect(plugs: &str, role: &str, options: &[&str]) -> Ran {
    let folder = Folder::new();
    let settings = "form: workshop/1\nworkshop: {name: W}\nstandards: [s.standard]\nparameters:\n";
    folder.write("workshop.yaml", format!("{settings}{plugs}"));
    folder.write("s.standard", RULES);
    folder.write("job.yaml", super::job(&format!("role: {role}, torque: 9 Nm")));
    let always = ["job.yaml", "--as-of", "2026-03-02", "--width", "300"];
    let options: Vec<&str> = match options {
        [] => ["inspect"].into_iter().chain(always).collect(),
        options => options.to_vec(),
    };
    folder.run_with(options, "")
}

#[test]
fn a_list_of_the_settings_is_a_list_of_words() {
    let both = "  s.plugs: [drain plug, level plug]\n";
    let ran = inspect(both, "level plug", &[]);
    assert!(ran.out.contains("level plug: 9 Nm."), "{}", ran.out);
    assert_eq!(ran.code, 1);
    // One word is a list of one, and commas part several on one line.
    assert!(inspect("  s.plugs: level plug\n", "level plug", &[]).out.contains("level plug: 9 Nm."));
    assert!(inspect("  s.plugs: cap, level plug\n", "level plug", &[]).out.contains("level plug: 9 Nm."));
    // Fewer subjects than are asked for: the names are said, with the near one of the record.
    let ran = inspect(both, "drian plug", &[]);
    assert!(ran.out.contains("found: none of 1 has the role drain plug or level plug"), "{}", ran.out);
    assert!(
        ran.out.contains("`fastenings[0].role` is `drian plug`, which is nearly `drain plug`"),
        "{}",
        ran.out
    );
}

#[test]
fn mistakes_in_a_list_of_the_settings_are_at_the_word() {
    for (plugs, place, said) in [
        ("  s.plugs: [cap, drain plug, cap]\n", "line 5 column 30", "\"cap\" is in this list twice"),
        ("  s.plugs: []\n", "line 5 column 12", "no words are given"),
        ("  s.plugs: [cap, '']\n", "line 5 column 18", "a word of this list is blank"),
        ("  s.plugs:\n", "line 5", "no words are given"),
    ] {
        let ran = inspect(plugs, "cap", &[]);
        let all = format!("{}{}", ran.out, ran.err);
        assert!(all.contains(said) && all.contains(place), "{plugs}: {all}");
        assert_eq!(ran.code, 2, "{plugs}");
    }
    let rules = RULES
        .replace("words of fastenings.role", "fastenings.role")
        .replace("one of (\"drain plug\")", "\"cap\"");
    let folder = Folder::new();
    folder.write(
        "workshop.yaml",
        "form: workshop/1\nworkshop: {name: W}\nstandards: [s.standard]\nparameters:\n  s.plugs: [cap]\n",
    );
    folder.write("s.standard", rules);
    folder.write("job.yaml", super::job("role: cap"));
    let ran = folder.run("inspect job.yaml");
    assert!(ran.out.contains("a single value is wanted here, and this is a list"), "{}{}", ran.out, ran.err);
}

#[test]
fn why_and_the_command_line_know_them() {
    let why = inspect(
        "  s.plugs: [cap]\n",
        "cap",
        &["why", "torque", "job.yaml", "--as-of", "2026-03-02", "--width", "200"],
    );
    for said in ["figure: s.plugs = cap", "concerns: each f in fastenings where f.role is plugs, at least 1"]
    {
        assert!(why.out.contains(said), "{said}\n{}", why.out);
    }
    let why =
        inspect("  s.plugs: [cap]\n", "cap", &["why", "levels", "--as-of", "2026-03-02", "--width", "200"]);
    assert!(why.out.contains("one of (\"level plug\", \"overflow plug\")"), "{}", why.out);
    let ran = inspect(
        "  s.plugs: [cap]\n",
        "bolt",
        &["inspect", "job.yaml", "--parameter", "s.plugs=bolt, screw", "--as-of", "2026-03-02"],
    );
    assert!(ran.out.contains("bolt: 9 Nm."), "{}{}", ran.out, ran.err);
}

#[test]
fn the_order_of_the_words_is_no_change_and_another_word_is_one() {
    let folder = Folder::new();
    let changed = |text: &str| RULES.replace("(\"level plug\", \"overflow plug\")", text);
    folder.write("old.standard", RULES);
    folder.write("same.standard", changed("(\"overflow plug\",  \"level plug\")"));
    folder.write("new.standard", changed("(\"level plug\", \"cap\")"));
    assert_eq!(folder.run("compare old.standard same.standard").code, 0);
    let ran = folder.run("compare old.standard new.standard --width 200");
    let said = "changed    one of (\"level plug\", \"overflow plug\") → one of (\"level plug\", \"cap\")";
    assert!(ran.code == 3 && ran.out.contains(said), "{}{}", ran.out, ran.err);
}

#[test]
fn a_sheet_says_which_words_can_be_written() {
    let folder = Folder::new();
    let rules = "standard s edition 1 \"S\"\njudges job\nlet media = one of (\"paper\", \"synthetic\")\n\
                 rule r \"R\"\n  concerns each f in filters\n  demands f.media_fitted is media\n  otherwise hold \"No.\"\n";
    folder.write("s.standard", rules);
    let procedure = "form: procedure/1\nprocedure: {name: p, edition: 1}\nunit: {kind: engine}\nfilters:\n  - {kind: internal}\n";
    folder.write("p.yaml", procedure);
    let ran = folder.run("sheet p.yaml --standard s.standard");
    assert!(ran.out.contains("paper or synthetic"), "{}{}", ran.out, ran.err);
}
