//! Every seed and every find of the fuzzer, through the functions that it calls: what it once found stays mended.

#[path = "../fuzz/src/lib.rs"]
mod fuzz;

use std::path::Path;

type Target = (&'static str, fn(&[u8]));

const TARGETS: [Target; 12] = [
    ("accounts", fuzz::accounts::run),
    ("answers", fuzz::answers::run),
    ("books", fuzz::books::run),
    ("events", fuzz::events::run),
    ("expressions", fuzz::expressions::run),
    ("files", fuzz::files::run),
    ("formulas", fuzz::formulas::run),
    ("keys", fuzz::keys::run),
    ("people", fuzz::people::run),
    ("programs", fuzz::programs::run),
    ("quantities", fuzz::quantities::run),
    ("runs", fuzz::runs::run),
];

fn below(folder: &Path) -> Vec<std::path::PathBuf> {
    let Ok(entries) = std::fs::read_dir(folder) else {
        return Vec::new();
    };
    let mut paths: Vec<_> = entries.map(|entry| entry.unwrap().path()).collect();
    paths.sort();
    paths
}

#[test]
fn every_seed_and_every_find_passes() {
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/fuzz");
    let mut failed = Vec::new();
    for (target, run) in TARGETS {
        let seeds = below(&root.join("seeds").join(target));
        assert!(!seeds.is_empty(), "no seeds for {target}");
        for path in seeds
            .into_iter()
            .chain(below(&root.join("finds").join(target)))
        {
            let data = std::fs::read(&path).unwrap();
            if std::panic::catch_unwind(|| run(&data)).is_err() {
                failed.push(path);
            }
        }
    }
    assert!(failed.is_empty(), "{failed:#?}");
}

/// A target that nobody runs here would find the same fault twice.
#[test]
fn every_target_is_run_here() {
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/fuzz");
    let targets: Vec<String> = below(&root.join("targets"))
        .iter()
        .map(|path| path.file_stem().unwrap().to_str().unwrap().to_owned())
        .collect();
    assert_eq!(targets, TARGETS.map(|(name, _)| name));
    for folder in ["seeds", "finds"] {
        for path in below(&root.join(folder)).iter().filter(|p| p.is_dir()) {
            let name = path.file_name().unwrap().to_str().unwrap();
            assert!(targets.iter().any(|t| t == name), "{}", path.display());
        }
    }
}
