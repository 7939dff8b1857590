//! What a finding says beside its rule's title: words, and figures that whoever shows them writes in the unit chosen there.

/// A figure in a finding.
#[derive(Clone, Copy, PartialEq, Debug)]
pub enum Figure {
    /// A length or a coordinate, in millimetres.
    Length(f64),
    /// A feed, in millimetres a minute.
    Feed(f64),
    /// An area, in square millimetres.
    Area(f64),
}

/// Words with figures between them.
#[derive(Clone, PartialEq, Debug, Default)]
pub struct Detail {
    /// Each figure with the words before it.
    figures: Vec<(String, Figure)>,
    /// The words after the last figure.
    end: String,
}

/// Where a figure stands in a template.
const HOLE: &str = "{}";

impl Detail {
    /// The template, which has a `{}` for each figure, in their order.
    pub fn with(template: &str, figures: &[Figure]) -> Self {
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

    /// Whether it says nothing.
    pub fn is_empty(&self) -> bool {
        self.figures.is_empty() && self.end.is_empty()
    }

    /// As text, each figure with its unit as `show` writes it.
    pub fn text(&self, show: &dyn Fn(Figure) -> String) -> String {
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
    fn figures_stand_where_the_template_says() {
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
