//! The targets for libFuzzer. `FUZZ_TARGET` names the one that runs, or is `list` for their names, each with the length of
//! its longest input; `FUZZ_SEEDS` names a folder into which the seeds are written first.
#![no_main]

mod targets;

use std::sync::LazyLock;

use libfuzzer_sys::fuzz_target;

static TARGET: LazyLock<&'static targets::Target> = LazyLock::new(|| {
    let name = std::env::var("FUZZ_TARGET").unwrap_or_default();
    let names: Vec<&str> = targets::TARGETS.iter().map(|target| target.name).collect();
    let target = targets::TARGETS.iter().find(|target| target.name == name);
    target.unwrap_or_else(|| panic!("FUZZ_TARGET is `{name}`; the targets are {names:?}"))
});

fuzz_target!(
    init: {
        if std::env::var("FUZZ_TARGET").is_ok_and(|name| name == "list") {
            targets::TARGETS.iter().for_each(|target| println!("{} {}", target.name, target.longest));
            std::process::exit(0);
        }
        targets::start_in_order();
        if let Some(folder) = std::env::var_os("FUZZ_SEEDS") {
            let folder = std::path::PathBuf::from(folder);
            std::fs::create_dir_all(&folder).expect("the folder of seeds is made");
            for (number, seed) in (TARGET.seeds)().iter().enumerate() {
                std::fs::write(folder.join(format!("seed-{number}")), seed).expect("a seed is written");
            }
        }
    },
    |data: &[u8]| (TARGET.run)(data)
);
