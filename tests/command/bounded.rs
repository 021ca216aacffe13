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
