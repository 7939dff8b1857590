//! What the documents name is there: every path, every target of a `cargo` command, every item that a how-to names.
//!
//! A document names what it means in backticks, or as a line of code. Each check is tried on a text with one thing wrong, so
//! that a check that no longer finds anything is noticed.

use skimgate::procedure::formula::functions::FUNCTIONS;
use std::fs;
use std::path::Path;

const DOCUMENTS: [&str; 7] = [
    "DEVELOPERS.md",
    "README.md",
    "src/keys/SECURITY.md",
    "benches/README.md",
    "tests/fuzz/README.md",
    "tests/model/README.md",
    "tests/vectors/README.md",
];

/// Stands for the name that the reader chooses.
const CHOSEN: &str = "NAME";

fn root() -> &'static Path {
    Path::new(env!("CARGO_MANIFEST_DIR"))
}

fn text(path: &str) -> String {
    fs::read_to_string(root().join(path)).unwrap()
}

/// What stands in backticks outside code blocks.
fn quoted(text: &str) -> Vec<String> {
    let prose: String = text.split("```").step_by(2).collect();
    let spans = prose.split('`').skip(1).step_by(2);
    spans
        .map(|s| s.split_whitespace().collect::<Vec<_>>().join(" "))
        .collect()
}

fn has_ending(word: &str, endings: &[&str]) -> bool {
    let ending = Path::new(word).extension().and_then(|e| e.to_str());
    ending.is_some_and(|e| endings.contains(&e))
}

/// Whether a quoted word names a file or folder of the project. A bare `shop.yaml` is the reader's own, and `mm/min` a unit.
fn is_path(word: &str) -> bool {
    let plain = |c: char| c.is_ascii_alphanumeric() || "._/-".contains(c);
    let first = word.split('/').next().unwrap_or_default();
    let folders = ["src", "tests", "benches", "checklists", ".ci"];
    let known = [
        "rs", "md", "toml", "py", "yaml", "json", "nc", "sqlite3", "dict",
    ];
    word.chars().all(plain)
        && !word.starts_with('/')
        && if word.contains('/') {
            word.ends_with('/') || has_ending(word, &known) || folders.contains(&first)
        } else {
            has_ending(word, &["rs", "md", "toml", "py"])
        }
}

/// A path is found from the project's folder, below `src`, or beside the document. Of a file still to be named the folder
/// must be there.
fn path_faults(document: &str, text: &str) -> Vec<String> {
    let beside = root().join(document);
    let starts = [
        root().to_owned(),
        root().join("src"),
        beside.parent().unwrap().to_owned(),
    ];
    let is_there = |word: &str| {
        let end = word.find(CHOSEN).map_or(word, |at| &word[..at]);
        starts.iter().any(|start| start.join(end).exists())
    };
    let words = quoted(text).into_iter().filter(|w| is_path(w));
    words
        .filter(|word| !is_there(word))
        .map(|word| format!("{document}: `{word}` is not there"))
        .collect()
}

/// The `cargo` commands of a text, quoted or as lines of code.
fn commands(text: &str) -> Vec<Vec<String>> {
    let fenced = text.split("```").skip(1).step_by(2).flat_map(str::lines);
    let indented = text.lines().filter(|line| line.starts_with("    "));
    let lines = fenced.chain(indented).map(str::to_owned);
    let mut found = Vec::new();
    for line in quoted(text).into_iter().chain(lines) {
        let words: Vec<String> = line.split_whitespace().map(str::to_owned).collect();
        let settings = words.iter().take_while(|w| w.contains('=')).count();
        if words.get(settings).is_some_and(|w| w == "cargo") {
            found.push(words[settings + 1..].to_vec());
        }
    }
    found
}

/// What is wrong with one command: a target that is not declared, or a filter that fits no module or test.
fn command_fault(words: &[String], sources: &str) -> Option<String> {
    let manifest = text("Cargo.toml");
    let mut words = words.iter().map(String::as_str).peekable();
    let known = [
        "bench", "check", "clippy", "fmt", "fuzz", "install", "mutants", "run", "rustc", "test",
    ];
    let command = words.next()?;
    if !known.contains(&command) {
        return Some(format!(
            "`cargo {command}` is no command that is known here"
        ));
    }
    let mut folder = None;
    while let Some(word) = words.next() {
        match word {
            "--test" | "--bench" => {
                let name = words.next()?;
                let section = format!("[[{}]]\nname = \"{name}\"", &word[2..]);
                if !manifest.contains(&section) {
                    return Some(format!("Cargo.toml has no {section}"));
                }
                folder = Some(format!("tests/{name}"));
            }
            "--lib" => folder = Some("src".to_owned()),
            _ if command != "test" || word.starts_with(['-', '#', '>']) => {
                if word == "#" {
                    return None;
                }
            }
            filter => {
                let module = filter.trim_end_matches("::");
                let Some(folder) = &folder else { continue };
                let at = root().join(folder).join(module);
                let is_module = at.is_dir() || at.with_extension("rs").is_file();
                let names_test = sources.contains(&format!("fn {module}"));
                if !is_module && !names_test && module.parse::<u32>().is_err() {
                    return Some(format!("`{filter}` is in no module or test of {folder}"));
                }
            }
        }
    }
    None
}

fn command_faults(document: &str, text: &str, sources: &str) -> Vec<String> {
    commands(text)
        .iter()
        .filter_map(|words| command_fault(words, sources))
        .map(|fault| format!("{document}: {fault}"))
        .collect()
}

/// All Rust text of the project.
fn sources() -> String {
    fn below(folder: &Path, all: &mut String) {
        for entry in fs::read_dir(folder).unwrap() {
            let path = entry.unwrap().path();
            // What building a package of its own leaves, and this file, which names what is not there.
            let skipped = path.ends_with("target") || path.ends_with("suite/developers.rs");
            if path.is_dir() && !skipped {
                below(&path, all);
            } else if !skipped && path.extension().is_some_and(|e| e == "rs") {
                all.push_str(&fs::read_to_string(&path).unwrap());
            }
        }
    }
    let mut all = String::new();
    for folder in ["src", "tests", "benches"] {
        below(&root().join(folder), &mut all);
    }
    all
}

/// Whether a type, constant, variant or field of that name is declared.
fn is_declared(name: &str, sources: &str) -> bool {
    let after = |c: Option<char>| c.is_none_or(|c| !c.is_alphanumeric() && c != '_');
    let declares = [
        "struct ",
        "enum ",
        "trait ",
        "type ",
        "const ",
        "static ",
        "fn ",
        "macro_rules! ",
    ];
    let declared = declares.iter().any(|word| {
        let whole = format!("{word}{name}");
        sources
            .match_indices(&whole)
            .any(|(at, _)| after(sources[at + whole.len()..].chars().next()))
    });
    declared
        || sources.lines().map(str::trim_start).any(|line| {
            let rest = line.strip_prefix("pub ").unwrap_or(line);
            rest.strip_prefix(name).is_some_and(|rest| {
                rest.starts_with(['(', '{', ',', ':']) || rest.starts_with(" {")
            })
        })
}

/// Items that a text names (`Type`, `Type::part`, `CONSTANT`, `function()`) and that the source has not.
fn item_faults(text: &str, sources: &str) -> Vec<String> {
    let mut faults = Vec::new();
    for word in quoted(text) {
        let name = word.trim_end_matches("()");
        let is_name = name
            .chars()
            .all(|c| c.is_alphanumeric() || c == '_' || c == ':');
        let is_item = word.ends_with("()") || name.starts_with(|c: char| c.is_ascii_uppercase());
        if !is_name || !is_item || name == CHOSEN || name.ends_with(':') {
            continue;
        }
        let is_there = |part: &str| {
            if word.ends_with("()") {
                [format!("fn {part}("), format!("fn {part}<")]
                    .iter()
                    .any(|f| sources.contains(f))
            } else {
                is_declared(part, sources)
            }
        };
        let missing = name.split("::").find(|part| !is_there(part));
        faults.extend(missing.map(|part| format!("`{word}`: {part} is not in the source")));
    }
    faults
}

#[test]
fn every_path_that_a_document_names_is_there() {
    let mut named = 0;
    let mut faults = Vec::new();
    for document in DOCUMENTS {
        let text = text(document);
        named += quoted(&text).iter().filter(|w| is_path(w)).count();
        faults.extend(path_faults(document, &text));
    }
    assert!(faults.is_empty(), "{}", faults.join("\n"));
    assert!(named > 100, "only {named} paths were found");
}

#[test]
fn every_cargo_command_of_a_document_names_a_target_that_is_there() {
    let sources = sources();
    let mut found = 0;
    let mut faults = Vec::new();
    for document in DOCUMENTS {
        let text = text(document);
        found += commands(&text).len();
        faults.extend(command_faults(document, &text, &sources));
    }
    assert!(faults.is_empty(), "{}", faults.join("\n"));
    assert!(found > 10, "only {found} commands were found");
}

#[test]
fn every_item_that_the_guide_names_is_in_the_source() {
    let guide = text("DEVELOPERS.md");
    let faults = item_faults(&guide, &sources());
    assert!(faults.is_empty(), "{}", faults.join("\n"));
}

#[test]
fn the_readme_names_every_formula_function() {
    let readme = text("README.md");
    let named = quoted(&readme);
    let missing = FUNCTIONS
        .iter()
        .filter(|f| !named.iter().any(|n| n == f.name));
    let missing: Vec<&str> = missing.map(|f| f.name).collect();
    assert!(missing.is_empty(), "README.md lacks {missing:?}");
}

#[test]
fn what_is_not_there_is_found() {
    let sources = sources();
    for wrong in [
        "`walk/nowhere.rs`",
        "`nowhere/`",
        "`tests/nowhere`",
        "`src/nowhere/NAME.rs`",
    ] {
        assert_eq!(path_faults("DEVELOPERS.md", wrong).len(), 1, "{wrong}");
    }
    for wrong in [
        "`cargo test --test nowhere`",
        "`X=1 cargo test --locked --test suite no_such_test -- --nocapture`",
        "    cargo bench --bench nowhere",
        "`cargo test --lib no_such_module::`",
        "`cargo nowhere`",
    ] {
        assert_eq!(
            command_faults("README.md", wrong, &sources).len(),
            1,
            "{wrong}"
        );
    }
    for wrong in [
        "`NoSuchType`",
        "`State::no_such_part`",
        "`NO_SUCH_TABLE`",
        "`nowhere_at_all()`",
    ] {
        assert_eq!(item_faults(wrong, &sources).len(), 1, "{wrong}");
    }
    let right =
        "`State::apply`, `walk/`, `NAME`, `must:`, `mm/min`, `cargo test --test suite layers`";
    assert!(item_faults(right, &sources).is_empty());
    assert!(path_faults("README.md", right).is_empty());
    assert!(command_faults("README.md", right, &sources).is_empty());
}
