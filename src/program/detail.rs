//! The detail of a finding after the title of its rule: words and figures. The caller formats the figures in the chosen
//! unit.

/// A figure in a finding.
#[derive(Clone, Copy, PartialEq, Debug)]
pub(crate) enum Figure {
    /// A length or a coordinate, in millimetres.
    Length(f64),
    /// A feed, in mm/min.
    Feed(f64),
    /// An area, in mm2.
    Area(f64),
}

/// Words, with figures between them.
#[derive(Clone, PartialEq, Debug, Default)]
pub struct Detail {
    /// Each figure, with the words before it.
    figures: Vec<(String, Figure)>,
    /// The words after the last figure.
    end: String,
}

/// The placeholder for a figure in a template.
const HOLE: &str = "{}";

impl Detail {
    /// Builds a detail from a template that has one `{}` for each figure, in the same order.
    pub(crate) fn with(template: &str, figures: &[Figure]) -> Self {
        let mut words = template.split(HOLE);
        let mut before = words.next().unwrap_or_default();
        let mut detail = Self::default();
        for figure in figures {
            detail.figures.push((before.to_owned(), *figure));
            before = words.next().unwrap_or_default();
        }
        before.clone_into(&mut detail.end);
        detail
    }

    /// Whether there are no words and no figures.
    pub(crate) fn is_empty(&self) -> bool {
        self.figures.is_empty() && self.end.is_empty()
    }

    /// The detail as text; `show` formats each figure with its unit.
    pub(crate) fn text(&self, show: &dyn Fn(Figure) -> String) -> String {
        let mut text = String::new();
        for (before, figure) in &self.figures {
            text.push_str(before);
            text.push_str(&show(*figure));
        }
        text + &self.end
    }
}

impl From<String> for Detail {
    fn from(end: String) -> Self {
        Self {
            end,
            ..Self::default()
        }
    }
}

#[cfg(test)]
mod tests {
    use super::{Detail, Figure};

    #[test]
    fn figures_replace_the_placeholders_in_order() {
        let show = |figure| match figure {
            Figure::Length(mm) => format!("{mm} mm"),
            Figure::Feed(feed) => format!("{feed} mm/min"),
            Figure::Area(area) => format!("{area} mm2"),
        };
        let detail = Detail::with("from {} at {}", &[Figure::Length(2.5), Figure::Feed(9.0)]);
        assert_eq!(detail.text(&show), "from 2.5 mm at 9 mm/min");
        let detail = Detail::with("{} left", &[Figure::Area(4.0)]);
        assert_eq!(detail.text(&show), "4 mm2 left");
        assert!(Detail::default().is_empty());
        assert_eq!(Detail::from("T7".to_owned()).text(&show), "T7");
    }
}
