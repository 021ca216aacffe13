//! What a rule says in another notation, or with a unit left out, is refused once and with the form to write.

use crate::support::Folder;

#[test]
fn a_missing_unit_is_offered_with_the_figures_of_the_rule() {
    for (demand, help) in [
        ("s.torque within 45 Nm ± 10", "write `45 Nm ± 10 Nm` or `45 Nm ± 10 %`"),
        ("s.torque within 45 Nm +10/-5", "write `45 Nm +10/-5 Nm` or `45 Nm +10/-5 %`"),
        ("s.torque within 45 ± 10 %", "give it its unit: `45 Nm ± 10 %`, if that was meant"),
        ("s.torque within 45 ± 5", "give it its unit: `45 Nm ± 5 Nm`, if that was meant"),
        ("s.torque within 41 .. 52", "give it its unit: `41 .. 52 Nm`, if that was meant"),
        ("s.torque within at least 41", "give it its unit: `at least 41 Nm`, if that was meant"),
        ("s.torque within 41 Nm .. 52", "give its unit: `52 Nm`, if that was meant"),
        ("s.torque is 41 Nm .. 52 Nm", "write `within 41 Nm .. 52 Nm`"),
        ("s.angle within 90 ± 5", "give it its unit: `90° ± 5°`, if that was meant"),
        ("fluid.drained.temperature within 41 °C ± 6", "write `41 °C ± 6 K`"),
        ("fluid.drained.temperature within 41 °C ± 6 %", "such as `41 °C ± 5 K`"),
        ("coolant.share within 40 % ± 10 %", "write both ends, `30 % .. 50 %` or `36 % .. 44 %`"),
    ] {
        let folder = Folder::new();
        let rule = format!(
            "standard own edition 1 \"Own\"\njudges job\n\nrule one \"One\"\n  concerns each s in fastenings\n  \
             demands {demand}\n  otherwise hold \"No.\"\n"
        );
        folder.write("rules.standard", rule);
        let run = folder.run("prove rules.standard --format plain --width 300 --without-settings");
        let said = run.out + &run.err;
        assert!(said.contains(help), "{demand}\n`{help}` is not in\n{said}");
        assert_eq!(said.matches("error: ").count(), 1, "{demand}\n{said}");
    }
}
