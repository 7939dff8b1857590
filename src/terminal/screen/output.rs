//! Writes pages to standard error. Standard output is left to data.
//!
//! A reader that has gone away (a closed pipe, a terminal that hung up) is no error: there is nobody left to tell.

use super::render::{lines_left, render};
use super::style::{Depth, Style};
use crate::report::page::Page;
use crate::visible;
use console::Term;
use std::borrow::Cow;
use std::io::{self, ErrorKind, Write};

/// The two streams a terminal may stand behind.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Stream {
    /// Standard output: data.
    Out,
    /// Standard error: talk.
    Err,
}

/// The screen the person looks at.
#[derive(Debug, Clone)]
pub struct Screen {
    style: Style,
}

impl Screen {
    /// A screen of this style on standard error.
    pub fn new(style: Style) -> Self {
        Self { style }
    }

    /// What the screen can show, at the size it has now: a window may have been drawn smaller since the last page.
    pub(crate) fn style(&self) -> Style {
        match size(Stream::Err) {
            Some([columns, lines]) => self.style.at(columns, lines),
            None => self.style.clone(),
        }
    }

    /// Shows a page. A reader that has gone away is no error.
    pub(crate) fn show(&self, page: &Page) -> io::Result<()> {
        Self::write(&render(page, &self.style()))
    }

    /// How many lines of the window a page leaves free.
    pub fn lines_left(&self, page: &Page) -> usize {
        lines_left(page, &self.style())
    }

    /// Writes text that has been made fit to print already, without a line end of its own.
    pub(crate) fn write(text: &str) -> io::Result<()> {
        deliver(&mut io::stderr().lock(), &visible::drawn(text))
    }
}

/// Text as this style may show it: what would steer the terminal is made visible, colours stay where there are any.
pub fn fit<'a>(text: &'a str, style: &Style) -> Cow<'a, str> {
    if style.depth == Depth::None {
        visible::text(text)
    } else {
        visible::drawn(text)
    }
}

/// Writes text as it is and flushes; a closed pipe or a terminal that hung up is no error.
pub fn deliver(out: &mut impl Write, text: &str) -> io::Result<()> {
    match out.write_all(text.as_bytes()).and_then(|()| out.flush()) {
        Err(error) if gone(&error) => Ok(()),
        other => other,
    }
}

fn gone(error: &io::Error) -> bool {
    // 5 is EIO, what a terminal gives once it has hung up; std has no name for it.
    error.kind() == ErrorKind::BrokenPipe || (cfg!(unix) && error.raw_os_error() == Some(5))
}

/// Columns and lines of the terminal behind a stream; none where it is not a terminal or does not say.
pub fn size(stream: Stream) -> Option<[u16; 2]> {
    let term = match stream {
        Stream::Out => Term::stdout(),
        Stream::Err => Term::stderr(),
    };
    term.size_checked()
        .map(|(lines, columns)| [columns, lines])
        .filter(|size| !size.contains(&0))
}

/// Tells the colour crate what was decided, so that prompts and bars agree with pages.
pub fn adopt(stdout: &Style, stderr: &Style) {
    console::set_colors_enabled(stdout.depth != Depth::None);
    console::set_colors_enabled_stderr(stderr.depth != Depth::None);
}

#[cfg(test)]
mod tests {
    use super::deliver;
    use std::io::{self, ErrorKind, Write};

    struct Broken(ErrorKind);

    impl Write for Broken {
        fn write(&mut self, _: &[u8]) -> io::Result<usize> {
            Err(self.0.into())
        }
        fn flush(&mut self) -> io::Result<()> {
            Ok(())
        }
    }

    #[test]
    fn a_broken_pipe_is_quiet_and_a_full_disk_is_not() {
        assert!(deliver(&mut Broken(ErrorKind::BrokenPipe), "x").is_ok());
        let full = deliver(&mut Broken(ErrorKind::StorageFull), "x").unwrap_err();
        assert_eq!(full.kind(), ErrorKind::StorageFull);
    }

    #[cfg(unix)]
    #[test]
    fn a_terminal_that_hung_up_is_quiet() {
        struct HungUp;
        impl Write for HungUp {
            fn write(&mut self, _: &[u8]) -> io::Result<usize> {
                Err(io::Error::from_raw_os_error(5))
            }
            fn flush(&mut self) -> io::Result<()> {
                Ok(())
            }
        }
        assert!(deliver(&mut HungUp, "x").is_ok());
    }
}
