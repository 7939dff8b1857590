//! Readings from flags, a file or standard input.

use super::args::{length, rounded};
use super::places::pair as pair_of;
use crate::cli::failure::Failure;
use crate::cli::files;
use crate::files::ReadAs;
use crate::plate::{Reading, ZeroMode};
use crate::quantity::{Length, UnitSystem};
use crate::report::spreadsheet;
use std::path::Path;

/// One touch with the place it was given at, for messages.
#[derive(Clone, PartialEq, Eq, Debug)]
pub(crate) struct Named {
    /// The point's name.
    pub point: String,
    /// What was read there.
    pub reading: Reading,
    /// Whether the reading had more decimals than are held.
    pub rounded: bool,
    /// Where the point lies, if that was given beside the reading.
    pub at: Option<[Length; 2]>,
    /// The flag, or the file and line.
    pub place: String,
}

/// Readings given as flags. The first machine reading of a point goes with its first touch, the second with its second;
/// without touches the machine readings are the touches.
pub(super) fn from_flags(
    touches: &[String],
    machines: &[String],
    unit: Option<UnitSystem>,
) -> Result<Vec<Named>, Failure> {
    let mut named = Vec::new();
    for text in touches {
        let (point, (read, rounded), place) = point_and_length("--touch", text, unit)?;
        let reading = Reading {
            readout: Some(read),
            machine: None,
        };
        named.push(Named {
            point,
            reading,
            rounded,
            at: None,
            place,
        });
    }
    for text in machines {
        let (point, (read, rounded), place) = point_and_length("--machine", text, unit)?;
        if touches.is_empty() {
            let reading = Reading {
                readout: None,
                machine: Some(read),
            };
            named.push(Named {
                point,
                reading,
                rounded,
                at: None,
                place,
            });
            continue;
        }
        let open = |n: &&mut Named| n.point == point && n.reading.machine.is_none();
        let Some(touch) = named.iter_mut().find(open) else {
            let what =
                format!("no touch of {point} for it to go with; add --touch {point}=READING");
            return Err(Failure::at(place, what));
        };
        touch.reading.machine = Some(read);
        touch.rounded |= rounded;
    }
    Ok(named)
}

fn point_and_length(
    flag: &str,
    text: &str,
    unit: Option<UnitSystem>,
) -> Result<(String, (Length, bool), String), Failure> {
    let place = format!("{flag} {text}");
    let Some((point, number)) = text.split_once('=') else {
        let what = format!("no point and reading; write {flag} P1=0.31");
        return Err(Failure::at(place, what));
    };
    let point = point.trim();
    if point.is_empty() {
        let what = format!("no point before the =; write {flag} P1={number}");
        return Err(Failure::at(place, what));
    }
    let read = rounded(number, unit, &place)?;
    Ok((point.to_owned(), read, place))
}

/// Readings from a file, or from standard input where the name is `-`.
pub(super) fn from_file(
    name: &str,
    mode: ZeroMode,
    unit: Option<UnitSystem>,
) -> Result<Vec<Named>, Failure> {
    let path = Path::new(name);
    let text = files::text_or_stdin(path, ReadAs::Readings)?;
    parse(&files::shown(path), &text, mode, unit)
}

/// Reads the text of a file: comma-separated under a header, or `P1: 0.31` lines.
fn parse(
    name: &str,
    text: &str,
    mode: ZeroMode,
    unit: Option<UnitSystem>,
) -> Result<Vec<Named>, Failure> {
    let text = text.strip_prefix('\u{feff}').unwrap_or(text); // some editors begin a file with this mark
    let mut lines = text
        .lines()
        .enumerate()
        .map(|(i, l)| (i + 1, l.trim()))
        .filter(|(_, l)| !l.is_empty() && !l.starts_with('#'))
        .peekable();
    // Only a list of comma-separated values has a header. Quotation marks mean nothing in the other form.
    if lines.peek().is_some_and(|(_, first)| is_header(first)) {
        return table(name, text, unit);
    }
    lines
        .filter(|(_, line)| *line != "---")
        .map(|(n, line)| pair(&format!("{name}:{n}"), line, mode, unit))
        .collect()
}

/// Comma-separated records under a header.
fn table(name: &str, text: &str, unit: Option<UnitSystem>) -> Result<Vec<Named>, Failure> {
    let records = spreadsheet::records(text).map_err(|unclosed| {
        let what = "a quotation mark is opened here and never closed; write \"\" for one inside a quoted name";
        Failure::at(format!("{name}:{}", unclosed.line), what)
    })?;
    let mut records = records.into_iter().map(|record| {
        let cells: Vec<String> = record.fields.iter().map(|f| f.trim().to_owned()).collect();
        (format!("{name}:{}", record.line), cells)
    });
    let Some((place, head)) = records.next() else {
        return Ok(Vec::new());
    };
    let columns = columns(&head).map_err(|what| Failure::at(place, what))?;
    records
        .map(|(place, cells)| row(&place, &cells, &columns, unit))
        .collect()
}

#[derive(Clone, Copy, PartialEq, Eq)]
enum Column {
    Point,
    Reading,
    Machine,
    X,
    Y,
}

/// Whether a line names columns.
fn is_header(line: &str) -> bool {
    let records = spreadsheet::records(line).unwrap_or_default();
    let first = records.first().and_then(|r| r.fields.first());
    first.is_some_and(|cell| cell.trim().eq_ignore_ascii_case("point"))
}

/// The columns that a header names.
fn columns(cells: &[String]) -> Result<Vec<Column>, String> {
    let mut columns = Vec::new();
    for cell in cells {
        let column = match cell.to_ascii_lowercase().as_str() {
            "point" => Column::Point,
            "reading" => Column::Reading,
            "machine" => Column::Machine,
            "x" => Column::X,
            "y" => Column::Y,
            other => {
                return Err(format!(
                    "`{other}` is not a column known here; use point, reading, machine, x and y"
                ));
            }
        };
        if columns.contains(&column) {
            return Err(format!("the column `{cell}` comes twice; keep one"));
        }
        columns.push(column);
    }
    if columns.contains(&Column::X) != columns.contains(&Column::Y) {
        return Err("a place needs both columns, x and y".into());
    }
    if !columns
        .iter()
        .any(|c| matches!(c, Column::Reading | Column::Machine))
    {
        let what = "no column of readings; write point,reading or point,reading,machine";
        return Err(what.into());
    }
    Ok(columns)
}

/// Without blanks and one pair of quotes around it.
fn unquoted(text: &str) -> &str {
    let text = text.trim();
    let inner = |quote| text.strip_prefix(quote)?.strip_suffix(quote);
    inner('"').or_else(|| inner('\'')).unwrap_or(text)
}

fn row(
    place: &str,
    cells: &[String],
    columns: &[Column],
    unit: Option<UnitSystem>,
) -> Result<Named, Failure> {
    if cells.len() > columns.len() {
        let what = format!(
            "{} cells where the header names {}; a comma is not taken for a decimal mark, write 0.12",
            cells.len(),
            columns.len()
        );
        return Err(Failure::at(place, what));
    }
    let mut point = "";
    let mut reading = Reading::default();
    let (mut x, mut y) = (None, None);
    let mut any_rounded = false;
    let mut read = |cell: &str| {
        let (length, was) = rounded(cell, unit, place)?;
        any_rounded |= was;
        Ok::<_, Failure>(Some(length))
    };
    for (column, cell) in columns.iter().zip(cells) {
        // An empty cell is a reading not taken; whether it may be missing is for the way of touching off to say.
        match column {
            Column::Point => point = cell,
            _ if cell.is_empty() => {}
            Column::Reading => reading.readout = read(cell)?,
            Column::Machine => reading.machine = read(cell)?,
            Column::X => x = Some(length(cell, unit, place)?),
            Column::Y => y = Some(length(cell, unit, place)?),
        }
    }
    if x.is_some() != y.is_some() {
        return Err(Failure::at(
            place,
            "a place needs both x and y; give both or neither",
        ));
    }
    Ok(Named {
        point: point.to_owned(),
        reading,
        rounded: any_rounded,
        at: x.zip(y).map(|(x, y)| [x, y]),
        place: place.to_owned(),
    })
}

fn pair(
    place: &str,
    line: &str,
    mode: ZeroMode,
    unit: Option<UnitSystem>,
) -> Result<Named, Failure> {
    let Some((point, number)) = line.split_once(':') else {
        let what = format!(
            "`{line}` is no reading; begin with the header point,reading or write lines such as P1: 0.31"
        );
        return Err(Failure::at(place, what));
    };
    let number = number.split(" #").next().unwrap_or(number);
    let (number, at) = match unquoted(number).split_once(" at ") {
        Some((number, at)) => (number, Some(pair_of(at, unit, place)?)),
        None => (number, None),
    };
    let (read, rounded) = rounded(unquoted(number), unit, place)?;
    let read = Some(read);
    let reading = if mode == ZeroMode::Machine {
        Reading {
            readout: None,
            machine: read,
        }
    } else {
        Reading {
            readout: read,
            machine: None,
        }
    };
    Ok(Named {
        point: unquoted(point).to_owned(),
        reading,
        rounded,
        at,
        place: place.to_owned(),
    })
}

#[cfg(test)]
mod tests {
    use super::{Named, parse};
    use crate::plate::ZeroMode;
    use crate::quantity::UnitSystem;

    fn read(text: &str) -> Result<Vec<Named>, String> {
        parse("t.csv", text, ZeroMode::Running, Some(UnitSystem::Mm))
            .map_err(|f| format!("{}: {}", f.place.unwrap_or_default(), f.message))
    }

    fn um(named: &Named) -> (&str, Option<i64>, Option<i64>) {
        let um = |l: Option<crate::quantity::Length>| l.map(|l| l.counts() / 10_000);
        let r = named.reading;
        (&named.point, um(r.readout), um(r.machine))
    }

    #[test]
    fn both_forms_are_read_with_marks_comments_and_quotes() {
        let csv = "\u{feff}# plate 1\r\nPoint, Reading ,machine\r\nP1,0,-152.25\r\n\r\n\"P 2\",-0.12,\r\n# end\r\n";
        let csv = read(csv).unwrap();
        assert_eq!(um(&csv[0]), ("P1", Some(0), Some(-152_250)));
        assert_eq!(um(&csv[1]), ("P 2", Some(-120), None));
        assert_eq!(csv[1].place, "t.csv:5");
        let lines = read("---\nP1: 0\n'P2': -0.12 # low\nP3: \"12 um\"\n").unwrap();
        let lines: Vec<_> = lines.iter().map(um).collect();
        let expected = [("P1", 0), ("P2", -120), ("P3", 12)].map(|(p, r)| (p, Some(r), None));
        assert_eq!(lines, expected);
        assert_eq!(read("# nothing\n\n"), Ok(vec![]));
    }

    #[test]
    fn what_cannot_be_read_is_placed() {
        for (text, place, part) in [
            (
                "point,reading\nP1,0\nP2,-0,12\n",
                "t.csv:3: ",
                "decimal mark",
            ),
            ("point,reading\nP1,x\n", "t.csv:2: ", "`x`"),
            ("point,height\nP1,0\n", "t.csv:1: ", "`height`"),
            ("point\nP1\n", "t.csv:1: ", "no column of readings"),
            ("point,reading,reading\n", "t.csv:1: ", "twice"),
            ("P1: 0\nP2 -0.12\n", "t.csv:2: ", "P1: 0.31"),
            ("P1: {a: 1}\n", "t.csv:1: ", "{a: 1}"),
            ("P1: -0,12\n", "t.csv:1: ", "comma"),
        ] {
            let error = read(text).unwrap_err();
            assert!(error.starts_with(place) && error.contains(part), "{error}");
        }
    }
}
