//! Comma-separated values, written for spreadsheets and read back. Source of the format: RFC 4180.
//!
//! What [`line()`] writes, [`records`] reads back unchanged, whatever a field holds.

/// Ends of a cell inside a field: the separators of other spreadsheets, where quotes in the middle of a cell are not read as
/// quotes, and line ends.
const ENDS: [char; 4] = [';', '\t', '\n', '\r'];

/// Signs that begin a formula in a spreadsheet, the wide ones in some languages. Source: OWASP, "CSV Injection", which also
/// names tab and carriage return.
const FORMULA: [char; 8] = ['=', '+', '-', '@', '＝', '＋', '－', '＠'];

/// A line that begins with it is a comment.
const COMMENT: u8 = b'#';

/// One record with its line end.
///
/// A cell that a spreadsheet would take for a formula gets an apostrophe in front of it, also after a semicolon, a tab or a
/// line end inside a field. A number keeps its sign, so that it can be computed with.
pub fn line<'a>(fields: impl IntoIterator<Item = &'a str>) -> String {
    let mut writer = ::csv::WriterBuilder::new()
        .terminator(::csv::Terminator::CRLF)
        .comment(Some(COMMENT))
        .from_writer(Vec::new());
    // A buffer in memory takes every record.
    let _ = writer.write_record(fields.into_iter().map(protected));
    let bytes = writer.into_inner().unwrap_or_default();
    String::from_utf8(bytes).unwrap_or_default()
}

/// A record and the number of the line that it begins on, from 1.
#[derive(Clone, PartialEq, Eq, Debug)]
pub(crate) struct Record {
    /// Where it begins.
    pub line: usize,
    /// Its fields, without the apostrophe that [`line()`] puts before a formula.
    pub fields: Vec<String>,
}

/// Why a text is no list of comma-separated values.
#[derive(Clone, PartialEq, Eq, Debug)]
pub(crate) struct UnclosedQuote {
    /// The line that the field begins on, from 1.
    pub line: usize,
}

/// The records of a text; empty lines and comments are left out.
///
/// # Errors
/// A quotation mark that is never closed: the rest of the text would be one field.
pub(crate) fn records(text: &str) -> Result<Vec<Record>, UnclosedQuote> {
    let mut reader = ::csv::ReaderBuilder::new()
        .has_headers(false)
        .flexible(true)
        .comment(Some(COMMENT))
        .from_reader(text.as_bytes());
    let mut found = Vec::new();
    let mut record = ::csv::StringRecord::new();
    let (mut line, mut counted) = (1, 0);
    loop {
        let before = offset(&reader);
        // Text is read from memory and its fields may differ in number, so nothing can go wrong.
        if !matches!(reader.read_record(&mut record), Ok(true)) {
            return Ok(found);
        }
        let begin = past_comments(text, before);
        line += text.get(counted..begin).map_or(0, newlines);
        counted = begin;
        let raw = text.get(begin..offset(&reader)).unwrap_or_default();
        let spans = newlines(raw.trim_end_matches(['\r', '\n'])) > 0;
        if spans && raw.matches('"').count() % 2 == 1 {
            return Err(UnclosedQuote { line });
        }
        let fields: Vec<String> = record.iter().map(unprotected).collect();
        if fields.len() > 1 || fields.iter().any(|f| !f.trim().is_empty()) {
            found.push(Record { line, fields });
        }
    }
}

fn offset(reader: &::csv::Reader<&[u8]>) -> usize {
    usize::try_from(reader.position().byte()).unwrap_or(usize::MAX)
}

fn newlines(text: &str) -> usize {
    text.matches('\n').count()
}

/// The reader skips line ends and comments before a record; where the record itself begins.
fn past_comments(text: &str, from: usize) -> usize {
    let mut at = from;
    loop {
        let rest = text.get(at..).unwrap_or_default();
        let bare = rest.trim_start_matches(['\r', '\n']);
        at += rest.len() - bare.len();
        if !bare.starts_with(char::from(COMMENT)) {
            return at;
        }
        at += bare.find('\n').unwrap_or(bare.len());
    }
}

/// Whether a text is a signed number and nothing else: digits, at most one point, an exponent.
fn is_number(text: &str) -> bool {
    let digits = text.strip_prefix(['-', '+']).unwrap_or(text);
    digits.starts_with(|c: char| c.is_ascii_digit() || c == '.') && digits.parse::<f64>().is_ok()
}

/// Where in a cell the apostrophe goes, if the cell begins a formula, perhaps with apostrophes before it.
fn formula_at(cell: &str) -> Option<usize> {
    let bare = cell.trim_start_matches(|c: char| c.is_whitespace() || c == '"');
    if bare.trim_start_matches('\'').starts_with(FORMULA) {
        return Some(cell.len() - bare.len());
    }
    // A cell that begins with one of these.
    matches!(cell.trim_start_matches('\''), "\t" | "\r").then_some(0)
}

fn protected(field: &str) -> String {
    let cells = field.split_inclusive(ENDS).map(|cell| {
        let number = is_number(cell.trim_end_matches(ENDS));
        match formula_at(cell).filter(|_| !number) {
            Some(at) => format!("{}'{}", &cell[..at], &cell[at..]),
            None => cell.to_owned(),
        }
    });
    cells.collect()
}

fn unprotected(field: &str) -> String {
    let cells = field.split_inclusive(ENDS).map(|cell| {
        let apostrophe = formula_at(cell).filter(|at| cell[*at..].starts_with('\''));
        match apostrophe {
            Some(at) => format!("{}{}", &cell[..at], &cell[at + 1..]),
            None => cell.to_owned(),
        }
    });
    cells.collect()
}

#[cfg(test)]
mod tests {
    use super::{Record, UnclosedQuote, line, records};
    use proptest::prelude::*;

    #[test]
    fn fields_are_quoted_as_the_standard_says() {
        // RFC 4180, section 2, rules 5 to 7.
        assert_eq!(
            line(["aaa", "b \"b\"", "c,c", "d\r\nd", ""]),
            "aaa,\"b \"\"b\"\"\",\"c,c\",\"d\r\nd\",\r\n"
        );
        assert_eq!(line(["=1+1", "-0.18", "-x"]), "'=1+1,-0.18,'-x\r\n");
    }

    #[test]
    fn only_a_number_keeps_its_sign() {
        for number in ["-0.18", "+3", "-.5", "-1e5", "-0"] {
            assert_eq!(line([number]), format!("{number}\r\n"));
        }
        for text in ["-inf", "+nan", "-0.18 mm", "-1+1", "--1", "-", "+"] {
            assert_eq!(line([text]), format!("'{text}\r\n"));
        }
    }

    #[test]
    fn no_part_of_a_field_begins_a_formula_whatever_separates() {
        assert_eq!(line(["a;=1+1", "b;-0.5;c"]), "a;'=1+1,b;-0.5;c\r\n");
        assert_eq!(line(["a; \"=1\""]), "\"a; \"\"'=1\"\"\"\r\n");
        assert_eq!(line(["a\n@x", "\t=1", "＝1"]), "\"a\n'@x\",'\t'=1,'＝1\r\n");
        assert_eq!(line(["\tx", "a;\ry"]), "'\tx,\"a;'\ry\"\r\n");
        // As a spreadsheet reads it where `;` separates and a quote inside a cell is a sign like others.
        let text = line(["note", "x;=HYPERLINK(1)", "y\r\n;+cmd"]);
        let mut cells = text
            .split([';', '\n', '\t'])
            .map(|c| c.trim_matches(['"', ' ', '\r']));
        assert!(
            cells.all(|c| !c.starts_with(['=', '+', '-', '@'])),
            "{text}"
        );
    }

    #[test]
    fn awkward_names_read_back_as_they_were() {
        let names = [
            "P1, left",
            "5\" pin",
            "\"",
            "\"P1\"",
            "two\nlines",
            "two\r\nlines",
            "=1+1",
            "'=1+1",
            "''=1",
            "'",
            "'P1'",
            "-0.18",
            "'-0.18",
            "@x;=y",
            "#1",
            "\t",
            "'\t",
            "\r",
            "'\r",
            " P1 ",
            "＝1",
            "",
        ];
        for name in names {
            let text = line([name, "0"]);
            let read = records(&text).unwrap();
            assert_eq!(read.len(), 1, "{text:?}");
            assert_eq!(read[0].fields, [name, "0"], "{text:?}");
        }
        let all = records(&line(names)).unwrap();
        assert_eq!(all[0].fields, names);
    }

    proptest! {
        #[test]
        fn whatever_is_written_is_read_back(
            fields in proptest::collection::vec("[-a'\"=+@;,#\\t\\r\\n 0.＝]{0,8}", 2..5),
            more in proptest::collection::vec("[-a'\"=+@;,#\\t\\r\\n 0.＝]{0,8}", 2..5),
        ) {
            let line_of = |f: &[String]| line(f.iter().map(String::as_str));
            let text = line_of(&fields) + &line_of(&more);
            let read: Vec<Vec<String>> = records(&text).unwrap().into_iter().map(|r| r.fields).collect();
            prop_assert_eq!(read, [fields, more], "{:?}", text);
        }
    }

    #[test]
    fn lines_are_counted_over_comments_blank_lines_and_long_fields() {
        for end in ["\n", "\r\n"] {
            let text = ["# a", "", "x,1", "  ", "\"y", "z\",2", "#", "w,3"].join(end);
            let read = records(&text).unwrap();
            let lines: Vec<(usize, &str)> = read
                .iter()
                .map(|r| (r.line, r.fields[1].as_str()))
                .collect();
            assert_eq!(lines, [(3, "1"), (5, "2"), (8, "3")], "{text:?}");
        }
        let inch = Record {
            line: 1,
            fields: vec!["P1".to_owned(), "0.5\"".to_owned()],
        };
        assert_eq!(records("P1,0.5\"\n"), Ok(vec![inch]));
        assert_eq!(records("a,1\nb,\"2\nc,3\n"), Err(UnclosedQuote { line: 2 }));
    }
}
