//! A page: what a person is to see, said by meaning.
//!
//! A page says *what* a line is (a caution, a formula, what to type next), never how it looks. The screen decides the look
//! from the terminal it has, so the same page serves a colour terminal, a bare one, a screen reader and a test. Text in a
//! page is data: it may come from a procedure or an NC file, so whoever draws it must take control characters out.

use crate::procedure::model::SignalWord;
use crate::scene::Scene;

/// What a piece of text means to the reader. Never a colour.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Tone {
    /// Ordinary text.
    #[default]
    Plain,
    /// Stands out from its neighbours.
    Strong,
    /// Needed by some, in the way of none.
    Quiet,
    /// Something the person is to do.
    Action,
    /// In range, clean, released.
    Good,
    /// Worth a look; holds nothing.
    Look,
    /// Holds the work.
    Stop,
}

/// Where something stands in a row of its kind: 3 of 9.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Progress {
    /// Counted from one.
    pub number: usize,
    /// How many there are.
    pub of: usize,
}

/// One thing that is always in sight: `cutter`, `12 mm, 3 flutes`.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct PageFact {
    /// What it is: `machine`, `cycle start`.
    pub label: String,
    /// Its value: `HELD`.
    pub value: String,
    /// What the value means to the reader.
    pub tone: Tone,
}

impl PageFact {
    /// A fact of ordinary weight.
    pub fn new(label: impl Into<String>, value: impl Into<String>) -> Self {
        Self::toned(label, value, Tone::Plain)
    }

    /// A fact whose value is good news, bad news or worth a look.
    pub(crate) fn toned(label: impl Into<String>, value: impl Into<String>, tone: Tone) -> Self {
        Self {
            label: label.into(),
            value: value.into(),
            tone,
        }
    }
}

/// What stands before an item of a list.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub enum Marker {
    /// Nothing special; takes the sign of the item's tone where that has one.
    #[default]
    Dot,
    /// Behind us.
    Done,
    /// Still to come.
    Open,
    /// The one at hand.
    Now,
    /// Its number.
    Number(usize),
}

/// One item of a list.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Item {
    /// What stands before it.
    pub marker: Marker,
    /// What it means to the reader.
    pub tone: Tone,
    /// The item itself.
    pub text: String,
}

impl Item {
    /// An ordinary item.
    pub(crate) fn new(text: impl Into<String>) -> Self {
        Self::marked(Marker::Dot, Tone::Plain, text)
    }

    /// An item with a tone: a reason to hold, a finding.
    pub(crate) fn toned(tone: Tone, text: impl Into<String>) -> Self {
        Self::marked(Marker::Dot, tone, text)
    }

    /// An item with its own marker.
    pub(crate) fn marked(marker: Marker, tone: Tone, text: impl Into<String>) -> Self {
        Self {
            marker,
            tone,
            text: text.into(),
        }
    }
}

/// One numbered choice.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Choice {
    /// The number to type.
    pub number: usize,
    /// The word to type instead.
    pub word: String,
    /// What it stands for; may be empty.
    pub description: String,
}

impl Choice {
    /// A choice by number or by word.
    pub(crate) fn new(
        number: usize,
        word: impl Into<String>,
        description: impl Into<String>,
    ) -> Self {
        Self {
            number,
            word: word.into(),
            description: description.into(),
        }
    }
}

/// On which side a column lines up.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Align {
    /// Words.
    #[default]
    Left,
    /// Numbers.
    Right,
}

/// Rows of cells under a head. A row may be shorter or longer than the head: missing cells are empty, and a cell beyond
/// the head has no name. Columns beyond `align` line up on the left.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Table {
    /// The names of the columns.
    pub head: Vec<String>,
    /// The rows, top to bottom.
    pub rows: Vec<Vec<String>>,
    /// How each column lines up.
    pub align: Vec<Align>,
}

/// One piece of a page.
#[derive(Debug, Clone, PartialEq)]
pub enum Block {
    /// A phase begins, or goes on.
    Heading {
        /// The phase's title.
        title: String,
        /// Which phase of how many.
        place: Option<Progress>,
    },
    /// A step begins, or is asked again.
    Step {
        /// The step's title.
        title: String,
        /// Which question of about how many.
        place: Option<Progress>,
    },
    /// What is always in sight.
    Status(Vec<PageFact>),
    /// Values by name, next to each other as far as the width allows.
    Values(Vec<PageFact>),
    /// A paragraph.
    Text {
        /// What it means to the reader.
        tone: Tone,
        /// The words; a line end starts a new paragraph.
        text: String,
    },
    /// A caution under its signal word.
    Signal {
        /// How bad it can get.
        word: SignalWord,
        /// What the hazard is and how to stay clear of it.
        text: String,
    },
    /// Lines of a calculation, kept as they are wherever they fit.
    Working(Vec<String>),
    /// Items one below the other.
    List(Vec<Item>),
    /// What can be chosen.
    Options(Vec<Choice>),
    /// Rows and columns.
    Table(Table),
    /// A plate seen from above.
    Scene(Box<Scene>),
    /// What to type next.
    Next(String),
    /// An empty line; several in a row count as one.
    Gap,
}

/// What is shown at one go, top to bottom.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Page {
    /// The pieces in order.
    pub blocks: Vec<Block>,
}

impl Page {
    /// An empty page.
    pub fn new() -> Self {
        Self::default()
    }

    /// Adds a block in place, for loops; the methods below chain instead.
    pub(crate) fn push(&mut self, block: Block) {
        self.blocks.push(block);
    }

    fn with(mut self, block: Block) -> Self {
        self.blocks.push(block);
        self
    }

    /// A phase: its title, and which of how many.
    #[must_use]
    pub fn heading(self, title: impl Into<String>, number: usize, of: usize) -> Self {
        self.with(Block::Heading {
            title: title.into(),
            place: Some(Progress { number, of }),
        })
    }

    /// A heading outside any count.
    #[must_use]
    pub(crate) fn title(self, title: impl Into<String>) -> Self {
        self.with(Block::Heading {
            title: title.into(),
            place: None,
        })
    }

    /// A question that is not counted with those of a run.
    #[must_use]
    pub(crate) fn unnumbered(self, title: impl Into<String>) -> Self {
        self.with(Block::Step {
            title: title.into(),
            place: None,
        })
    }

    /// A step: its title, and which question of about how many: conditions not answered yet may add some.
    #[must_use]
    pub(crate) fn step(self, title: impl Into<String>, number: usize, of: usize) -> Self {
        self.with(Block::Step {
            title: title.into(),
            place: Some(Progress { number, of }),
        })
    }

    /// What is always in sight.
    #[must_use]
    pub fn status(self, facts: impl IntoIterator<Item = PageFact>) -> Self {
        self.with(Block::Status(facts.into_iter().collect()))
    }

    /// Values by name.
    #[must_use]
    pub(crate) fn values(self, values: impl IntoIterator<Item = PageFact>) -> Self {
        self.with(Block::Values(values.into_iter().collect()))
    }

    /// An ordinary paragraph.
    #[must_use]
    pub fn text(self, text: impl Into<String>) -> Self {
        self.toned(Tone::Plain, text)
    }

    /// A paragraph with a tone.
    #[must_use]
    pub(crate) fn toned(self, tone: Tone, text: impl Into<String>) -> Self {
        self.with(Block::Text {
            tone,
            text: text.into(),
        })
    }

    /// A caution.
    #[must_use]
    pub fn signal(self, word: SignalWord, text: impl Into<String>) -> Self {
        self.with(Block::Signal {
            word,
            text: text.into(),
        })
    }

    /// A calculation, line by line.
    #[must_use]
    pub(crate) fn working<L: Into<String>>(self, lines: impl IntoIterator<Item = L>) -> Self {
        self.with(Block::Working(lines.into_iter().map(Into::into).collect()))
    }

    /// A list.
    #[must_use]
    pub(crate) fn list(self, items: impl IntoIterator<Item = Item>) -> Self {
        self.with(Block::List(items.into_iter().collect()))
    }

    /// What can be chosen.
    #[must_use]
    pub(crate) fn options(self, choices: impl IntoIterator<Item = Choice>) -> Self {
        self.with(Block::Options(choices.into_iter().collect()))
    }

    /// A table.
    #[must_use]
    pub(crate) fn table(self, table: Table) -> Self {
        self.with(Block::Table(table))
    }

    /// A plate seen from above.
    #[must_use]
    pub(crate) fn scene(self, scene: Scene) -> Self {
        self.with(Block::Scene(Box::new(scene)))
    }

    /// What to type next.
    #[must_use]
    pub(crate) fn next(self, text: impl Into<String>) -> Self {
        self.with(Block::Next(text.into()))
    }

    /// An empty line.
    #[must_use]
    pub(crate) fn gap(self) -> Self {
        self.with(Block::Gap)
    }

    /// This page, then that one.
    #[must_use]
    pub(crate) fn then(mut self, other: Self) -> Self {
        self.blocks.extend(other.blocks);
        self
    }
}

#[cfg(test)]
mod tests {
    use super::{Block, Page, Progress, SignalWord, Tone};

    #[test]
    fn a_page_keeps_its_blocks_in_the_order_they_were_said() {
        let page = Page::new()
            .heading("Touch off", 3, 9)
            .gap()
            .then(Page::new().toned(Tone::Look, "near the limit"));
        assert_eq!(
            page.blocks,
            vec![
                Block::Heading {
                    title: "Touch off".into(),
                    place: Some(Progress { number: 3, of: 9 }),
                },
                Block::Gap,
                Block::Text {
                    tone: Tone::Look,
                    text: "near the limit".into(),
                },
            ]
        );
    }

    // Order of the words: ANSI Z535.4 / ISO 3864-2, from memory.
    #[test]
    fn signal_words_rank_from_danger_down_to_notice() {
        let mut words = [
            SignalWord::Notice,
            SignalWord::Danger,
            SignalWord::Caution,
            SignalWord::Warning,
        ];
        words.sort();
        assert_eq!(
            words.map(SignalWord::word),
            ["DANGER", "WARNING", "CAUTION", "NOTICE"]
        );
    }
}
