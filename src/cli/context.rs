//! What every command stands in: the settings, the look of both streams, the book.

use super::failure::Failure;
use crate::book::{Book, BookError, location};
use crate::diagnostics::render::FindingStyle;
use crate::settings::Settings;
use crate::terminal::screen::{
    Color, Depth, Screen, Stream, Style, StyleInputs, adopt, deliver, fit, size,
};
use crate::visible;
use serde::Serialize;
use std::io::IsTerminal;
use std::path::PathBuf;

/// Options of every command.
#[derive(clap::Args, Clone, Debug)]
pub(crate) struct Global {
    /// The book to use instead of the one in this computer's state folder
    #[arg(long, global = true, value_name = "FILE", help_heading = "Everywhere")]
    pub book: Option<PathBuf>,
    /// Plain text: no symbols, no colour, no bars, no cursor movement; for screen readers and bare terminals
    #[arg(long, global = true, help_heading = "Everywhere")]
    pub plain: bool,
    /// Colour: auto, always or never
    #[arg(
        long,
        global = true,
        value_name = "WHEN",
        default_value = "auto",
        help_heading = "Everywhere"
    )]
    pub color: Color,
}

/// What every command stands in.
#[derive(Debug)]
pub(crate) struct CommandContext {
    global: Global,
    settings: Settings,
    /// The look of standard output.
    pub out: Style,
    /// The look of standard error.
    pub err: Style,
}

impl CommandContext {
    /// Reads the settings once and decides the look of both streams.
    pub(crate) fn new(global: Global) -> Self {
        let settings = Settings::read();
        let look = |terminal: bool, size: Option<[u16; 2]>| {
            Style::decide(&StyleInputs {
                color: global.color,
                plain: global.plain,
                no_color: settings.no_color.then(|| "1".to_owned()),
                clicolor_force: settings.clicolor_force.then(|| "1".to_owned()),
                term: settings.term.clone(),
                colorterm: None,
                utf8: settings.utf8,
                terminal,
                columns: size.map(|s| s[0]).or(settings.columns),
                lines: size.map(|s| s[1]),
            })
        };
        let out = look(std::io::stdout().is_terminal(), size(Stream::Out));
        let err = look(std::io::stderr().is_terminal(), size(Stream::Err));
        adopt(&out, &err);
        Self {
            global,
            settings,
            out,
            err,
        }
    }

    /// A screen on standard error.
    pub(crate) fn screen(&self) -> Screen {
        Screen::new(self.err.clone())
    }

    /// How findings are drawn on standard output.
    pub(crate) fn finding_style(&self) -> FindingStyle {
        Self::look(&self.out)
    }

    /// How findings are drawn on a stream.
    pub(crate) fn look(style: &Style) -> FindingStyle {
        match (style.plain, style.depth) {
            (true, _) => FindingStyle::Narrated,
            (false, Depth::None) => FindingStyle::Ascii,
            _ => FindingStyle::Coloured,
        }
    }

    /// Where the book is, symbolic links followed: what lies beside it is found by every name.
    pub(crate) fn book_path(&self) -> Result<PathBuf, Failure> {
        let path = self
            .global
            .book
            .clone()
            .or_else(|| self.settings.book.clone());
        path.map(|path| location(&path)).ok_or_else(|| {
            Failure::usage("there is no home folder to keep the book in")
                .hint("name a file with `--book FILE`, or set SKIMGATE_BOOK")
        })
    }

    /// The book, made if it is not there.
    pub(crate) fn book(&self) -> Result<Book, Failure> {
        Ok(Book::open(self.book_path()?)?)
    }

    /// The book, if it is there. One whose making was cut off is none yet; the next walk makes it whole.
    pub(crate) fn existing_book(&self) -> Result<Option<Book>, Failure> {
        match Book::open_existing(self.book_path()?) {
            Err(BookError::Missing { .. }) => Ok(None),
            book => Ok(Some(book?)),
        }
    }

    /// Writes text to standard output; a reader that went away is no error.
    pub(crate) fn print(&self, text: &str) -> Result<(), Failure> {
        deliver(&mut std::io::stdout().lock(), &fit(text, &self.out))
            .map_err(|e| Failure::output(&e))
    }

    /// Writes one JSON object to standard output, on one line. What would steer a terminal is escaped in it.
    pub(crate) fn print_json(&self, value: &impl Serialize) -> Result<(), Failure> {
        let text = serde_json::to_string(value)?;
        self.print(&format!("{}\n", visible::text(&text)))
    }

    /// Writes what another program reads; as it is, but not to a terminal.
    pub(crate) fn print_data(&self, text: &str) -> Result<(), Failure> {
        if std::io::stdout().is_terminal() {
            return self.print(&visible::text(text));
        }
        deliver(&mut std::io::stdout().lock(), text).map_err(|e| Failure::output(&e))
    }

    /// Writes a page to standard output.
    pub(crate) fn print_page(&self, page: &crate::report::page::Page) -> Result<(), Failure> {
        self.print(&crate::terminal::screen::render(page, &self.out))
    }
}
