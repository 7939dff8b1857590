//! The rules on what may be used where: the layers and the dependencies between them, the places of crates, and the
//! modules with access to the outside.

use super::source::{Path, Source, tokens};

/// The layers from the top. A module may depend on any lower layer.
pub const LAYERS: [&[&str]; 9] = [
    &["main", "lib"],
    &["cli"],
    &["walk"],
    &["terminal", "book", "clock", "settings"],
    &["files"],
    &["report", "simulator", "interlock", "people", "stock"],
    &["program", "procedure", "diagnostics"],
    &["plate", "cutting", "scene"],
    &["quantity", "fingerprint", "keys", "visible"],
];

/// The first layer of the core: from here down, no input or output, no clock, no environment.
const CORE: usize = 5;

/// The dependencies inside one layer. They must not make a cycle, and unused ones must be removed.
pub const SAME_LAYER: [(&str, &str); 6] = [
    ("cutting", "plate"),
    ("interlock", "people"),
    ("report", "interlock"),
    ("report", "stock"),
    ("procedure", "diagnostics"),
    ("procedure", "program"),
];

/// Crates that shape the design, with the only files or folders that use each, so that each can be replaced.
pub const HOMES: [(&str, &[&str]); 24] = [
    ("annotate_snippets", &["diagnostics/render.rs"]),
    ("argon2", &["keys/"]),
    ("chacha20poly1305", &["keys/"]),
    ("clap", &["cli/"]),
    // The prompts need its keys and cursor, the screen its widths and colours.
    ("console", &["terminal/screen/", "terminal/prompt/"]),
    ("csv", &["report/spreadsheet.rs"]),
    ("ctrlc", &["terminal/prompt/"]),
    ("delaunator", &["plate/interpolation/mesh.rs"]),
    ("dialoguer", &["terminal/prompt/"]),
    ("dirs", &["settings.rs"]),
    ("ed25519_dalek", &["keys/"]),
    ("getrandom", &["terminal/prompt/"]),
    ("indicatif", &["terminal/screen/"]),
    // One formats times, the other reads the time zone; neither may depend on the other's layer.
    ("jiff", &["quantity/moment.rs", "clock.rs"]),
    // One writes pages, the other drawings.
    ("maud", &["report/html/", "scene/svg/"]),
    ("num_rational", &["quantity/exact.rs"]),
    ("num_traits", &["quantity/exact.rs"]),
    ("rusqlite", &["book/"]),
    ("rustix", &["terminal/prompt/", "files.rs"]),
    ("serde_yaml", &["procedure/yaml.rs"]),
    ("sha2", &["fingerprint.rs"]),
    ("signal_hook", &["terminal/prompt/"]),
    ("textwrap", &["terminal/screen/"]),
    ("zeroize", &["keys/"]),
];

/// Crates that may be used everywhere.
pub const VOCABULARY: [&str; 3] = ["serde", "serde_json", "thiserror"];

/// Calls with access to the outside, where each is allowed, and why nowhere else. Test code may use them.
pub const DOORS: [(&[&str], &[&str], &str); 9] = [
    (
        &[
            "fs::read",
            "fs::read_to_string",
            "fs::write",
            "fs::copy",
            "File::open",
            "File::create",
            "File::create_new",
            "OpenOptions::new",
        ],
        // The book's own files: SQLite's, and the claims next to it, which are locked and not only read.
        &["files.rs", "book/"],
        "a pipe blocks, a device has no end, a link leads elsewhere; use the one reader and writer in files",
    ),
    (
        &[
            "SystemTime::now",
            "Timestamp::now",
            "Zoned::now",
            "ZonedDateTime::now",
        ],
        &["clock.rs"],
        "the time comes in with the command, so that a run can be replayed; ask the clock",
    ),
    (
        &["Instant::now"],
        &["clock.rs", "terminal/prompt/"],
        "only the prompts measure how long a person or a cut takes, and the clock that it never goes back",
    ),
    (
        &[
            "env::var",
            "env::var_os",
            "env::vars",
            "env::vars_os",
            "env::set_var",
            "env::remove_var",
            "env::args",
            "env::args_os",
        ],
        &["settings.rs"],
        "the environment is read once, in settings, and handed down",
    ),
    (
        &["println!", "print!", "eprintln!", "eprint!", "dbg!"],
        &[],
        "these panic on a closed pipe and know no style; hand a page to the screen",
    ),
    (
        &["process::exit", "process::abort"],
        &["terminal/prompt/signals.rs"],
        "a command ends by giving back its status, so that locks and the terminal are left in order",
    ),
    (
        &["thread::sleep"],
        // Waiting for a file lock has no time limit of its own.
        &["terminal/prompt/", "book/claim_files.rs"],
        "only the prompts wait while a person is there; SQLite waits by itself",
    ),
    (
        &[".unwrap()", ".expect(", ".unwrap_err()", ".expect_err("],
        &[],
        "no panic on a person's path; give an error that says what to do",
    ),
    (
        &["panic!", "todo!", "unimplemented!", "unreachable!"],
        &[],
        "no panic on a person's path; give an error that says what to do",
    ),
];

const WORLD: [&str; 8] = ["env", "fs", "io", "net", "os", "process", "thread", "time"];

/// A broken rule with its place.
#[derive(Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct Offence {
    pub file: String,
    pub line: usize,
    pub what: String,
}

fn rank(module: &str) -> Option<usize> {
    LAYERS.iter().position(|layer| layer.contains(&module))
}

pub fn at_home(file: &str, homes: &[&str]) -> bool {
    homes.iter().any(|home| match home.strip_suffix('/') {
        Some(_) => file.starts_with(home),
        None => file == *home,
    })
}

/// The top module of the crate that a path leads to: `None` for paths to other crates, empty for the whole crate.
pub fn leads_to(path: &Path) -> Option<String> {
    let mut rest = path.segments.iter().map(String::as_str);
    let next = |s: Option<&str>| match s {
        None | Some("self" | "*") => String::new(),
        Some(module) => module.to_owned(),
    };
    match rest.next()? {
        "crate" | "skimgate" => Some(next(rest.next())),
        first @ ("super" | "self") => {
            let ups =
                usize::from(first == "super") + rest.clone().take_while(|s| *s == "super").count();
            let left = path.within.len().saturating_sub(ups);
            let after = rest.find(|s| *s != "super");
            match path.within[..left].first() {
                Some(own) => Some(own.clone()),
                None => Some(next(after)),
            }
        }
        _ => None,
    }
}

/// Every offence of one file.
pub fn offences(source: &Source) -> Vec<Offence> {
    let mut found = Vec::new();
    let mut say = |line: usize, what: String| {
        let file = source.file.clone();
        found.push(Offence { file, line, what });
    };
    let own = source.top();
    let Some(own_rank) = rank(own) else {
        say(
            1,
            format!("`{own}` stands in no layer; give it its place in LAYERS"),
        );
        return found;
    };
    let paths = source.paths();
    for path in &paths {
        let text = path.segments.join("::");
        if let Some(to) = leads_to(path) {
            if to.is_empty() {
                say(
                    path.line,
                    format!("`{text}` names the crate whole, which hides the arrow"),
                );
            } else if to != own {
                let drawn = SAME_LAYER.contains(&(own, to.as_str()));
                match rank(&to) {
                    Some(r) if r > own_rank || (r == own_rank && drawn) => {}
                    // A macro or type at the top of the crate: there are none, and none should be added.
                    None => say(path.line, format!("`{text}`: `{to}` stands in no layer")),
                    Some(_) => say(
                        path.line,
                        format!("`{text}`: the arrow {own} -> {to} goes up"),
                    ),
                }
                if path.used == Some(true) {
                    say(
                        path.line,
                        format!(
                            "`pub use {text}` passes on another layer's name, which hides the arrow"
                        ),
                    );
                }
            }
        }
        let glob = path.segments.last().is_some_and(|s| s == "*");
        let module = path
            .segments
            .iter()
            .rev()
            .nth(1)
            .is_some_and(|s| s.starts_with(char::is_lowercase));
        if glob && module && leads_to(path).is_some() {
            say(
                path.line,
                format!("`use {text}` hides who depends on whom; name what is used"),
            );
        }
        let first = path.segments.first().map_or("", String::as_str);
        let named = path.used.is_some() || path.segments.len() > 1;
        for (_, homes) in HOMES.iter().filter(|(c, _)| *c == first && named) {
            if !at_home(&source.file, homes) {
                say(
                    path.line,
                    format!("`{first}` is named outside {}", homes.join(", ")),
                );
            } else if path.used == Some(true) {
                say(
                    path.line,
                    format!("`pub use {text}` gives `{first}` away to other files"),
                );
            }
        }
        let world = path
            .segments
            .iter()
            .position(|s| s == "std")
            .and_then(|i| path.segments.get(i + 1));
        if own_rank >= CORE && !path.test && world.is_some_and(|w| WORLD.contains(&w.as_str())) {
            say(
                path.line,
                format!(
                    "`{text}` in the core: no input or output, no clock, no environment below the shell"
                ),
            );
        }
    }
    for (ways, _, why) in DOORS
        .iter()
        .filter(|(_, homes, _)| !at_home(&source.file, homes))
    {
        for way in *ways {
            for line in uses(source, &paths, way) {
                say(line, format!("`{way}`: {why}"));
            }
        }
    }
    found.sort();
    found.dedup();
    found
}

/// The lines outside test code that use `way`, as a full path or by an import.
pub fn uses(source: &Source, paths: &[Path], way: &str) -> Vec<usize> {
    let way: Vec<String> = tokens(way).into_iter().map(|t| t.text).collect();
    let spelt = source
        .tokens
        .windows(way.len())
        .filter(|w| !w[0].test && w.iter().map(|t| &t.text).eq(&way));
    let words: Vec<&String> = way.iter().filter(|t| *t != "::").collect();
    let imported = paths.iter().filter(|p| {
        p.used.is_some()
            && !p.test
            && p.segments
                .windows(words.len())
                .any(|w| w.iter().eq(words.iter().copied()))
    });
    spelt
        .map(|w| w[0].line)
        .chain(imported.map(|p| p.line))
        .collect()
}
