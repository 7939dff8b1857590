//! Comma-separated lines, for spreadsheets. Source of the format: RFC 4180.

/// One line with its end.
pub fn line<'a>(fields: impl IntoIterator<Item = &'a str>) -> String {
    let quoted: Vec<String> = fields.into_iter().map(quoted).collect();
    quoted.join(",") + "\r\n"
}

/// A field as RFC 4180 has it; one that a spreadsheet would take for a formula is kept from being one. A number keeps
/// its sign.
fn quoted(field: &str) -> String {
    let formula = field.starts_with(['=', '+', '@', '-', '\t']) && field.parse::<f64>().is_err();
    let field = if formula {
        format!("'{field}")
    } else {
        field.to_owned()
    };
    if field.contains([',', '"', '\n', '\r']) {
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
}
