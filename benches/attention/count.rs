//! What a walk asks of a person's attention, counted over what a terminal was sent: prompts, words, and the lines between two
//! prompts.

/// What is shown between two prompts.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Block {
    /// Lines, blank ones too, and not the prompts themselves.
    pub lines: usize,
    /// Words, those of the prompt that ends the block too, and not what was typed there.
    pub words: usize,
    /// The phase under which the block ends; empty before the first.
    pub phase: String,
    /// The heading of the step that the block ends with, where it has one.
    pub step: String,
    /// The prompt that ends the block; none at the end of a walk.
    pub prompt: Option<String>,
}

/// Sums over the blocks of one phase, repeated passes together.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct PhaseCount {
    pub phase: String,
    pub prompts: usize,
    pub words: usize,
    pub lines: usize,
}

/// A whole walk, counted.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Attention {
    /// In the order in which they were shown.
    pub blocks: Vec<Block>,
}

impl Attention {
    /// Counts what a terminal was sent, lines wrapped to its width.
    ///
    /// A prompt is a line with `> ` directly behind a word, such as `value in mm> 10`; what follows was typed. An instruction
    /// begins with `> ` and is none. Words are counted as `wc -w` counts them.
    pub fn of(shown: &str) -> Self {
        let mut blocks = Vec::new();
        let mut block = Block {
            lines: 0,
            words: 0,
            phase: String::new(),
            step: String::new(),
            prompt: None,
        };
        for line in without_escapes(shown).lines() {
            if let Some(prompt) = prompt_of(line) {
                let ended = Block {
                    words: block.words + words(prompt),
                    prompt: Some(prompt.to_owned()),
                    ..block.clone()
                };
                blocks.push(ended);
                block = Block {
                    lines: 0,
                    words: 0,
                    step: String::new(),
                    prompt: None,
                    ..block
                };
                continue;
            }
            block.lines += 1;
            block.words += words(line);
            match heading_of(line) {
                Some(Heading::Phase(phase)) => phase.clone_into(&mut block.phase),
                Some(Heading::Step(step)) => step.clone_into(&mut block.step),
                None => {}
            }
        }
        if block.lines > 0 {
            blocks.push(block);
        }
        Self { blocks }
    }

    /// Prompts answered.
    pub fn prompts(&self) -> usize {
        self.blocks.iter().filter(|b| b.prompt.is_some()).count()
    }

    /// Words shown.
    pub fn words(&self) -> usize {
        self.blocks.iter().map(|b| b.words).sum()
    }

    /// Lines of the longest block.
    pub fn longest(&self) -> usize {
        self.blocks.iter().map(|b| b.lines).max().unwrap_or(0)
    }

    /// The longest blocks first; of equal ones the earlier.
    pub fn longest_blocks(&self, most: usize) -> Vec<&Block> {
        let mut all: Vec<&Block> = self.blocks.iter().collect();
        all.sort_by_key(|b| std::cmp::Reverse(b.lines));
        all.truncate(most);
        all
    }

    /// The phases in the order of their first block.
    pub fn phases(&self) -> Vec<PhaseCount> {
        let mut phases: Vec<PhaseCount> = Vec::new();
        for block in &self.blocks {
            let at = phases.iter().position(|p| p.phase == block.phase);
            let at = at.unwrap_or_else(|| {
                phases.push(PhaseCount {
                    phase: block.phase.clone(),
                    prompts: 0,
                    words: 0,
                    lines: 0,
                });
                phases.len() - 1
            });
            phases[at].prompts += usize::from(block.prompt.is_some());
            phases[at].words += block.words;
            phases[at].lines += block.lines;
        }
        phases
    }
}

fn words(text: &str) -> usize {
    text.split_whitespace().count()
}

/// The prompt of a line that was answered.
fn prompt_of(line: &str) -> Option<&str> {
    let line = line.trim_start();
    // Where nothing was typed, the blank behind the sign may be gone.
    let at = line
        .find("> ")
        .or_else(|| line.ends_with('>').then(|| line.len() - 1))?;
    let before = &line[..at];
    let word = |c: char| c.is_alphanumeric() || ")%".contains(c);
    before.ends_with(word).then_some(before)
}

enum Heading<'a> {
    Phase(&'a str),
    Step(&'a str),
}

/// `-- phase 2 of 20 | Machine ----`, `step 1 of 5 | The spindle` or `question 23 of about 58 | ...`, with whatever signs.
fn heading_of(line: &str) -> Option<Heading<'_>> {
    let text = line.trim_matches(|c: char| !c.is_alphanumeric() && !")?".contains(c));
    let (kind, rest) = text.split_once(' ')?;
    let (number, rest) = rest.split_once(" of ")?;
    let (all, rest) = rest
        .strip_prefix("about ")
        .unwrap_or(rest)
        .split_once(' ')?;
    let (_separator, title) = rest.split_once(' ')?;
    if [number, all].iter().any(|n| n.parse::<u32>().is_err()) {
        return None;
    }
    match kind {
        "phase" => Some(Heading::Phase(title)),
        "step" | "question" => Some(Heading::Step(title)),
        _ => None,
    }
}

/// Text without colours and cursor moves.
fn without_escapes(text: &str) -> String {
    let mut out = String::new();
    let mut chars = text.chars();
    while let Some(c) = chars.next() {
        if c == '\x1b' {
            // A control sequence ends with its first letter.
            let _ = chars.by_ref().find(char::is_ascii_alphabetic);
        } else {
            out.push(c);
        }
    }
    out
}
