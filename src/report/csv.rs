//! Comma-separated lines, for spreadsheets. Source of the format: RFC 4180.

/// One line with its end.
pub fn line<'a>(fields: impl IntoIterator<Item = &'a str>) -> String {
    let quoted: Vec<String> = fields.into_iter().map(quoted).collect();
    quoted.join(",") + "\r\n"
}

/// What may end a cell inside a field: the separators that spreadsheets use elsewhere, where quotes in the middle of a cell
/// are not read as such, and line ends.
const ENDS: [char; 4] = [';', '\t', '\n', '\r'];

/// Signs that begin a formula in a spreadsheet, the wide ones in some languages.
const FORMULA: [char; 8] = ['=', '+', '-', '@', '＝', '＋', '－', '＠'];

/// Whether a text is a signed number and nothing else: digits, at most one point, an exponent.
fn is_number(text: &str) -> bool {
    let digits = text.strip_prefix(['-', '+']).unwrap_or(text);
    digits.starts_with(|c: char| c.is_ascii_digit() || c == '.') && digits.parse::<f64>().is_ok()
}

/// A field as RFC 4180 has it; one that a spreadsheet would take for a formula is kept from being one, also where it is
/// only the part of a field after a semicolon, a tab or a line end. A number keeps its sign, so that it can be reckoned with.
/// The signs that may begin a formula, tab and carriage return among them: OWASP, "CSV Injection".
fn quoted(field: &str) -> String {
    let parts = field.split_inclusive(ENDS).map(|part| {
        let bare = part.trim_start_matches(|c: char| c.is_whitespace() || c == '"');
        if bare.starts_with(FORMULA) && !is_number(part.trim_end_matches(ENDS)) {
            let before = part.len() - bare.len();
            format!("{}'{bare}", &part[..before])
        } else if part == "\t" || part == "\r" {
            // A cell that begins with one.
            format!("'{part}")
        } else {
            part.to_owned()
        }
    });
    let field: String = parts.collect();
    if field.contains([',', ';', '\t', '"', '\n', '\r']) {
        format!("\"{}\"", field.replace('"', "\"\""))
    } else {
        field
    }
}

#[cfg(test)]
mod tests {
    use super::line;

    #[test]
    fn fields_come_back_whole() {
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
        assert_eq!(line(["a;=1+1", "b;-0.5;c"]), "\"a;'=1+1\",\"b;-0.5;c\"\r\n");
        assert_eq!(line(["a; \"=1\""]), "\"a; \"\"'=1\"\"\"\r\n");
        assert_eq!(
            line(["a\n@x", "\t=1", "＝1"]),
            "\"a\n'@x\",\"'\t'=1\",'＝1\r\n"
        );
        assert_eq!(line(["\tx", "a;\ry"]), "\"'\tx\",\"a;'\ry\"\r\n");
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
}
