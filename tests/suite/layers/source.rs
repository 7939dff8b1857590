//! Reads Rust code as far as the rules need it: tokens without comments and strings, which tokens are test code, and
//! every path that they name. It is no parser, because the rules only check which names are used where.

use std::collections::BTreeSet;

/// One source file.
pub struct Source {
    /// Below `src/`, with forward slashes: `desk/tty.rs`.
    pub file: String,
    /// The tokens without comments and strings.
    pub tokens: Vec<Token>,
    /// The strings, without their quotes and as they are written.
    pub strings: Vec<Token>,
}

/// A word, a `::`, or a single sign.
#[derive(Clone, Debug)]
pub struct Token {
    pub text: String,
    pub line: usize,
    /// Whether it is inside an item under `#[cfg(test)]`.
    pub test: bool,
}

/// A path in the code: `use a::{b, c as d}` names `a::b` and `a::c`.
#[derive(Debug)]
pub struct Path {
    pub segments: Vec<String>,
    pub line: usize,
    pub test: bool,
    /// Whether the `use` that names it is public; `None` where no `use` names it.
    pub used: Option<bool>,
    /// The modules around it, from the top of the crate.
    pub within: Vec<String>,
}

impl Source {
    pub fn read(file: &str, text: &str) -> Self {
        let mut all = split(text);
        mark_tests(&mut all);
        let (strings, tokens) = all.into_iter().partition(|t| t.text.starts_with('"'));
        let strings = Vec::into_iter(strings).map(|s: Token| Token {
            text: s.text.trim_matches('"').to_owned(),
            ..s
        });
        Self {
            file: file.to_owned(),
            tokens,
            strings: strings.collect(),
        }
    }

    /// The module at the top of the crate that the file belongs to: `desk`, `clock`, `main`.
    pub fn top(&self) -> &str {
        let end = self.file.find(['/', '.']).unwrap_or(self.file.len());
        &self.file[..end]
    }

    /// The modules of the file, from the top: `desk/tty.rs` is `desk`, `tty`; `desk/mod.rs` is `desk`.
    fn modules(&self) -> Vec<String> {
        let whole = self.file.trim_end_matches(".rs");
        let whole = whole.strip_suffix("/mod").unwrap_or(whole);
        match whole {
            "main" | "lib" => Vec::new(),
            _ => whole.split('/').map(str::to_owned).collect(),
        }
    }

    /// Files that only tests are built with: `#[cfg(test)] mod testing;` in `book/mod.rs` names `book/testing.rs`.
    pub fn test_files(&self) -> Vec<String> {
        let named = self
            .tokens
            .windows(3)
            .filter(|w| w[0].test && w[0].text == "mod" && is_word(&w[1].text) && w[2].text == ";");
        named
            .map(|w| {
                let mut path = self.modules();
                path.push(w[1].text.clone());
                path.join("/") + ".rs"
            })
            .collect()
    }

    pub fn paths(&self) -> Vec<Path> {
        let mut found = Vec::new();
        let mut within = self.modules();
        let mut braces: Vec<bool> = Vec::new();
        let mut i = 0;
        while let Some(token) = self.tokens.get(i) {
            match token.text.as_str() {
                "mod" if self.text(i + 2) == "{" => {
                    within.push(self.text(i + 1).to_owned());
                    braces.push(true);
                    i += 3;
                    continue;
                }
                "{" => braces.push(false),
                "}" if braces.pop() == Some(true) => {
                    within.pop();
                }
                "use" if self.text(i + 1) != "<" => {
                    let public = self.is_public(i);
                    let mut listed = Vec::new();
                    i = self.tree(i + 1, &[], &mut listed);
                    found.extend(listed.into_iter().map(|(segments, line)| Path {
                        segments,
                        line,
                        test: token.test,
                        used: Some(public),
                        within: within.clone(),
                    }));
                    continue;
                }
                word if is_word(word) && self.starts_path(i) => {
                    let mut segments = vec![word.to_owned()];
                    while self.text(i + 1) == "::" && is_word(self.text(i + 2)) {
                        segments.push(self.text(i + 2).to_owned());
                        i += 2;
                    }
                    found.push(Path {
                        segments,
                        line: token.line,
                        test: token.test,
                        used: None,
                        within: within.clone(),
                    });
                }
                _ => {}
            }
            i += 1;
        }
        found
    }

    fn text(&self, i: usize) -> &str {
        self.tokens.get(i).map_or("", |t| &t.text)
    }

    fn starts_path(&self, i: usize) -> bool {
        let continues = i > 1
            && self.text(i - 1) == "::"
            && (is_word(self.text(i - 2)) || self.text(i - 2) == ">");
        self.text(i + 1) == "::" && is_word(self.text(i + 2)) && !continues
    }

    /// Whether the `use` at `i` has any `pub` before it.
    fn is_public(&self, i: usize) -> bool {
        let from = i.saturating_sub(8);
        self.tokens[from..i]
            .iter()
            .rev()
            .take_while(|t| is_word(&t.text) || matches!(t.text.as_str(), "(" | ")" | "::"))
            .any(|t| t.text == "pub")
    }

    /// Reads the tree of a `use` from `i` on. Returns the index after it.
    fn tree(
        &self,
        mut i: usize,
        before: &[String],
        found: &mut Vec<(Vec<String>, usize)>,
    ) -> usize {
        let mut path = before.to_vec();
        loop {
            let line = self.tokens.get(i).map_or(0, |t| t.line);
            match self.text(i) {
                "::" => i += 1,
                "{" => {
                    i += 1;
                    while !matches!(self.text(i), "}" | "") {
                        i = self.tree(i, &path, found);
                        i += usize::from(self.text(i) == ",");
                    }
                    return i + 1;
                }
                "*" => {
                    path.push("*".to_owned());
                    found.push((path, line));
                    return i + 1;
                }
                word if is_word(word) => {
                    path.push(word.to_owned());
                    i += 1;
                    if self.text(i) != "::" {
                        found.push((path, line));
                        return if self.text(i) == "as" { i + 2 } else { i };
                    }
                }
                _ => return i + 1,
            }
        }
    }
}

/// Marks all tokens of the files that only tests are built with.
pub fn mark_test_files(sources: &mut [Source]) {
    let named: BTreeSet<String> = sources.iter().flat_map(Source::test_files).collect();
    for source in sources.iter_mut().filter(|s| named.contains(&s.file)) {
        let all = source.tokens.iter_mut().chain(&mut source.strings);
        all.for_each(|t| t.test = true);
    }
}

pub fn is_word(text: &str) -> bool {
    text.starts_with(|c: char| c.is_alphabetic() || c == '_')
}

/// Splits text into tokens, without comments, strings and characters.
pub fn tokens(text: &str) -> Vec<Token> {
    let mut found = split(text);
    found.retain(|t| !t.text.starts_with('"'));
    found
}

/// Splits text into tokens and plain strings, which begin with their quote; comments, raw strings and characters vanish.
fn split(text: &str) -> Vec<Token> {
    let chars: Vec<char> = text.chars().collect();
    let at = |i: usize| chars.get(i).copied().unwrap_or('\0');
    let mut found = Vec::new();
    let (mut i, mut line) = (0, 1);
    while i < chars.len() {
        let start = i;
        let mut token = None;
        match at(i) {
            '/' if at(i + 1) == '/' => {
                while i < chars.len() && at(i) != '\n' {
                    i += 1;
                }
            }
            '/' if at(i + 1) == '*' => i = after_comment(&chars, i),
            '"' => {
                i = after_string(&chars, i);
                token = Some(chars[start..i.min(chars.len())].iter().collect());
            }
            '\'' if at(i + 1) == '\\' => {
                i += 3;
                while i < chars.len() && at(i) != '\'' {
                    i += 1;
                }
                i += 1;
            }
            '\'' if at(i + 2) == '\'' => i += 3,
            ':' if at(i + 1) == ':' => {
                i += 2;
                token = Some("::".to_owned());
            }
            c if c.is_alphabetic() || c == '_' => {
                while at(i).is_alphanumeric() || at(i) == '_' {
                    i += 1;
                }
                let word: String = chars[start..i].iter().collect();
                let hashes = chars[i..].iter().take_while(|c| **c == '#').count();
                if matches!(word.as_str(), "r" | "br" | "cr") && at(i + hashes) == '"' {
                    i = after_raw(&chars, i, hashes);
                } else {
                    token = Some(word);
                }
            }
            c if c.is_whitespace() => i += 1,
            c => {
                i += 1;
                token = Some(c.to_string());
            }
        }
        if let Some(text) = token {
            let test = false;
            found.push(Token { text, line, test });
        }
        let end = i.min(chars.len());
        line += chars[start..end].iter().filter(|c| **c == '\n').count();
    }
    found
}

fn after_comment(chars: &[char], mut i: usize) -> usize {
    let mut depth = 0;
    while i < chars.len() {
        match (chars[i], chars.get(i + 1)) {
            ('/', Some('*')) => (depth, i) = (depth + 1, i + 2),
            ('*', Some('/')) => (depth, i) = (depth - 1, i + 2),
            _ => i += 1,
        }
        if depth == 0 {
            break;
        }
    }
    i
}

fn after_string(chars: &[char], mut i: usize) -> usize {
    i += 1;
    while i < chars.len() && chars[i] != '"' {
        i += if chars[i] == '\\' { 2 } else { 1 };
    }
    i + 1
}

fn after_raw(chars: &[char], i: usize, hashes: usize) -> usize {
    let mut i = i + hashes + 1;
    let closes = |i: usize| {
        chars[i] == '"' && chars[i + 1..].iter().take_while(|c| **c == '#').count() >= hashes
    };
    while i < chars.len() && !closes(i) {
        i += 1;
    }
    i + 1 + hashes
}

/// Marks the item after each `#[cfg(test)]`, including the attribute.
fn mark_tests(tokens: &mut [Token]) {
    let attribute = ["#", "[", "cfg", "(", "test", ")", "]"];
    for start in 0..tokens.len() {
        let here = tokens.iter().skip(start).map(|t| t.text.as_str());
        if !here.take(attribute.len()).eq(attribute) {
            continue;
        }
        let mut depth = 0;
        for token in tokens.iter_mut().skip(start + attribute.len()) {
            token.test = true;
            match token.text.as_str() {
                "(" | "[" | "{" => depth += 1,
                ")" | "]" => depth -= 1,
                "}" => {
                    depth -= 1;
                    if depth == 0 {
                        break;
                    }
                }
                ";" if depth == 0 => break,
                _ => {}
            }
        }
    }
}
