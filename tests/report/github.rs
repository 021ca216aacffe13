//! The annotations of GitHub.

use witnessmark::report::Style;
use witnessmark::source::{Place, Span};

use crate::report::support::{RECORD, Sample, finding, full, with_known, with_rule_fault};

fn lines(sample: &Sample) -> Vec<String> {
    sample.render("github", Style::default()).lines().map(str::to_owned).collect()
}

#[test]
fn each_finding_that_counts_is_a_command_at_its_line() {
    let lines = lines(&full());
    let hold = lines.iter().find(|line| line.contains("Sump screw A2")).unwrap();
    assert_eq!(
        hold,
        "::error file=jobs/k-2041.yaml,line=12,endLine=12,col=13,endColumn=18,title=hold%3A sump_service.screw_torque::Sump screw \
         A2: 12 Nm recorded, 9 Nm ± 10 %25 required.%0Afound: 12 Nm%0Arequired: 9 Nm ± 10 %25 (8.1 Nm .. 9.9 Nm)%0A\
         off by: 2.1 Nm above the upper limit%0Aremedy: Slacken the screw, fit a new one if it has stretched, tighten again.%0A\
         basis: common practice"
    );
    let with = |command: &str| lines.iter().filter(|line| line.starts_with(command)).count();
    assert_eq!((with("::error "), with("::warning "), with("::notice ")), (3, 1, 1), "{lines:#?}");
    assert!(lines.last().unwrap().starts_with("Verdict: "), "{lines:#?}");
    assert!(lines.iter().any(|line| line.starts_with("findings: ")));
    let known = with_known().render("github", Style::default());
    assert!(!known.contains("::error title=known"), "{known}");
    assert!(
        with_rule_fault()
            .render("github", Style::default())
            .contains("::error file=rules/sump.standard,line=")
    );
}

#[test]
fn what_the_server_would_drop_is_said() {
    let mut sample = Sample::new();
    let one = finding(sample.at("A1"), sample.demand());
    let of = |number: usize| {
        let mut sample = Sample::new();
        sample.documents[0].findings = vec![one.clone(); number];
        lines(&sample)
    };
    let errors = |lines: &[String]| lines.iter().filter(|line| line.starts_with("::error ")).count();
    let ten = of(10);
    assert!(errors(&ten) == 10 && !ten.iter().any(|line| line.contains("not annotated")), "{ten:#?}");
    let twelve = of(12);
    assert_eq!(errors(&twelve), 10);
    let said = "::notice title=witnessmark::not annotated, because the server shows no more: 2 errors; `--format plain` lists all";
    assert!(twelve.iter().any(|line| line == said), "{twelve:#?}");
    // All documents of a run share the places.
    let many = vec![sample.documents[0].clone(); 3];
    sample.documents = many;
    sample.documents.iter_mut().for_each(|document| document.findings = vec![one.clone(); 6]);
    assert_eq!(errors(&lines(&sample)), 10);
}

#[test]
fn what_is_in_no_file_has_no_place() {
    let mut sample = Sample::of(&[("standard input", RECORD)]);
    let mut found = finding(sample.at("A1"), sample.demand());
    sample.documents[0].findings = vec![found.clone()];
    let text = sample.render("github", Style::default());
    assert!(text.starts_with("::error title=hold%3A sump_service.screw_torque::Sump"), "{text}");
    found.message = "one\n::error::two\r% ##[add-path]three".into();
    found.rule = "a,b:c%".into();
    found.at = Place { span: Span::new(0, 0), ..found.at };
    sample.documents[0].findings = vec![found];
    let text = sample.render("github", Style::default());
    let wanted = "::error title=hold%3A a%2Cb%3Ac%25::one ::error::two %25 #\\u{23}[add-path]three%0A";
    assert!(text.starts_with(wanted), "{text}");
}
