//! The settings: only this module reads the environment and the platform's folders.
//!
//! They are read once at the start and passed down; nothing else reads the environment.

use std::ffi::OsString;
use std::path::PathBuf;

/// The words of the command line, the program's own name first.
pub(crate) fn arguments() -> std::env::ArgsOs {
    std::env::args_os()
}

/// The settings from the environment.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct Settings {
    /// The path of the book: `SKIMGATE_BOOK` if set, else `skimgate/book.sqlite3` in the folder for a user's state
    /// (`$XDG_STATE_HOME` or `~/.local/state` on Linux). `None` when neither is known.
    pub book: Option<PathBuf>,
    /// Whether `NO_COLOR` is set and not empty.
    pub no_color: bool,
    /// Whether `CLICOLOR_FORCE` is set, not empty and not `0`.
    pub clicolor_force: bool,
    /// `TERM`, if set and not empty.
    pub term: Option<String>,
    /// `COLUMNS`, if it is a number above zero; in characters.
    pub columns: Option<u16>,
    /// Whether the locale is UTF-8 (`LC_ALL`, else `LC_CTYPE`, else `LANG`); always true on Windows.
    pub utf8: bool,
}

impl Settings {
    /// Reads the environment of this process.
    pub(crate) fn read() -> Self {
        let state = dirs::state_dir().or_else(dirs::data_local_dir);
        Self::from(|name| std::env::var_os(name), state, cfg!(windows))
    }

    /// The settings from the variables that `lookup` finds and from `state`, the folder for a user's state.
    fn from(
        lookup: impl Fn(&str) -> Option<OsString>,
        state: Option<PathBuf>,
        windows: bool,
    ) -> Self {
        let set = |name: &str| lookup(name).filter(|value| !value.is_empty());
        let text = |name: &str| set(name).and_then(|value| value.into_string().ok());
        let locale = ["LC_ALL", "LC_CTYPE", "LANG"].into_iter().find_map(set);
        Self {
            book: set("SKIMGATE_BOOK")
                .map(PathBuf::from)
                .or_else(|| state.map(|folder| folder.join("skimgate").join("book.sqlite3"))),
            no_color: set("NO_COLOR").is_some(),
            clicolor_force: set("CLICOLOR_FORCE").is_some_and(|value| value != "0"),
            term: text("TERM"),
            columns: text("COLUMNS")
                .and_then(|value| value.trim().parse().ok())
                .filter(|columns| *columns > 0),
            utf8: windows || locale.is_some_and(|locale| says_utf8(&locale.to_string_lossy())),
        }
    }
}

fn says_utf8(locale: &str) -> bool {
    let locale = locale.to_ascii_lowercase();
    locale.contains("utf-8") || locale.contains("utf8")
}

#[cfg(test)]
mod tests {
    use super::Settings;
    use std::ffi::OsString;
    use std::path::PathBuf;

    fn from(variables: &[(&str, &str)]) -> Settings {
        let lookup = |name: &str| {
            let found = variables.iter().find(|(known, _)| *known == name)?;
            Some(OsString::from(found.1))
        };
        Settings::from(lookup, Some(PathBuf::from("state")), false)
    }

    #[test]
    fn an_empty_environment_is_plain() {
        let expected = Settings {
            book: Some(["state", "skimgate", "book.sqlite3"].iter().collect()),
            no_color: false,
            clicolor_force: false,
            term: None,
            columns: None,
            utf8: false,
        };
        assert_eq!(from(&[]), expected);
        assert_eq!(Settings::from(|_| None, None, false).book, None);
        assert!(Settings::from(|_| None, None, true).utf8);
    }

    #[test]
    fn empty_counts_as_not_set() {
        let names = [
            "SKIMGATE_BOOK",
            "NO_COLOR",
            "CLICOLOR_FORCE",
            "TERM",
            "COLUMNS",
            "LC_ALL",
        ];
        assert_eq!(from(&names.map(|name| (name, ""))), from(&[]));
    }

    #[test]
    fn a_named_book_is_used_instead_of_the_folder() {
        assert_eq!(
            from(&[("SKIMGATE_BOOK", "shop.sqlite3")]).book,
            Some(PathBuf::from("shop.sqlite3"))
        );
    }

    #[test]
    fn colour_can_be_forced_and_refused() {
        assert!(from(&[("NO_COLOR", "0")]).no_color);
        assert!(from(&[("CLICOLOR_FORCE", "1")]).clicolor_force);
        assert!(!from(&[("CLICOLOR_FORCE", "0")]).clicolor_force);
    }

    #[test]
    fn columns_must_be_a_number() {
        for (text, columns) in [
            ("132", Some(132)),
            ("0", None),
            ("wide", None),
            ("70000", None),
        ] {
            assert_eq!(from(&[("COLUMNS", text)]).columns, columns, "{text}");
        }
    }

    #[test]
    fn the_first_locale_variable_that_is_set_decides() {
        assert!(from(&[("LANG", "en_GB.UTF-8")]).utf8);
        assert!(from(&[("LC_CTYPE", "de_DE.utf8"), ("LANG", "C")]).utf8);
        assert!(!from(&[("LC_ALL", "C"), ("LANG", "en_GB.UTF-8")]).utf8);
        assert!(from(&[("LC_ALL", ""), ("LANG", "en_GB.UTF-8")]).utf8);
    }

    #[cfg(unix)]
    #[test]
    fn a_path_need_not_be_utf8() {
        use std::os::unix::ffi::OsStringExt;
        let path = OsString::from_vec(vec![b'b', 0xff]);
        let lookup = |name: &str| (name == "SKIMGATE_BOOK").then(|| path.clone());
        let book = Settings::from(lookup, None, false).book;
        assert_eq!(book, Some(PathBuf::from(path.clone())));
    }
}
