//! Where findings lie: the program is followed once more, and the cutter's place in their lines is noted.

use super::view::Spot;
use crate::program::dialect::{Dialect, PanelSwitches};
use crate::program::fault::Fault;
use crate::program::follow::follow;
use crate::program::motion::{FileLocation, Motion, Straight};
use crate::program::observer::Observer;
use crate::program::program_event::ProgramEvent;
use crate::program::source::{Source, SourceError};
use crate::program::study::ProgramStudy;

/// Most findings that are placed: a drawing with more is read by nobody.
const MOST: usize = 9;

/// Watches for the lines of findings.
struct Placing {
    /// Each line, and where it is once that is known.
    lines: Vec<(u32, Option<[f64; 2]>)>,
    /// Where the cutter was last.
    last: Option<[f64; 2]>,
}

impl Placing {
    #[inline]
    fn wants(&self, line: u32) -> bool {
        self.lines.iter().any(|(l, at)| *l == line && at.is_none())
    }

    fn note(&mut self, line: u32, place: Option<[f64; 2]>) {
        for (_, at) in self.lines.iter_mut().filter(|(l, _)| *l == line) {
            *at = at.or(place);
        }
    }
}

impl Observer for Placing {
    fn motion(&mut self, motion: &Motion<'_>) {
        let flat = |c: [crate::program::motion::Coord; 3]| Some([c[0].known()?, c[1].known()?]);
        let (from, to) = (flat(motion.from), flat(motion.to));
        let line = motion.at.line;
        if self.wants(line) {
            let middle = match (motion.arc, from, to) {
                (Some(arc), ..) => {
                    let [x, y, _] = arc.point(0.5);
                    Some([x, y])
                }
                (None, Some(a), Some(b)) => {
                    Some([f64::midpoint(a[0], b[0]), f64::midpoint(a[1], b[1])])
                }
                (None, a, b) => b.or(a),
            };
            self.note(line, middle);
        }
        self.last = to;
    }

    #[inline]
    fn straight(&mut self, cut: &Straight<'_>) {
        if self.wants(cut.at.line) {
            self.motion(&cut.motion());
        } else {
            self.last = Some([cut.to[0], cut.to[1]]);
        }
    }

    fn event(&mut self, happening: &ProgramEvent<'_>) {
        if self.wants(happening.at.line) {
            self.note(happening.at.line, self.last);
        }
    }

    fn fault(&mut self, _: &Fault, at: FileLocation<'_>) {
        if self.wants(at.line) {
            self.note(at.line, self.last);
        }
    }
}

/// Marks the first few findings in the drawing, as far as they have a line and the cutter is in sight there. It takes
/// following the program once more, so it is done only for a drawing.
///
/// # Errors
/// Where the source cannot be read again.
pub(crate) fn place_findings<S: Source>(
    study: &mut ProgramStudy,
    source: &mut S,
    dialect: &Dialect,
) -> Result<(), SourceError> {
    let Some(picture) = &mut study.picture else {
        return Ok(());
    };
    let findings = || study.examination.findings.iter();
    let lines = findings().filter(|f| f.line > 0).map(|f| (f.line, None));
    let mut placing = Placing {
        lines: lines.take(MOST).collect(),
        last: None,
    };
    if placing.lines.is_empty() {
        return Ok(());
    }
    follow(source, dialect, PanelSwitches::default(), &mut placing)?;
    let sight = picture.sight();
    let placed = findings().enumerate().filter_map(|(n, finding)| {
        let line = placing.lines.iter().find(|(l, _)| *l == finding.line);
        let at = line.and_then(|(_, at)| *at)?;
        sight.holds(at).then(|| (n, Spot::at(at)))
    });
    picture.findings = placed.take(MOST).collect();
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::place_findings;
    use crate::program::dialect::Dialect;
    use crate::program::picture::Spot;
    use crate::program::setup::{Plate, Setup};
    use crate::program::study::study;
    use crate::program::testing::CUTTER;

    // By hand: from X0 Y10 to X60 Y30 the middle is X30 Y20; straight down at X0 Y10; the others has no line.
    #[test]
    fn findings_lie_where_the_cutter_is_in_their_lines() {
        let text = "G21 G17 G90 G94 G54\nT1 M6\nS4000 M3\nG0 Z30.\nG0 X0. Y10.\nG0 Z5.\nG1 Z0. F250.\nX-10.\nX0.\nG0 X60. Y30.\nM5\nM30\n";
        let setup = Setup {
            plate: Some(Plate {
                size: [100.0, 40.0],
                corner: Some([0.0, 0.0]),
            }),
            cutter: Some(CUTTER),
            ..Setup::default()
        };
        let dialect = Dialect::default();
        let mut found = study(&mut text.as_bytes(), &dialect, &setup, None).unwrap();
        place_findings(&mut found, &mut text.as_bytes(), &dialect).unwrap();
        let findings = &found.examination.findings;
        let place = |code: &str| {
            let n = findings.iter().position(|f| f.rule.code == code).unwrap();
            let picture = found.picture.as_ref().unwrap();
            picture.findings.iter().find(|(i, _)| *i == n).map(|f| f.1)
        };
        assert_eq!(place("rapid-low"), Some(Spot::at([30.0, 20.0])));
        assert_eq!(place("plunge"), Some(Spot::at([0.0, 10.0])));
        let whole = findings.iter().filter(|f| f.line == 0).map(|f| f.rule.code);
        assert!(whole.clone().count() > 0);
        assert!(whole.into_iter().all(|code| place(code).is_none()));
    }
}
