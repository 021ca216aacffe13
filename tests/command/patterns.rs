//! Patterns that no shell has replaced by the files that they mean.

use super::{folder, good, hold};

const INSPECT: &str = "inspect --standard plugs.standard --as-of 2026-04-01 --brief";

#[test]
fn a_pattern_means_the_files_that_match_it() {
    let folder = folder();
    for (name, text) in [("a-1", good()), ("a-2", hold()), ("b-1", hold()), ("sub/a-3", hold())] {
        folder.write(&format!("jobs/{name}.yaml"), text.replace("K-1", name));
    }
    let judged = |pattern: &str| {
        let ran = folder.run(&format!("{INSPECT} {pattern}"));
        let names = ["a-1", "a-2", "b-1", "sub/a-3"];
        names.into_iter().filter(|name| ran.out.contains(&format!("jobs/{name}.yaml: "))).collect::<Vec<_>>()
    };
    assert_eq!(judged("jobs/a-*.yaml"), ["a-1", "a-2"]);
    assert_eq!(judged("./jobs/?-1.yaml"), ["a-1", "b-1"]);
    assert_eq!(judged("jobs/**/*.yaml"), ["a-1", "a-2", "b-1", "sub/a-3"]);
    assert_eq!(judged("jobs/*/a-[0-9].yaml jobs/a-1.yaml"), ["a-1", "sub/a-3"]);
    assert_eq!(judged("*/{a,b}-1.yaml"), ["a-1", "b-1"]);
    // Whoever meant some files must not take none for all of them.
    folder.run(&format!("{INSPECT} jobs/c-*.yaml")).refused("no file matches the pattern `jobs/c-*.yaml`");
    folder.run(&format!("{INSPECT} jobs/[.yaml")).refused("`jobs/[.yaml` is no pattern of files: ");
    // A file of that name is meant itself.
    folder.write("jobs/[x].yaml", good());
    folder.run(&format!("{INSPECT} jobs/[x].yaml")).quietly(0).says(&["jobs/[x].yaml: nothing to hold"]);
    let folder = super::folder();
    folder.write("jobs/slip.yaml", hold().replace("60 Nm", "60 NM"));
    folder.run("amend jobs/s*.yaml --yes").quietly(0).says(&["1 file corrected"]);
}
