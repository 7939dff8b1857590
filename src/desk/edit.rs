//! The prompt with editing, on terminals whose cursor may be moved. The only file that names the prompt crate.
//!
//! That crate ignores Ctrl-D, so the first key is read here: Ctrl-D there means end of input, as it does everywhere else on
//! an empty line. Any other first key is handed on as the text to start from.

use super::line::Got;
use console::{Key, Term};
use dialoguer::Input;
use dialoguer::theme::Theme;
use std::fmt;
use std::io::{self, ErrorKind};

/// Ctrl-D, as a terminal in raw mode gives it.
const END: char = '\u{4}';

/// How often a wait for the first key looks up from the keyboard.
#[cfg(unix)]
const LOOK_UP: std::time::Duration = std::time::Duration::from_millis(100);

/// Our own look: the prompt and what was typed, nothing else.
struct Bare;

impl Theme for Bare {
    fn format_input_prompt(
        &self,
        f: &mut dyn fmt::Write,
        prompt: &str,
        _default: Option<&str>,
    ) -> fmt::Result {
        f.write_str(prompt)
    }

    fn format_input_prompt_selection(
        &self,
        f: &mut dyn fmt::Write,
        prompt: &str,
        said: &str,
    ) -> fmt::Result {
        write!(f, "{prompt}{said}")
    }
}

/// Asks for one line on standard error. The prompt is printed as it is, so it ends with its own sign and space. Until the
/// first key is pressed, `called_off` is asked now and then whether to give up.
pub fn line(prompt: &str, called_off: impl Fn() -> bool) -> io::Result<Got> {
    read(prompt, &Term::stderr(), called_off).or_else(|error| match error.kind() {
        ErrorKind::Interrupted => Ok(Got::Interrupted),
        ErrorKind::UnexpectedEof | ErrorKind::BrokenPipe => Ok(Got::End),
        // Once the terminal has hung up, the crates below look for another one and fail in ways that say nothing of that.
        #[cfg(unix)]
        _ if super::tty::gone() => Ok(Got::End),
        _ => Err(error),
    })
}

fn read(prompt: &str, term: &Term, called_off: impl Fn() -> bool) -> io::Result<Got> {
    #[cfg(unix)]
    let _raw = super::tty::raw()?;
    term.write_str(prompt)?;
    let first = loop {
        // A signal may be delivered to another thread, and would not end the read then.
        #[cfg(unix)]
        while !super::tty::ready(LOOK_UP)? {
            if called_off() {
                return Ok(Got::Interrupted);
            }
        }
        #[cfg(not(unix))]
        if called_off() {
            return Ok(Got::Interrupted);
        }
        match term.read_key_raw()? {
            Key::Char(END) => return Ok(Got::End),
            Key::CtrlC => return Ok(Got::Interrupted),
            Key::Enter => {
                term.write_line("")?;
                return Ok(Got::Line(String::new()));
            }
            Key::Char(key) if !key.is_control() => break key,
            _ => {}
        }
    };
    term.clear_line()?;
    Input::<String>::with_theme(&Bare)
        .with_prompt(prompt)
        .with_initial_text(first.to_string())
        .allow_empty(true)
        .interact_text_on(term)
        .map(Got::Line)
        .map_err(|dialoguer::Error::IO(error)| error)
}
