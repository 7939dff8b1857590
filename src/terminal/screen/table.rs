//! Tables: columns where they fit, `name: value` lines where they do not or where the page is narrated.
//!
//! A cell is never cut or wrapped: a number torn over two lines is worse than a longer page.

use super::paint;
use super::style::Style;
use super::words::{clean, width, wrap};
use crate::report::page::{Align, Table, Tone};

const BETWEEN: usize = 2;

/// The lines of a table, indentation included.
pub(crate) fn lines(table: &Table, indent: usize, style: &Style) -> Vec<String> {
    let head = cells(&table.head, style);
    let rows: Vec<Vec<String>> = table.rows.iter().map(|row| cells(row, style)).collect();
    let columns = rows
        .iter()
        .map(Vec::len)
        .chain([head.len()])
        .max()
        .unwrap_or(0);
    let widths: Vec<usize> = (0..columns)
        .map(|c| {
            rows.iter()
                .chain([&head])
                .filter_map(|row| row.get(c))
                .map(|cell| width(cell))
                .max()
                .unwrap_or(0)
        })
        .collect();
    let total = indent + widths.iter().sum::<usize>() + BETWEEN * columns.saturating_sub(1);
    if style.plain || total > style.width {
        return named(&head, &rows, indent, style);
    }
    let pad = " ".repeat(indent);
    let row = |cells: &[String]| {
        let line: Vec<String> = widths
            .iter()
            .enumerate()
            .map(|(c, &wide)| {
                let cell = cells.get(c).map_or("", String::as_str);
                let fill = " ".repeat(wide.saturating_sub(width(cell)));
                match table.align.get(c) {
                    Some(Align::Right) => format!("{fill}{cell}"),
                    _ => format!("{cell}{fill}"),
                }
            })
            .collect();
        line.join("  ")
    };
    let mut out = Vec::with_capacity(rows.len() + 2);
    if !head.is_empty() {
        out.push(format!(
            "{pad}{}",
            paint::tone(Tone::Strong, row(&head).trim_end(), style)
        ));
        let under: Vec<String> = widths
            .iter()
            .map(|&wide| paint::rule(wide, style))
            .collect();
        out.push(format!(
            "{pad}{}",
            paint::tone(Tone::Quiet, &under.join("  "), style)
        ));
    }
    out.extend(rows.iter().map(|cells| format!("{pad}{}", row(cells))));
    out
}

fn cells(row: &[String], style: &Style) -> Vec<String> {
    row.iter().map(|cell| clean(cell, style.unicode)).collect()
}

/// Each row a small block, counted so that a listener knows how far along they are. Empty cells are left out.
fn named(head: &[String], rows: &[Vec<String>], indent: usize, style: &Style) -> Vec<String> {
    let pad = " ".repeat(indent);
    let mut out = Vec::new();
    for (n, row) in rows.iter().enumerate() {
        out.push(format!("{pad}row {} of {}", n + 1, rows.len()));
        for (c, cell) in row.iter().enumerate().filter(|(_, cell)| !cell.is_empty()) {
            let name = head.get(c).filter(|name| !name.is_empty());
            let text = match name {
                Some(name) => format!("{name}: {cell}"),
                None => cell.clone(),
            };
            let room = style.width.saturating_sub(indent + 4).max(12);
            for (k, line) in wrap(&text, room, style).iter().enumerate() {
                let deeper = if k == 0 { 2 } else { 4 };
                out.push(format!("{pad}{}{line}", " ".repeat(deeper)));
            }
        }
    }
    out
}

#[cfg(test)]
mod tests {
    use super::lines;
    use crate::report::page::{Align, Table};
    use crate::terminal::screen::style::Style;

    fn touches() -> Table {
        let row = |cells: [&str; 4]| cells.map(String::from).to_vec();
        Table {
            head: row(["touch", "readout", "do", "height"]),
            rows: vec![
                row(["P1", "zeroed", "", "0.00"]),
                row(["P2", "-0.12", "lower: zero here", "-0.12"]),
                vec!["P3".into(), "+0.31".into()],
            ],
            align: vec![Align::Left, Align::Right, Align::Left, Align::Right],
        }
    }

    fn drawn(style: &Style) -> Style {
        Style {
            plain: false,
            ..style.clone()
        }
    }

    #[test]
    fn columns_line_up_and_short_rows_are_filled() {
        let style = drawn(&Style::plain(80));
        insta::assert_snapshot!(lines(&touches(), 2, &style).join("\n"), @"
          touch  readout  do                height
          -----  -------  ----------------  ------
          P1      zeroed                      0.00
          P2       -0.12  lower: zero here   -0.12
          P3       +0.31                          
        ");
    }

    #[test]
    fn too_narrow_or_narrated_a_table_becomes_names_and_values() {
        let narrow = lines(&touches(), 0, &drawn(&Style::plain(38)));
        assert_eq!(narrow, lines(&touches(), 0, &Style::plain(80)));
        insta::assert_snapshot!(narrow.join("\n"), @"
        row 1 of 3
          touch: P1
          readout: zeroed
          height: 0.00
        row 2 of 3
          touch: P2
          readout: -0.12
          do: lower: zero here
          height: -0.12
        row 3 of 3
          touch: P3
          readout: +0.31
        ");
    }

    #[test]
    fn an_empty_table_is_nothing() {
        assert!(lines(&Table::default(), 2, &Style::plain(80)).is_empty());
    }
}
