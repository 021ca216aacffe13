//! Runs over what has changed since a revision of Git.

use std::path::Path;
use std::process::Command;

use super::{PLUGS, good, hold};
use crate::support::{Folder, Ran, finish, program};

/// A repository in a folder.
pub struct Repository(pub Folder);

impl Repository {
    pub fn new() -> Self {
        let repository = Repository(Folder::new());
        repository.git(&["init", "--quiet", "--initial-branch=main"]);
        repository
    }

    /// One with settings, a rule file and jobs.
    fn of_jobs(jobs: &[(&str, String)]) -> Self {
        let repository = Repository::new();
        repository.0.write("plugs.standard", PLUGS);
        repository
            .0
            .write("workshop.yaml", "form: workshop/1\nworkshop: {name: W}\nstandards: [plugs.standard]\n");
        for (name, text) in jobs {
            repository.0.write(&format!("jobs/{name}"), text);
        }
        repository.commit();
        repository
    }

    pub fn git(&self, words: &[&str]) -> String {
        git(self.0.path(), words)
    }

    pub fn commit(&self) {
        self.git(&["add", "--all"]);
        self.git(&["commit", "--quiet", "--message", "state"]);
    }

    fn since(&self, options: &str) -> Ran {
        self.0.run(&format!("inspect jobs --as-of 2026-04-01 --brief --width 300 --changed-since {options}"))
    }
}

fn git(folder: &Path, words: &[&str]) -> String {
    let mut git = Command::new("git");
    git.current_dir(folder).env("GIT_CONFIG_GLOBAL", "/dev/null").env("GIT_CONFIG_NOSYSTEM", "1");
    git.args([
        "-c",
        "user.name=T. Wirth",
        "-c",
        "user.email=t.wirth@example.org",
        "-c",
        "protocol.file.allow=always",
    ]);
    let output = git.args(words).output().unwrap();
    assert!(output.status.success(), "{words:?}: {}", String::from_utf8_lossy(&output.stderr));
    String::from_utf8(output.stdout).unwrap()
}

fn numbered(job: &str, number: &str) -> String {
    job.replace("K-1", number)
}

fn on(plate: &str, number: &str, day: &str) -> String {
    numbered(&good(), number)
        .replace("vehicle: {}", &format!("vehicle: {{plate: {plate}}}"))
        .replace("2026-03-02", day)
}

#[test]
fn only_what_has_changed_is_judged() {
    let repository = Repository::of_jobs(&[
        ("a.yaml", numbered(&hold(), "K-1")),
        ("b.yaml", numbered(&good(), "K-2")),
        ("c.yaml", numbered(&good(), "K-3")),
    ]);
    repository.since("HEAD").quietly(0).says(&[
        "not judged: 3, which have not changed since `HEAD` (commit ",
        "Verdict: nothing to judge: no record has changed since `HEAD`",
    ]);
    repository.0.write("jobs/b.yaml", numbered(&good(), "K-2").replace("45 Nm", "46 Nm"));
    repository.0.write("jobs/new ü \"1\".yaml", numbered(&hold(), "K-4"));
    // Another way to end a line changes nothing.
    repository.0.write("jobs/c.yaml", numbered(&good(), "K-3").replace('\n', "\r\n"));
    let ran = repository.since("HEAD").quietly(1).says(&[
        "jobs/b.yaml: ",
        "jobs/new ü \"1\".yaml: ",
        "not judged: 2",
    ]);
    assert!(!ran.out.contains("a.yaml") && !ran.out.contains("c.yaml"), "{ran:#?}");
    repository.commit();
    repository.since("HEAD~1").quietly(1).says(&["documents: 2 judged"]);
    repository.since("HEAD").quietly(0);
    for format in ["json", "sarif", "junit"] {
        let ran = repository.since(&format!("HEAD --format {format}")).quietly(0);
        assert!(ran.out.contains("nothing to judge") || format == "junit", "{ran:#?}");
        assert!(!ran.out.contains("\"executionSuccessful\":false"), "{ran:#?}");
    }
    repository
        .since("HEAD --format json")
        .says(&["\"changed_since\":{\"revision\":\"HEAD\",", "\"unchanged\":4}"]);
}

#[test]
fn a_change_of_the_rules_does_not_pass_in_silence() {
    let jobs = [("a.yaml", numbered(&good(), "K-1")), ("b.yaml", numbered(&good(), "K-2"))];
    let said = "by which records are judged has changed since `HEAD`, so every record is judged: ";
    let repository = Repository::of_jobs(&jobs);
    repository.0.write("plugs.standard", PLUGS.replace("45 Nm ± 10 %", "60 Nm ± 10 %"));
    repository.since("HEAD").quietly(1).says(&[said, ": plugs.standard\n", "documents: 2 judged", "2 holds"]);
    let full = repository.0.run("inspect jobs --as-of 2026-04-01 --changed-since HEAD");
    full.says(&["code: ", "run/changed-since"]);
    // Settings that the repository did not have did not change.
    repository.0.write(
        "trusted/workshop.yaml",
        repository.0.read("workshop.yaml").replace("plugs.standard", "../plugs.standard"),
    );
    let trusted =
        "inspect jobs --as-of 2026-04-01 --changed-since HEAD --width 300 --settings trusted/workshop.yaml";
    repository.0.run(trusted).says(&[
        "1 file by which records are judged was not in the repository at `HEAD`, so every record is judged: trusted/workshop.yaml",
        "1 file by which records are judged has changed since `HEAD`, so every record is judged: plugs.standard",
    ]);
    std::fs::remove_dir_all(repository.0.path().join("trusted")).unwrap();
    repository.commit();
    repository.0.write("workshop.yaml", repository.0.read("workshop.yaml") + "fail_on: note\n");
    repository.since("HEAD").says(&[said, ": workshop.yaml\n", "documents: 2 judged"]);
    // A file of rules that is gone changes them too, and so does a parameter of settings that are.
    repository.commit();
    repository.0.write("other.standard", PLUGS);
    repository.commit();
    std::fs::remove_file(repository.0.path().join("other.standard")).unwrap();
    repository.since("HEAD").says(&[said, ": other.standard\n"]);
    repository.commit();
    repository.0.write("known.yaml", "form: known/1\nfindings: []\n");
    repository
        .since("HEAD --accept-known known.yaml")
        .says(&["was not in the repository at `HEAD`", "every record is judged: known.yaml\n"]);
}

#[test]
fn settings_from_elsewhere_are_said_not_to_be_compared() {
    let repository = Repository::of_jobs(&[("a.yaml", good())]);
    let elsewhere = Folder::new();
    elsewhere.write("plugs.standard", PLUGS);
    let settings = elsewhere
        .write("workshop.yaml", "form: workshop/1\nworkshop: {name: W}\nstandards: [plugs.standard]\n");
    let ran = repository.since(&format!("HEAD --settings {}", settings.display())).quietly(0);
    ran.says(&["2 files by which records are judged are outside the repository of `HEAD`", "not judged: 1"]);
}

#[test]
fn what_a_change_concerns_is_judged_too() {
    let repository = Repository::of_jobs(&[
        ("a.yaml", on("GW 1", "K-1", "2026-01-02")),
        ("b.yaml", on("gw-1", "K-2", "2026-02-02")),
        ("c.yaml", on("GW 2", "K-3", "2026-02-02")),
        (
            "d.yaml",
            numbered(&good(), "K-4")
                .replace("state: closed", "state: closed, procedure: {name: sump, edition: 1}"),
        ),
        ("procedure.yaml", "form: procedure/1\nprocedure: {name: sump, edition: 1}\n".to_owned()),
    ]);
    let judged = |ran: &Ran| {
        let names = ["a", "b", "c", "d", "procedure"];
        names.into_iter().filter(|name| ran.out.contains(&format!("jobs/{name}.yaml: "))).collect::<Vec<_>>()
    };
    // The vehicle of a job that has changed, before the change and after it.
    repository.0.write("jobs/a.yaml", on("GW 2", "K-1", "2026-01-02"));
    let ran = repository.since("HEAD").says(&["2 files that have not changed since `HEAD` may be concerned by what has, and are judged: jobs/b.yaml, jobs/c.yaml"]);
    assert_eq!(judged(&ran), ["a", "b", "c"], "{ran:#?}");
    repository.git(&["checkout", "--quiet", "."]);
    // One that is gone.
    std::fs::remove_file(repository.0.path().join("jobs/a.yaml")).unwrap();
    let ran = repository.since("HEAD").says(&["1 file that was there at `HEAD` is gone: jobs/a.yaml"]);
    assert_eq!(judged(&ran), ["b"], "{ran:#?}");
    repository.git(&["checkout", "--quiet", "."]);
    // The procedure that a job names.
    repository.0.write(
        "jobs/procedure.yaml",
        "form: procedure/1\nprocedure: {name: sump, edition: 1, title: Sump}\n",
    );
    let ran = repository.since("HEAD");
    assert_eq!(judged(&ran), ["d", "procedure"], "{ran:#?}");
    repository.git(&["checkout", "--quiet", "."]);
    // A register, wherever it is.
    repository.0.write("tools.yaml", "form: tools/1\ntools: []\n");
    let settings = repository.0.read("workshop.yaml") + "documents: {tools: [tools.yaml]}\n";
    repository.0.write("workshop.yaml", settings);
    repository.commit();
    repository.since("HEAD").says(&["not judged: 5"]);
    repository.0.write("tools.yaml", "form: tools/1\ntools: [{number: T-1}]\n");
    let ran = repository.since("HEAD").says(&["so every record is judged: tools.yaml"]);
    assert_eq!(judged(&ran), ["a", "b", "c", "d", "procedure"], "{ran:#?}");
}

#[test]
fn a_record_whose_log_has_changed_is_judged() {
    let job =
        good() + "logs: [{of: level check, started: 2026-03-02T08:20:00+01:00, temperature: check.csv}]\n";
    let repository = Repository::of_jobs(&[("a.yaml", job)]);
    repository.0.write("jobs/check.csv", "time [s], temperature [°C]\n0, 40\n60, 42\n");
    repository.commit();
    repository.since("HEAD").says(&["not judged: 1"]);
    repository.0.write("jobs/check.csv", "time [s], temperature [°C]\n0, 40\n60, 43\n");
    repository
        .since("HEAD")
        .says(&["1 file that has not changed since `HEAD` may be concerned", "documents: 1 judged"]);
}

#[test]
fn a_revision_that_is_not_there_is_an_error() {
    let repository = Repository::of_jobs(&[("a.yaml", good())]);
    repository.since("mian").refused("there is no revision `mian` in this repository; did you mean `main`?");
    repository.since("0123456789abcdef").refused("name a commit, a branch or a tag that has been fetched");
    for name in ["--output=x", "--help", "-v", "--"] {
        repository.since(name).refused(&format!("`{name}` is not the name of a revision"));
    }
    repository.since("HEAD:jobs").refused("there is no revision `HEAD:jobs`");
    repository.since("HEAD..HEAD").refused("there is no revision `HEAD..HEAD`");
    let ran = repository.0.run_with(["inspect", "-", "--changed-since", "HEAD"], &good());
    ran.refused("standard input has no path in a repository");
    let none = Folder::new();
    none.write("jobs/a.yaml", good());
    none.run("inspect jobs --changed-since HEAD")
        .refused("`jobs` is in no Git repository whose files can be compared");
    // Two repositories in one run.
    let other = Repository::of_jobs(&[("a.yaml", good())]);
    let other = other.0.path().join("jobs");
    let ran = repository
        .0
        .run(&format!("inspect jobs {} --without-settings --changed-since HEAD", other.display()));
    ran.refused("inspect each repository by itself");
    // A clone that has not the whole history.
    repository.0.write("jobs/b.yaml", numbered(&good(), "K-2"));
    repository.commit();
    let clone = Folder::new();
    let from = format!("file://{}", repository.0.path().display());
    git(clone.path(), &["clone", "--quiet", "--depth=1", &from, "copy"]);
    let ran = clone.run("inspect copy/jobs --changed-since HEAD~1");
    ran.refused(
        "there is no revision `HEAD~1` in this repository; this clone is shallow: fetch its history first",
    );
}

/// Nothing that a repository is set up to run is run, and what the environment says of another one does not count.
#[cfg(unix)]
#[test]
fn nothing_of_a_repository_is_run() {
    let repository = Repository::of_jobs(&[("a.yaml", good())]);
    let path = repository.0.path().to_owned();
    let script = repository.0.write("run.sh", "#!/bin/sh\necho ran >>\"$(dirname \"$0\")/ran\"\ncat\n");
    std::fs::set_permissions(&script, std::os::unix::fs::PermissionsExt::from_mode(0o755)).unwrap();
    let script = script.display().to_string();
    for key in [
        "core.fsmonitor",
        "core.pager",
        "pager.ls-tree",
        "filter.own.clean",
        "filter.own.smudge",
        "diff.own.textconv",
        "diff.external",
        "core.sshCommand",
    ] {
        repository.git(&["config", key, &script]);
    }
    repository.0.write(".gitattributes", "*.yaml filter=own diff=own\n");
    repository.0.write("jobs/b.yaml", hold());
    repository.since("HEAD").quietly(1);
    assert!(!path.join("ran").exists(), "something was run");
    let mut command = program(&path);
    command.args(["inspect", "jobs", "--changed-since", "HEAD", "--brief"]);
    let elsewhere = Repository::of_jobs(&[("a.yaml", hold())]);
    for (name, at) in [("GIT_DIR", ".git"), ("GIT_WORK_TREE", ""), ("GIT_INDEX_FILE", ".git/index")] {
        command.env(name, elsewhere.0.path().join(at));
    }
    finish(command, "").quietly(1).says(&["not judged: 1", "1 hold"]);
}

/// A record that was hidden and is not any more is judged now, though it has not changed itself.
#[test]
fn what_a_change_of_the_ignore_files_brings_to_light_is_judged() {
    let hiding = |name: &str, text: &str| {
        let repository = Repository::of_jobs(&[("a.yaml", numbered(&good(), "K-1"))]);
        repository.0.write("jobs/deep/b.yaml", numbered(&hold(), "K-2"));
        repository.0.write("other/c.yaml", numbered(&good(), "K-3"));
        repository.0.write("other/.gitignore", "d.yaml\n");
        repository.0.write(name, text);
        repository.git(&["add", "--all", "--force"]);
        repository.git(&["commit", "--quiet", "--message", "state"]);
        repository.since("HEAD --hidden leave").quietly(0);
        repository
    };
    let said = "2 files that have not changed since `HEAD` may be concerned by what has, and are judged: jobs/a.yaml, jobs/deep/b.yaml";
    for name in [".gitignore", ".ignore", "jobs/.gitignore", "jobs/.ignore"] {
        let repository = hiding(name, "b.yaml\n");
        std::fs::remove_file(repository.0.path().join(name)).unwrap();
        repository.since("HEAD").quietly(1).says(&[said, "jobs/deep/b.yaml: 1 hold"]);
        repository.0.write(name, "c.yaml\n");
        repository.since("HEAD").quietly(1).says(&[said, "jobs/deep/b.yaml: 1 hold"]);
    }
    // One that takes back what another one says.
    let repository = hiding("jobs/.ignore", "b.yaml\n");
    repository.0.write("jobs/deep/.ignore", "!b.yaml\n");
    repository.since("HEAD").quietly(1).says(&["1 file that has not changed", "jobs/deep/b.yaml: 1 hold"]);
    // One beside it concerns nothing here.
    let repository = hiding("jobs/.ignore", "b.yaml\n");
    std::fs::remove_file(repository.0.path().join("other/.gitignore")).unwrap();
    repository.since("HEAD --hidden leave").quietly(0).says(&["nothing to judge"]);
}

/// What a name means is not chosen by whoever gave it to something else, too.
#[test]
fn a_name_of_two_things_is_no_name_of_a_revision() {
    let repository = Repository::of_jobs(&[("a.yaml", numbered(&hold(), "K-1"))]);
    let commit = repository.git(&["rev-parse", "HEAD"]);
    repository.git(&["branch", "base"]);
    repository.0.write("jobs/b.yaml", numbered(&hold(), "K-2"));
    repository.commit();
    let said = "` is the name of several things in this repository; write which one: `refs/heads/";
    for (tag, name) in [("base", "base"), ("base", "base~0"), ("main", "main"), (&commit[..8], &commit[..8])]
    {
        repository.git(&["tag", tag, "HEAD"]);
        if tag != "base" && tag != "main" {
            repository.git(&["config", "core.warnAmbiguousRefs", "false"]);
        }
        let ran = repository.since(name);
        assert!(ran.code == 2 && ran.err.contains(&format!("`{name}{said}")), "{ran:#?}");
        if tag == "base" {
            repository.since("refs/heads/base").quietly(1).says(&["1 judged"]);
            repository.since("refs/tags/base").quietly(0).says(&["nothing to judge"]);
            repository.git(&["tag", "--delete", tag]);
        }
    }
    let ran = repository.0.run("compare plugs.standard --changed-since main");
    assert!(ran.code == 2 && ran.err.contains("several things"), "{ran:#?}");
}
