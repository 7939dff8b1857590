//! How many words a walk uses: whole cautions for a person who learns, one line for a person who did it often.

use crate::walk::error::WalkError;
use crate::walk::session::Session;
use crate::walk::store::experience;

/// How many words a walk uses. `?` shows all of them either way.
#[derive(Clone, Copy, PartialEq, Eq, Default, Debug)]
pub(crate) enum Words {
    /// Hazard, consequence and what to do once a phase, then what to do.
    #[default]
    Full,
    /// What to do, once a phase; what is done in a few words.
    Short,
}

impl Words {
    /// Reads the word of an argument.
    pub(crate) fn read(word: &str) -> Option<Self> {
        match word {
            "full" => Some(Self::Full),
            "short" => Some(Self::Short),
            _ => None,
        }
    }
}

impl Session<'_> {
    /// Sets how many words are used, from here on; without a wish by what the operator walked lately.
    pub(crate) fn use_words(&mut self, wished: Option<Words>) -> Result<(), WalkError> {
        self.wished_words = wished;
        self.adapt_words()
    }

    /// Sets the words for the operator of now, where no wish is made.
    pub(crate) fn adapt_words(&mut self) -> Result<(), WalkError> {
        self.words = match self.wished_words {
            Some(wished) => wished,
            None if self.state.begun.rehearsal => Words::Full,
            None => {
                let practised = self.insist(None, |session| {
                    experience::is_practised(&session.book, &session.state, session.now())
                })?;
                if practised { Words::Short } else { Words::Full }
            }
        };
        Ok(())
    }
}
