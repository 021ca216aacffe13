//! Options and names that are out of all bounds: told in words or made to fit, never a panic and never half a minute.

use super::{folder, good};
use crate::support::{Folder, program};

#[test]
fn widths_and_threads_beyond_all_use_are_refused() {
    let folder = folder();
    folder.write("job.yaml", good());
    for option in
        ["--width 10001", "--width 0", "--width 18446744073709551615", "--threads 257", "--threads 100000"]
    {
        let ran = folder.run(&format!("inspect job.yaml --standard plugs.standard {option}"));
        assert_eq!(ran.code, 2, "{ran:?}");
        let (name, value) = option.split_once(' ').unwrap();
        assert!(ran.err.contains(&format!("invalid value '{value}' for '{name}")), "{ran:?}");
        assert!(ran.err.contains("is not in") || ran.err.contains("number too large"), "{ran:?}");
    }
    let usual = folder.run("inspect job.yaml --standard plugs.standard --width 10000 --threads 256");
    assert_eq!(usual.code, 0, "{usual:?}");
}

#[test]
fn columns_of_the_environment_are_made_to_fit() {
    let folder = folder();
    folder.write("job.yaml", good());
    for columns in ["65535", "18446744073709551615", "99999999999999999999999", "-1", "0"] {
        let mut command = program(folder.path());
        command
            .args(["inspect", "job.yaml", "--standard", "plugs.standard", "--format", "terminal"])
            .env("COLUMNS", columns);
        let output = command.output().unwrap();
        assert_eq!(output.status.code(), Some(0), "{columns}: {output:?}");
    }
}

#[test]
fn settings_are_read_by_the_reader_of_all_documents() {
    let folder = Folder::new();
    folder.write("job.yaml", good());
    folder.write(
        "workshop.yaml",
        "\u{feff}form: workshop/1\r\nworkshop: {name: W}\r\nstandards: [job_basics]\r\nfail_on: note\r\n",
    );
    let ran = folder.run("inspect job.yaml --as-of 2026-03-02");
    assert!(ran.out.contains("standards: job_basics edition"), "{ran:?}");
    // What the other YAML libraries read as a truth or a number is a text here, as it is in every document.
    folder.write(
        "workshop.yaml",
        "form: workshop/1\nworkshop: {name: no}\nstandards: [job_basics]\ntime_zone: 012\n",
    );
    folder.run("inspect job.yaml --brief").says(&["there is no time zone `012`"]);
}

/// Settings of a stranger, which the folder brings: so many lines of each kind.
fn settings(lines: &str) -> String {
    format!("form: workshop/1\nworkshop: {{name: W}}\n{lines}")
}

fn repeated(number: usize, line: impl Fn(usize) -> String) -> String {
    (0..number).map(line).collect()
}

#[test]
fn settings_of_too_many_values_are_refused_whole() {
    let folder = Folder::new();
    folder.write("job.yaml", good());
    let inspect = |number: usize| {
        let words = repeated(number, |number| format!("  w{number}: drain plug\n"));
        folder.write("workshop.yaml", settings(&format!("standards: [job_basics]\nwords:\n{words}")));
        folder.run("inspect job.yaml --width 200")
    };
    let over = inspect(20_000);
    over.says(&["these settings hold more than 20000 values"]);
    assert!(!inspect(2_000).out.contains("more than 20000"));
}

#[test]
fn a_text_of_too_many_documents_is_refused_whole_by_both_readers() {
    let folder = Folder::new();
    folder.write("workshop.yaml", settings("standards: [job_basics]\n"));
    for option in ["", " --yaml-reader-only"] {
        for one in ["---\n", "---\nform: job/1\n"] {
            folder.write("job.yaml", one.repeat(10_002));
            let ran = folder.run(&format!("inspect job.yaml --width 200{option}")).quietly(2);
            assert!(ran.out.contains("this text holds more than 10000 documents"), "{}", ran.out);
            assert!(ran.out.contains("documents: 0 judged, 1 could not be read"), "{}", ran.out);
            assert!(ran.out.len() < 4_000, "{} bytes", ran.out.len());
        }
    }
}

/// Whatever is wrong a thousand times is listed a hundred times, with a count of the rest.
#[test]
fn mistakes_of_one_kind_are_listed_up_to_a_bound_and_counted() {
    let folder = Folder::new();
    folder.write("job.yaml", good());
    let thousand = |line: &dyn Fn(usize) -> String| repeated(1_000, line);
    let unknown =
        |head: &str, line: &dyn Fn(usize) -> String| settings(&format!("{head}\n{}", thousand(line)));
    let cases = [
        unknown("standards:", &|number| format!("  - none_{number}\n")),
        unknown("rules:", &|number| format!("  job_basics.none_{number}: {{severity: hold}}\n")),
        unknown("parameters:", &|number| format!("  none_{number}: 9 Nm\n")),
        unknown("documents:\n  procedures:", &|number| format!("    - none_{number}\n")),
    ];
    for settings in cases {
        folder.write("workshop.yaml", &settings);
        let ran = folder.run("inspect job.yaml --as-of 2026-03-02 --width 200");
        assert_eq!(ran.code, 2, "{ran:?}");
        let listed =
            (100..=101).map(|number| format!("none_{number}`")).filter(|name| ran.out.contains(name));
        assert_eq!(listed.count(), 0, "{}", ran.out);
        let ends = ["900 more like those above are not listed", "400 more like those above are not listed"];
        assert!(ends.iter().any(|end| ran.out.contains(end)), "{}", ran.out);
    }
}

#[test]
fn concessions_without_number_are_listed_up_to_a_bound() {
    let folder = Folder::new();
    let concessions = repeated(1_000, |number| {
        format!("  - {{rule: job_basics.none_{number}, granted_by: foreman, name: Ada, reason: R}}\n")
    });
    folder.write("job.yaml", good() + "concessions:\n" + &concessions);
    let ran = folder.run("inspect job.yaml --standard job_basics --as-of 2026-03-02 --width 200");
    assert!(ran.out.contains("900 more like those above are not listed"), "{}", ran.out);
    assert_eq!(ran.out.matches("no rule of this run is called").count(), 100, "{}", ran.out);
}

#[test]
fn a_standard_that_is_named_again_is_read_once() {
    let folder = Folder::new();
    folder.write("job.yaml", good());
    folder.write("rules/plugs.standard", super::PLUGS);
    let inspect = |number: usize| {
        let lines = repeated(number, |number| {
            let name = ["job_basics", "./rules", "rules/plugs.standard"][number % 3];
            format!("  - {name}\n")
        });
        folder.write("workshop.yaml", settings(&format!("standards:\n{lines}")));
        let ran = folder.run("inspect job.yaml --as-of 2026-03-02 --width 200");
        assert!(ran.out.contains("plugs edition 1"), "{}", ran.out);
        // The settings are others, and so is their content hash.
        let lines = ran.out.lines().filter(|line| !line.contains("workshop.yaml"));
        (ran.code, lines.map(str::to_owned).collect::<Vec<_>>())
    };
    assert_eq!(inspect(3), inspect(3_000));
}

#[test]
fn rule_files_without_number_are_read_up_to_a_bound() {
    let folder = Folder::new();
    for number in 0..1_030 {
        let name: String =
            format!("{number:04}").bytes().map(|digit| char::from(digit - b'0' + b'a')).collect();
        folder.write(
            &format!("rules/{name}.standard"),
            super::PLUGS.replace("standard plugs", &format!("standard {name}")),
        );
    }
    let ran = folder.run("prove rules --without-settings");
    assert_eq!(ran.code, 2, "{}", ran.err);
    assert_eq!(
        ran.out.matches("more than 1024 rule files are named, and the others are not read").count(),
        1
    );
}

#[test]
fn a_rule_file_that_uses_itself_without_end_is_told_in_few_lines() {
    let folder = Folder::new();
    folder
        .write("plugs.standard", repeated(6_000, |_| "use \"./plugs.standard\"\n".to_owned()) + super::PLUGS);
    let ran = folder.run("prove plugs.standard --without-settings --width 200");
    assert_eq!(ran.code, 2, "{ran:?}");
    assert!(ran.out.contains("the rule files of this run have more than 4096 lines `use`"), "{}", ran.out);
    assert_eq!(ran.out.matches("these files use each other in a circle").count(), 100, "{}", ran.out);
}

#[test]
fn all_trials_together_take_a_bounded_number_of_steps() {
    let folder = Folder::new();
    let trial = "  trial met    { fastenings: [{ role: drain plug, torque: 45 Nm }] }\n";
    folder.write("plugs.standard", super::PLUGS.replace(trial, &trial.repeat(400)));
    let prove = |steps: u32| {
        folder.run(&format!("prove plugs.standard --without-settings --width 200 --most-steps {steps}"))
    };
    let ran = prove(100);
    assert_eq!(ran.code, 1, "{ran:?}");
    assert!(
        ran.out
            .contains("the trials up to this one take more than 1000 steps together, so it does not count"),
        "{}",
        ran.out
    );
    assert!(ran.out.contains("--most-steps"), "{}", ran.out);
    prove(100_000).quietly(0);
}

/// The steps of a run are counted in the order of its files, so that what is left out is the same for any number of threads.
#[test]
fn all_documents_of_a_run_together_take_a_bounded_number_of_steps() {
    let folder = Folder::new();
    folder.write("plugs.standard", super::PLUGS);
    for number in 0..40 {
        folder.write(&format!("jobs/{number:02}.yaml"), good());
    }
    folder.write("many.yaml", repeated(40, |_| format!("---\n{}", good())));
    let run = |path: &str, most: u32, threads: u8| {
        folder.run(&format!(
            "inspect {path} --standard plugs.standard --as-of 2026-03-02 --width 300 --most-steps-in-all {most} --threads {threads}"
        ))
    };
    for path in ["jobs", "many.yaml"] {
        let of_one =
            crate::support::session(&[("plugs.standard", super::PLUGS)]).judge("a.yaml", &good())[0].steps;
        // One more is begun before the steps of ten are done.
        let most = u32::try_from(of_one).unwrap() * 10;
        let ran = run(path, most, 1).quietly(2);
        let left_out = ran.out.matches("not judged: the rules have taken more than").count();
        assert_eq!(left_out, 29, "{}", ran.out);
        ran.says(&["allow more with `--most-steps-in-all`"]);
        for threads in [2, 8] {
            assert_eq!(run(path, most, threads).out, run(path, most, 1).out);
        }
        run(path, 1_000_000, 2).quietly(0);
    }
}

#[test]
fn a_run_keeps_a_bounded_number_of_procedures_and_registers() {
    let folder = Folder::new();
    folder.write("plugs.standard", super::PLUGS);
    folder.write("jobs/a.yaml", good());
    for number in 0..4 {
        let comment = "# so long\n".repeat(40_000);
        let procedure = format!(
            "form: procedure/1\nprocedure: {{name: p{number}, edition: 1}}\nunit: {{kind: engine}}\n{comment}"
        );
        folder.write(&format!("procedures/p{number}.yaml"), procedure);
    }
    folder.write(
        "workshop.yaml",
        settings("standards: [plugs.standard]\ndocuments: {procedures: [procedures]}\n"),
    );
    let ran = folder.run("inspect jobs --as-of 2026-03-02 --width 300 --most-kept 1").quietly(2);
    ran.says(&[
        "2 files with procedures or tools are left out, as a run keeps 1 MiB of them at most: procedures/p2.yaml, procedures/p3.yaml",
        "allow more with `--most-kept`",
    ]);
    folder.run("inspect jobs --as-of 2026-03-02 --width 300 --most-kept 2").quietly(0);
}

#[cfg(unix)]
#[test]
fn names_that_are_no_text_are_told_apart_in_every_form() {
    use std::os::unix::ffi::OsStrExt as _;
    let folder = Folder::new();
    std::fs::create_dir(folder.path().join("jobs")).unwrap();
    for name in [b"a\xff.yaml", b"a\xfe.yaml"] {
        std::fs::write(
            folder.path().join("jobs").join(std::ffi::OsStr::from_bytes(name)),
            "form: job/1\njob: 1\n",
        )
        .unwrap();
    }
    for row in witnessmark::report::FORMATS {
        let ran = folder.run(&format!("inspect jobs --format {}", row.name));
        for name in ["FF.yaml", "FE.yaml"] {
            assert!(ran.out.contains(name), "{}: {name}: {}", row.name, ran.out);
        }
    }
}

/// A standard's own condition can take all steps, so that no rule of it is looked at.
#[test]
fn steps_that_end_before_the_first_rule_fail_the_run() {
    let record = crate::support::root().join("examples/grauwasser/jobs/K-2045-sump-screw-too-tight.yaml");
    let folder = folder();
    folder.write("record.yaml", std::fs::read(record).unwrap());
    let mut in_conditions = 0;
    for steps in (1..=120).step_by(7) {
        let ran =
            folder.run(&format!("inspect record.yaml --as-of 2026-03-31 --width 300 --most-steps {steps}"));
        assert_ne!(ran.code, 0, "{steps}: {ran:#?}");
        assert!(ran.out.contains("allow more with `--most-steps`"), "{steps}: {ran:#?}");
        in_conditions +=
            usize::from(ran.out.contains("the last of them for the conditions by which standards apply"));
    }
    assert!(in_conditions > 5, "{in_conditions}");
}
