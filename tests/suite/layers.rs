//! The architecture rules: modules depend only on lower layers, each crate is used in one place, and each access to the
//! outside has one module.
//!
//! The rules are in `rules`. They are checked on the project's own code, and on snippets that break each rule, so that
//! a rule that no longer finds anything is noticed.

mod rules;
mod source;

use rules::{
    DOORS, HOMES, LAYERS, Offence, SAME_LAYER, VOCABULARY, at_home, leads_to, offences, uses,
};
use source::{Source, mark_test_files};
use std::collections::BTreeSet;
use std::path::Path;

fn read_below(folder: &Path, root: &Path, found: &mut Vec<Source>) {
    for entry in std::fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        if path.is_dir() {
            read_below(&path, root, found);
        } else if path.extension().is_some_and(|e| e == "rs") {
            let below = path.strip_prefix(root).unwrap();
            let parts: Vec<_> = below.iter().map(|p| p.to_str().unwrap()).collect();
            found.push(Source::read(
                &parts.join("/"),
                &std::fs::read_to_string(&path).unwrap(),
            ));
        }
    }
}

fn project() -> Vec<Source> {
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("src");
    let mut found = Vec::new();
    read_below(&root, &root, &mut found);
    mark_test_files(&mut found);
    found
}

fn listed(offences: &[Offence]) -> String {
    let lines = offences
        .iter()
        .map(|o| format!("src/{}:{}: {}", o.file, o.line, o.what));
    lines.collect::<Vec<_>>().join("\n")
}

#[test]
fn the_project_follows_the_architecture_rules() {
    let sources = project();
    assert!(sources.len() > 50, "only {} files were read", sources.len());
    let found: Vec<Offence> = sources.iter().flat_map(offences).collect();
    assert!(
        found.is_empty(),
        "{} offences:\n{}",
        found.len(),
        listed(&found)
    );
}

/// Strings of the code that a step of a shipped procedure has as its id too, and what they mean there.
const OF_THEIR_OWN: [(&str, &str, &str); 13] = [
    (
        "procedure/program_facts.rs",
        "overrun",
        "a fact of a program",
    ),
    ("interlock/stopping.rs", "power", "a short word for a cause"),
    ("cli/plane/facts.rs", "tram_span", "the name of an argument"),
    ("procedure/kinds/read.rs", "power", "a kind of quantity"),
    ("procedure/read_ways.rs", "overrun", "a key of `ways`"),
    ("simulator/setup.rs", "warm_up", "a fact of the machine"),
    ("report/ways.rs", "remarks", "a key of the JSON"),
    (
        "walk/practice/prompter.rs",
        "mill",
        "the prompt of the practice mill",
    ),
    ("walk/practice/readout.rs", "homed", "what the readout says"),
    ("walk/practice/readout.rs", "mill", "what the readout says"),
    (
        "walk/session/kinds/work_out.rs",
        "overrun",
        "a key of `ways`",
    ),
    ("cutting/ways/", "power", "a figure of a way"),
    ("cutting/ways/tooth.rs", "chip", "a figure of a way"),
];

/// The code knows no shipped procedure: whatever it does at a step follows from the step's kind and keys.
#[test]
fn no_step_of_a_shipped_procedure_is_named_in_the_code() {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("checklists");
    let texts = std::fs::read_dir(folder)
        .unwrap()
        .map(|e| e.unwrap().path());
    let texts = texts.filter(|p| p.extension().is_some_and(|e| e == "yaml"));
    let ids: BTreeSet<String> = texts
        .filter_map(|p| {
            let text = std::fs::read_to_string(p).unwrap();
            skimgate::procedure::read::read(&text, &mut skimgate::diagnostics::Findings::default())
        })
        .flat_map(|procedure| procedure.steps().map(|s| s.id.clone()).collect::<Vec<_>>())
        .collect();
    assert!(ids.len() > 40, "only {} ids", ids.len());
    let own = |file: &str, text: &str| {
        let mut own = OF_THEIR_OWN.iter();
        own.any(|(home, word, _)| at_home(file, &[home]) && *word == text)
    };
    let mut named = Vec::new();
    for source in project() {
        for string in source.strings.iter().filter(|s| !s.test) {
            let text = &string.text;
            if ids.contains(text) && !own(&source.file, text) {
                named.push(format!("src/{}:{}: `{text}`", source.file, string.line));
            }
        }
    }
    assert!(
        named.is_empty(),
        "steps are named in:\n{}",
        named.join("\n")
    );
    let planted = Source::read("walk/x.rs", "match step { \"estop\" => 1, _ => 0 }");
    assert!(
        planted
            .strings
            .iter()
            .any(|s| ids.contains(&s.text) && !s.test)
    );
}

#[test]
fn dependencies_inside_a_layer_exist_and_make_no_cycle() {
    let drawn: BTreeSet<(String, String)> = project()
        .iter()
        .flat_map(|s| {
            s.paths()
                .iter()
                .filter_map(leads_to)
                .map(|to| (s.top().to_owned(), to))
                .collect::<Vec<_>>()
        })
        .collect();
    for (from, to) in SAME_LAYER {
        let layer = LAYERS.iter().find(|layer| layer.contains(&from)).unwrap();
        assert!(
            layer.contains(&to),
            "{from} -> {to} is not inside one layer"
        );
        assert!(
            drawn.contains(&(from.into(), to.into())),
            "{from} -> {to} is listed and never drawn"
        );
        let mut reached = vec![to];
        while let Some(here) = reached.pop() {
            assert_ne!(here, from, "{from} -> {to} is part of a ring");
            reached.extend(
                SAME_LAYER
                    .iter()
                    .filter(|(f, _)| *f == here)
                    .map(|(_, t)| *t),
            );
        }
    }
}

#[test]
fn every_listed_place_of_a_crate_and_every_exception_is_used() {
    let sources = project();
    let read: Vec<_> = sources.iter().map(|s| (s, s.paths())).collect();
    for (name, homes) in &HOMES {
        for home in *homes {
            let found = read.iter().any(|(source, paths)| {
                at_home(&source.file, &[home]) && paths.iter().any(|p| p.segments[0] == *name)
            });
            assert!(found, "`{name}` is not named in {home} any more");
        }
    }
    for (ways, homes, _) in DOORS {
        for home in homes {
            let found = read.iter().any(|(source, paths)| {
                at_home(&source.file, &[home])
                    && ways.iter().any(|way| !uses(source, paths, way).is_empty())
            });
            assert!(found, "{home} takes none of {ways:?} any more");
        }
    }
}

/// Every crate must have a place in the rules; otherwise it could be used anywhere.
#[test]
fn every_dependency_has_its_place() {
    let manifest = include_str!("../../Cargo.toml");
    let mut section = "";
    let mut seen = BTreeSet::new();
    for line in manifest.lines() {
        if line.starts_with('[') {
            section = line;
        } else if section.ends_with("dependencies]") && !section.contains("dev-dependencies") {
            let name = line.split([' ', '=', '.']).next().unwrap_or("");
            if !name.is_empty() && !name.starts_with('#') {
                seen.insert(name.replace('-', "_"));
            }
        }
    }
    let homes = HOMES.iter().map(|(name, _)| *name);
    let placed: BTreeSet<String> = homes.chain(VOCABULARY).map(str::to_owned).collect();
    assert_eq!(
        seen, placed,
        "dependencies, and the crates that the rules know"
    );
}

fn found_in(file: &str, text: &str) -> String {
    listed(&offences(&Source::read(file, text)))
}

#[test]
fn each_rule_catches_what_breaks_it() {
    for (file, text, expected) in [
        (
            "book/chain.rs",
            "use crate::walk::Session;",
            "book -> walk goes up",
        ),
        (
            "plate/touch.rs",
            "fn f() { crate::procedure::read(); }",
            "plate -> procedure goes up",
        ),
        (
            "plate/touch.rs",
            "use crate::{\n  quantity::Length,\n  report::page,\n};",
            ":3: `crate::report::page`: the arrow plate -> report",
        ),
        (
            "terminal/screen/output.rs",
            "use crate::walk::Session;",
            "terminal -> walk goes up",
        ),
        (
            "clock.rs",
            "use super::book::Book;",
            "clock -> book goes up",
        ),
        (
            "plate/touch.rs",
            "mod inner { use super::super::super::cli::run; }",
            "plate -> cli goes up",
        ),
        (
            "quantity/unit.rs",
            "#[cfg(test)]\nmod tests { use crate::plate::Entry; }",
            "quantity -> plate goes up",
        ),
        (
            "quantity/unit.rs",
            "type T = Vec<crate::plate::Entry>;",
            "quantity -> plate goes up",
        ),
        (
            "quantity/unit.rs",
            "use crate as whole;",
            "names the crate whole",
        ),
        ("quantity/unit.rs", "use crate::*;", "names the crate whole"),
        ("garage/mod.rs", "", "`garage` stands in no layer"),
        (
            "walk/mod.rs",
            "pub use crate::book::Book;",
            "passes on another layer's name",
        ),
        (
            "walk/mod.rs",
            "pub(crate) use crate::{book::{Book, Claim as C}};",
            "passes on another layer's name",
        ),
        ("walk/store/log.rs", "use super::*;", "`use super::*` hides"),
        (
            "walk/store/log.rs",
            "use crate::book::{Book, *};",
            "`use crate::book::*` hides",
        ),
        (
            "procedure/read.rs",
            "use serde_yaml::Spanned;",
            "`serde_yaml` is named outside procedure/yaml.rs",
        ),
        (
            "cli/context.rs",
            "fn f(t: &console::Term) {}",
            "`console` is named outside terminal/screen/, terminal/prompt/",
        ),
        (
            "walk/store/log.rs",
            "use rusqlite as r;",
            "`rusqlite` is named outside book/",
        ),
        (
            "book/mod.rs",
            "pub use rusqlite::Connection;",
            "gives `rusqlite` away",
        ),
        ("interlock/gate.rs", "use std::io::Write;", "in the core"),
        (
            "plate/touch.rs",
            "use std::{fmt, time::Instant};",
            "in the core",
        ),
        (
            "walk/store/log.rs",
            "let t = std::time::SystemTime::now();",
            "ask the clock",
        ),
        (
            "walk/store/log.rs",
            "let t = Instant::now();",
            "only the prompts measure",
        ),
        (
            "book/opening.rs",
            "use std::env::{self, var_os};",
            "read once, in settings",
        ),
        (
            "cli/gate.rs",
            "fn f() { println!(\"{}\", 1); }",
            "these panic on a closed pipe",
        ),
        (
            "cli/gate.rs",
            "std::process::exit(3)",
            "giving back its status",
        ),
        (
            "book/claim.rs",
            "use std::thread::sleep;",
            "SQLite waits by itself",
        ),
        (
            "cli/gate.rs",
            "let x = y\n    .unwrap();",
            ":2: `.unwrap()`: no panic",
        ),
        (
            "cli/gate.rs",
            "let x = y.expect(\"there\");",
            "`.expect(`: no panic",
        ),
        ("cli/gate.rs", "todo!()", "`todo!`: no panic"),
        (
            "cli/gate.rs",
            "#[cfg(test)]\nmod tests {}\nfn f() { g().unwrap() }",
            ":3: `.unwrap()`",
        ),
    ] {
        let found = found_in(file, text);
        assert!(found.contains(expected), "{file}: {text}\nfound: {found}");
    }
}

#[test]
fn allowed_code_is_not_reported() {
    for (file, text) in [
        (
            "cli/gate.rs",
            "use crate::walk::store::log; use crate::quantity::Length; use super::files;",
        ),
        ("main.rs", "fn main() { skimgate::cli::run(); }"),
        (
            "terminal/prompt/ask.rs",
            "use crate::terminal::screen::render; use super::line::Lines;",
        ),
        (
            "plate/touch.rs",
            "mod tests { use super::super::entry::Entry; pub(crate) fn f() {} }",
        ),
        (
            "plate/mod.rs",
            "pub use entry::Entry; pub use self::touch::Series; pub use super::plate::limits::Limits;",
        ),
        (
            "plate/touch.rs",
            "use super::reading::ZeroMode::*; use std::cmp::Ordering; use std::fmt;",
        ),
        (
            "walk/store/log.rs",
            "// use crate::cli::run;\n/* /* x */ println!() */ let s = \"a \\\" crate::cli::run\";",
        ),
        (
            "walk/store/log.rs",
            "let s = r#\"x\" .unwrap() \"#; let c = '\"'; let d = '\\''; fn f<'a>(x: &'a str) {}",
        ),
        (
            "walk/store/log.rs",
            "#[cfg(test)]\nmod tests {\n fn f() { x.unwrap(); println!(); }\n}",
        ),
        (
            "interlock/gate.rs",
            "#[cfg(test)]\nuse std::fs::read;\nfn now(now: Moment) -> Moment { clock.now() }",
        ),
        ("settings.rs", "let f = |n| std::env::var_os(n);"),
        ("walk/store/log.rs", "let console = 1; x.unwrap_or(console)"),
    ] {
        assert_eq!(found_in(file, text), "", "{file}: {text}");
    }
}

#[test]
fn a_file_that_only_tests_are_built_with_is_test_code() {
    let mut sources = [
        Source::read("book/mod.rs", "mod chain;\n#[cfg(test)]\nmod testing;"),
        Source::read("book/testing.rs", "fn f() { g().unwrap(); }"),
        Source::read("book/chain.rs", "fn f() { g().unwrap(); }"),
    ];
    mark_test_files(&mut sources);
    let offending: Vec<String> = sources.iter().flat_map(offences).map(|o| o.file).collect();
    assert_eq!(offending, ["book/chain.rs"]);
}
