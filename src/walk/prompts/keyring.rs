//! The sealed keys beside the book, and the prompt that opens one.
//!
//! One file a key, in the folder `BOOK.keys`, both for their owner alone. A file is whole before the list of people names
//! its key: it is written under another name, forced to disk, then renamed. Its name bears the beginning of the public
//! key, so that a new key never overwrites the one still in use.

use crate::book::Book;
use crate::clock::Clock;
use crate::files::{self, FileFault, ReadAs, ReadableBy, Replace};
use crate::keys::{Key, KeyError, RecoveryCode, SHORTEST, Sealed, Secret, Work};
use crate::people::{Event, People, Signed};
use crate::report::page::{Page, Tone};
use crate::terminal::prompt::{Prompter, SecretReply};
use crate::walk::error::WalkError;
use crate::walk::prompts::commands::CANCEL;
use crate::walk::prompts::{Ending, Prompted};
use crate::walk::session::Left;
use crate::walk::store::people_list;
use crate::walk::store::retry;
use std::io;
use std::path::{Path, PathBuf};

/// What a key is sealed with.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
enum Lock {
    /// The PIN of the key that its owner signs with.
    Pin,
    /// The recovery code of the key that issues them another.
    Code,
}

impl Lock {
    /// The public half of the key of `initials` that it opens.
    fn key<'a>(self, people: &'a People, initials: &str) -> Option<&'a str> {
        let listed = people.active(initials)?;
        match self {
            Self::Pin => listed.key(),
            Self::Code => listed.recovery.as_deref(),
        }
    }

    fn words(self) -> &'static str {
        match self {
            Self::Pin => "PIN",
            Self::Code => "recovery code",
        }
    }

    fn wrong(self) -> &'static str {
        match self {
            Self::Pin => "wrong PIN or pass phrase; that is recorded",
            Self::Code => {
                "wrong recovery code, perhaps one that was used or replaced; that is recorded"
            }
        }
    }

    fn wrong_event(self, initials: String) -> Event {
        match self {
            Self::Pin => Event::WrongPin { initials },
            Self::Code => Event::WrongCode { initials },
        }
    }

    /// What is tried of what was typed.
    ///
    /// # Errors
    /// Why it cannot be what is asked for: a slip.
    fn secret(self, typed: Secret) -> Result<Secret, String> {
        match self {
            Self::Pin => Ok(typed),
            Self::Code => RecoveryCode::read(&typed)
                .map(|code| code.secret())
                .map_err(|slip| format!("mistyped, so nothing was tried: {slip}")),
        }
    }
}

/// What asking for a PIN came to.
#[derive(Debug)]
#[allow(clippy::large_enum_variant)] // one is made at a time, and handed on at once
pub(crate) enum UnlockOutcome {
    /// The key is open.
    Key(Key),
    /// Not opened: nobody on the list, or nothing typed. Why was shown.
    No,
    /// Not opened, and the prompt is shut for a while after wrong PINs. That was shown.
    Shut,
    /// Ctrl-C.
    Interrupted,
    /// Nobody is there.
    Closed,
}

impl UnlockOutcome {
    /// The key, where it was unlocked. Before there is a run, whoever leaves has left.
    pub(crate) fn key_or_leave(self) -> Prompted<Option<Key>> {
        match self {
            Self::Key(key) => Ok(Some(key)),
            Self::No | Self::Shut => Ok(None),
            Self::Interrupted | Self::Closed => Err(Ending::Leave(Left::Saved)),
        }
    }
}

/// As [`open`], for where something is asked next that is shown as it is typed: while the prompt is shut, whoever is in the
/// middle of typing a PIN must not find it on the screen or in the record, so one hidden line is waited for.
pub(crate) fn unlock(
    book: &mut Book,
    people: &mut People,
    prompter: &mut dyn Prompter,
    clock: &dyn Clock,
    initials: &str,
) -> Result<UnlockOutcome, WalkError> {
    let unlocked = open(book, people, prompter, clock, initials)?;
    if !matches!(unlocked, UnlockOutcome::Shut) {
        return Ok(unlocked);
    }
    Ok(match prompter.secret("Enter goes on")? {
        SecretReply::Typed(_) => unlocked,
        SecretReply::Interrupted => UnlockOutcome::Interrupted,
        SecretReply::Closed => UnlockOutcome::Closed,
    })
}

/// Asks for the PIN of `initials` and opens their present key. Wrong ones are recorded, and cost time.
pub(crate) fn open(
    book: &mut Book,
    people: &mut People,
    prompter: &mut dyn Prompter,
    clock: &dyn Clock,
    initials: &str,
) -> Result<UnlockOutcome, WalkError> {
    if people.active(initials).is_none() {
        stop(
            prompter,
            &format!("{initials} is not on the list of people, or is retired"),
        )?;
        return Ok(UnlockOutcome::No);
    }
    open_lock(Lock::Pin, book, people, prompter, clock, initials)
}

/// Asks for the recovery code of `initials` and opens the key it is for. Wrong ones are recorded, and cost time as wrong PINs
/// of the same person do.
pub(crate) fn open_recovery(
    book: &mut Book,
    people: &mut People,
    prompter: &mut dyn Prompter,
    clock: &dyn Clock,
    initials: &str,
) -> Result<UnlockOutcome, WalkError> {
    open_lock(Lock::Code, book, people, prompter, clock, initials)
}

fn open_lock(
    lock: Lock,
    book: &mut Book,
    people: &mut People,
    prompter: &mut dyn Prompter,
    clock: &dyn Clock,
    initials: &str,
) -> Result<UnlockOutcome, WalkError> {
    let what = lock.words();
    let Some(public) = lock.key(people, initials) else {
        stop(prompter, &format!("{initials} has no {what}"))?;
        return Ok(UnlockOutcome::No);
    };
    let sealed = read(&file(book.path(), initials, public), prompter)?;
    if sealed.public != public || sealed.initials != initials {
        return Err(KeyError::Unusable.into());
    }
    let mut wrong = String::new();
    loop {
        let shut = retry::insist(prompter, |_| shut_for(book, people, clock, initials))?;
        if let Some(ms) = shut {
            let why = format!(
                "{wrong}too many wrong {what}s for {initials}. The prompt for this {what} is shut for {}, at every terminal of this book; \
                 type no {what} until it is asked for",
                words_of_wait(ms)
            );
            stop(prompter, &why)?;
            return Ok(UnlockOutcome::Shut);
        }
        if !wrong.is_empty() {
            stop(prompter, lock.wrong())?;
            wrong.clear();
        }
        let typed = match prompter.secret(&format!("{what} of {initials}"))? {
            SecretReply::Typed(typed) if typed.is_empty() => {
                stop(prompter, "nothing was typed")?;
                return Ok(UnlockOutcome::No);
            }
            SecretReply::Typed(typed) if is_cancel(&typed) => {
                stop(prompter, "cancelled")?;
                return Ok(UnlockOutcome::No);
            }
            SecretReply::Typed(typed) => typed,
            SecretReply::Interrupted => return Ok(UnlockOutcome::Interrupted),
            SecretReply::Closed => return Ok(UnlockOutcome::Closed),
        };
        let secret = match lock.secret(typed) {
            Ok(secret) => secret,
            Err(why) => {
                stop(prompter, &why)?;
                continue;
            }
        };
        match retry::insist(prompter, |_| {
            attempt(lock, book, people, clock, &sealed, &secret)
        })? {
            PinAttempt::Opened(key) => return Ok(UnlockOutcome::Key(key)),
            PinAttempt::Wrong => wrong = format!("{}. These were ", lock.wrong()),
            // The next round says so, with what others typed meanwhile.
            PinAttempt::Shut => wrong = format!("the {what} was not tried: meanwhile there were "),
            PinAttempt::Replaced => {
                let why = format!(
                    "the {what} was not tried: {initials} was retired or has a new key since it was asked for"
                );
                stop(prompter, &why)?;
                return Ok(UnlockOutcome::No);
            }
        }
    }
}

/// What came of one PIN.
#[allow(clippy::large_enum_variant)] // as above
enum PinAttempt {
    /// The key is open.
    Opened(Key),
    /// Wrong, and on record.
    Wrong,
    /// Not tried: the prompt shut while it was typed.
    Shut,
    /// Not tried: the key is no longer the person's.
    Replaced,
}

/// Tries a PIN or code on the list as it is now, under the book's write lock from reading the list to recording the outcome: of
/// any number of prompts only as many PINs are tried as one prompt would allow, and a wrong one is on record before
/// anybody learns that it is wrong.
fn attempt(
    lock: Lock,
    book: &mut Book,
    people: &mut People,
    clock: &dyn Clock,
    sealed: &Sealed,
    secret: &Secret,
) -> Result<PinAttempt, WalkError> {
    let initials = &sealed.initials;
    people_list::decide(book, people, clock, |people| {
        if lock.key(people, initials) != Some(sealed.public.as_str()) {
            return Ok((PinAttempt::Replaced, None));
        }
        if people.shut_for(initials, clock.now()).is_some() {
            return Ok((PinAttempt::Shut, None));
        }
        let initials = initials.clone();
        match sealed.open(secret) {
            Ok(key) => {
                let event = people
                    .has_wrong_pins(&initials)
                    .then_some(Event::Unlocked { initials });
                Ok((PinAttempt::Opened(key), event.map(Signed::of_prompt)))
            }
            Err(KeyError::Wrong) => Ok((
                PinAttempt::Wrong,
                Some(Signed::of_prompt(lock.wrong_event(initials))),
            )),
            Err(error) => Err(error.into()),
        }
    })
}

/// How long the prompt stays shut. Where the clock stands before the last wrong PIN, nobody can say how much of the wait
/// is over: it begins anew at the clock's time, on record, so that an entry dated ahead cannot shut the prompt for ever.
fn shut_for(
    book: &mut Book,
    people: &mut People,
    clock: &dyn Clock,
    initials: &str,
) -> Result<Option<i64>, WalkError> {
    let now = clock.now();
    if people.wait_is_ahead(initials, now) {
        people_list::decide(book, people, clock, |people| {
            let event = Event::WaitRestarted {
                initials: initials.to_owned(),
            };
            let ahead = people.wait_is_ahead(initials, now);
            Ok(((), ahead.then(|| Signed::of_prompt(event))))
        })?;
    }
    Ok(people.shut_for(initials, clock.now()))
}

/// How long a prompt is shut, rounded up: `30 seconds`, `16 minutes`.
fn words_of_wait(ms: i64) -> String {
    let seconds = (ms + 999) / 1000;
    match seconds {
        1 => "1 second".to_owned(),
        2..=120 => format!("{seconds} seconds"),
        _ => format!("{} minutes", (seconds + 59) / 60),
    }
}

/// Lets whoever takes a run prove who they are: with their PIN where people are registered, else by their word; whether they
/// did. If not, that was shown.
pub(crate) fn identify(
    book: &mut Book,
    prompter: &mut dyn Prompter,
    clock: &dyn Clock,
    initials: &str,
) -> Prompted<bool> {
    let mut people = retry::insist(prompter, |_| people_list::load(book))?;
    if people.is_empty() {
        return Ok(true);
    }
    let unlocked = unlock(book, &mut people, prompter, clock, initials)?;
    Ok(unlocked.key_or_leave()?.is_some())
}

/// Asks twice for a new PIN; none when the person leaves.
pub(crate) fn new_pin(
    prompter: &mut dyn Prompter,
    initials: &str,
) -> Result<Option<Secret>, WalkError> {
    let page = Page::new().text(format!(
        "A PIN or pass phrase for {initials}, typed by {initials} and known to nobody else: at least {SHORTEST} characters. \
         Several words withstand even somebody who steals the key's file; six digits do not."
    ));
    prompter.show(&page)?;
    loop {
        let SecretReply::Typed(first) = prompter.secret("new PIN")? else {
            return Ok(None);
        };
        if !first.is_long_enough() {
            stop(
                prompter,
                &format!("a PIN or pass phrase has at least {SHORTEST} characters"),
            )?;
            continue;
        }
        if is_cancel(&first) {
            stop(prompter, "`cancel` leaves this prompt, so it is no PIN")?;
            continue;
        }
        if let Some(weakness) = first.weakness(initials) {
            stop(
                prompter,
                &format!("that is one of those that are tried first: {weakness}"),
            )?;
            continue;
        }
        let SecretReply::Typed(second) = prompter.secret("the same again")? else {
            return Ok(None);
        };
        if first == second {
            return Ok(Some(first));
        }
        stop(prompter, "the two differ; type both again")?;
    }
}

fn is_cancel(typed: &Secret) -> bool {
    *typed == Secret::new(CANCEL.to_owned())
}

/// Makes a key, seals it with `pin` and puts it on disk.
pub(crate) fn make(
    book: &Path,
    prompter: &mut dyn Prompter,
    initials: &str,
    pin: &Secret,
) -> Result<Key, WalkError> {
    let random = |bytes: &mut [u8]| prompter.random(bytes).map_err(WalkError::from);
    let (sealed, key) = Sealed::make(initials, pin, Work::NOW, random)?;
    let path = file(book, initials, &sealed.public);
    write(&path, &sealed).map_err(|source| WalkError::KeyFile { path, source })?;
    Ok(key)
}

/// Makes a recovery code for `initials` and puts the key on disk that it opens.
pub(crate) fn make_recovery(
    book: &Path,
    prompter: &mut dyn Prompter,
    initials: &str,
) -> Result<(RecoveryCode, Key), WalkError> {
    let code = RecoveryCode::make(|bytes| prompter.random(bytes))?;
    let key = make(book, prompter, initials, &code.secret())?;
    Ok((code, key))
}

fn stop(prompter: &mut dyn Prompter, why: &str) -> Result<(), WalkError> {
    Ok(prompter.show(&Page::new().toned(Tone::Stop, format!("Not taken: {why}.")))?)
}

fn file(book: &Path, initials: &str, public: &str) -> PathBuf {
    let mut folder = book.as_os_str().to_owned();
    folder.push(".keys");
    let short: String = public.chars().take(16).collect();
    Path::new(&folder).join(format!("{initials}-{short}.json"))
}

/// Reads a key. One that other accounts could read is made private first, and that is shown: they may have copied it.
fn read(path: &Path, prompter: &mut dyn Prompter) -> Result<Sealed, WalkError> {
    let fault = |source| WalkError::KeyFile {
        path: path.to_path_buf(),
        source,
    };
    let folder = path.parent().map_or(Ok(false), files::make_private);
    let loose = folder.map_err(fault)? | files::make_private(path).map_err(fault)?;
    let text = match files::read(path, ReadAs::Key) {
        Ok(text) => text,
        Err(FileFault::System(error)) => return Err(fault(error)),
        Err(_) => return Err(KeyError::Unusable.into()),
    };
    let sealed: Sealed = serde_json::from_slice(&text).map_err(|_| KeyError::Unusable)?;
    if loose {
        let text = format!(
            "Other accounts of this computer had rights to the key of {} or its folder. Both are private again. \
             If somebody may have copied the key, let an owner issue a new one: `skimgate people key {}`.",
            sealed.initials, sealed.initials
        );
        prompter.show(&Page::new().toned(Tone::Look, text))?;
    }
    Ok(sealed)
}

fn write(path: &Path, sealed: &Sealed) -> io::Result<()> {
    let text = serde_json::to_vec_pretty(sealed)?;
    if let Some(folder) = path.parent() {
        files::make_private_folder(folder)?;
        files::make_private(folder)?;
    }
    Ok(files::write(path, &text, Replace::Yes, ReadableBy::Owner)?)
}
