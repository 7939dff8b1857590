//! Everything that can be reported about a program: the findings, the coverage of the plate, the time, the drawing.
//! Each as far as the set-up has the facts for it; the rest is listed as not judged.

use super::coverage::{CoverWatch, Coverage, CoverageGaps, CoverageTask};
use super::dialect::Dialect;
use super::examine::{Examination, ProgramWatcher, examine, examine_with};
use super::fault::Fault;
use super::motion::{FileLocation, Motion, Straight};
use super::observer::Observer;
use super::picture::view::micrometres;
use super::picture::{PathRecorder, Picture};
use super::program_event::ProgramEvent;
use super::setup::Setup;
use super::source::{Source, SourceError};
use super::time::{Dynamics, Estimate, TimeWatch};
use crate::scene::Rect;

/// Largest height of the tip above the plane at which it still counts as cutting it, mm. An assumption: half of the
/// hundredth that readouts show.
pub(crate) const AT_DEPTH: f64 = 0.005;

/// The results of studying a program.
#[derive(Clone, Debug)]
pub struct ProgramStudy {
    /// The findings and the summary.
    pub examination: Examination,
    /// The coverage of the plate, where plate, position and cutter are known.
    pub covered: Option<Coverage>,
    /// The reasons why the coverage is not reliable; none where it is.
    pub doubts: CoverageGaps,
    /// The machining time, where the figures of the machine's axes are known.
    pub time: Option<Estimate>,
    /// The program seen from above, where the position of the plate is known.
    pub picture: Option<Picture>,
}

impl ProgramStudy {
    /// The uncovered part of the plate, in percent, where it is reliable.
    pub fn uncovered(&self) -> Option<f64> {
        let covered = self.covered.as_ref().filter(|_| !self.doubts.any())?;
        Some(covered.percent())
    }
}

/// The watchers of a program in addition to the rules.
struct StudyWatchers {
    cover: Option<CoverWatch>,
    done: Option<(Coverage, CoverageGaps)>,
    time: Option<TimeWatch>,
    path: Option<PathRecorder>,
}

impl Observer for StudyWatchers {
    fn motion(&mut self, motion: &Motion<'_>) {
        self.cover.motion(motion);
        self.time.motion(motion);
        self.path.motion(motion);
    }

    #[inline]
    fn straight(&mut self, cut: &Straight<'_>) {
        self.cover.straight(cut);
        self.time.straight(cut);
        self.path.straight(cut);
    }

    fn event(&mut self, event: &ProgramEvent<'_>) {
        self.cover.event(event);
        self.time.event(event);
        self.path.event(event);
    }

    fn fault(&mut self, fault: &Fault, at: FileLocation<'_>) {
        self.cover.fault(fault, at);
        self.time.fault(fault, at);
        self.path.fault(fault, at);
    }
}

impl ProgramWatcher for StudyWatchers {
    fn not_reached(&mut self) -> Option<[f64; 2]> {
        self.done = self.cover.take().map(CoverWatch::finish);
        let (covered, doubts) = self.done.as_ref()?;
        (!doubts.any()).then(|| [covered.percent(), covered.area()])
    }
}

fn frame(setup: &Setup) -> Option<Rect> {
    let plate = setup.plate?;
    let [x, y] = plate.corner?;
    let [long, wide] = plate.size;
    Some(Rect::between([x, y], [x + long, y + wide])).filter(Rect::is_sound)
}

/// Studies a program. Where the intended plane is unknown, the program's own lowest cut is used for it, which needs
/// another reading of the file.
pub fn study<S: Source>(
    source: &mut S,
    dialect: &Dialect,
    setup: &Setup,
    machine: Option<Dynamics>,
) -> Result<ProgramStudy, SourceError> {
    let frame = frame(setup);
    let flat = setup.cutter.map(|c| c.flat_radius());
    let plane = match (frame.and(flat), setup.lowest_z) {
        (None, _) => None,
        (_, Some(z)) => Some(z),
        (Some(_), None) => examine(source, dialect, setup)?.summary.min_z,
    };
    let cover = || match (frame, flat, plane) {
        (Some(plate), Some(flat), Some(plane)) => CoverWatch::new(CoverageTask {
            plate,
            flat,
            depth: plane + AT_DEPTH,
        }),
        _ => None,
    };
    let mut first = StudyWatchers {
        cover: cover(),
        done: None,
        time: machine.and_then(TimeWatch::new),
        path: frame.map(|plate| PathRecorder::over(&plate)),
    };
    let mut second = StudyWatchers {
        cover: cover(),
        done: None,
        time: None,
        path: None,
    };
    let mut examination = examine_with(source, dialect, setup, (&mut first, &mut second))?;
    let StudyWatchers {
        done, time, path, ..
    } = first;
    let (covered, doubts) = done.unzip();
    let doubts = doubts.unwrap_or_default();
    if covered.is_none() {
        examination
            .not_judged
            .push("plate, position and cutter together: the part of the plate that is reached");
    }
    if time.is_none() {
        examination
            .not_judged
            .push("the figures of the machine's axes: the time");
    }
    let picture = frame.zip(path).map(|(plate, path)| {
        let sure = covered.as_ref().filter(|_| !doubts.any());
        Picture {
            top: examination.metal_top.map(micrometres),
            cutter: setup.cutter.map(|c| micrometres(c.diameter)),
            ..Picture::new(&plate, path.finish(), sure)
        }
    });
    Ok(ProgramStudy {
        examination,
        covered,
        doubts,
        time: time.map(TimeWatch::finish),
        picture,
    })
}

#[cfg(test)]
mod tests {
    use super::study;
    use crate::program::dialect::Dialect;
    use crate::program::examine::Verdict;
    use crate::program::setup::{Cutter, Plate, Setup};
    use crate::program::time::Dynamics;

    /// Invented; a plate of 240 x 120 mm from X30 Y30, rows 7 mm apart along X with the tip at 0.
    const GOOD: &str = include_str!("../../checklists/answers/facing-12mm.nc");

    fn setup() -> Setup {
        Setup {
            plate: Some(Plate {
                size: [240.0, 120.0],
                corner: Some([30.0, 30.0]),
            }),
            cutter: Some(Cutter {
                diameter: 12.0,
                corner: 0.2,
                teeth: None,
                deepest_bite: None,
                chip_load: None,
                highest_speed: None,
            }),
            ..Setup::default()
        }
    }

    fn studied(text: &str, setup: &Setup, machine: Option<Dynamics>) -> super::ProgramStudy {
        study(&mut text.as_bytes(), &Dialect::default(), setup, machine).unwrap()
    }

    #[test]
    fn the_plane_is_the_lowest_cut_where_none_is_stated() {
        for lowest_z in [None, Some(0.0)] {
            let setup = Setup {
                lowest_z,
                ..setup()
            };
            let study = studied(GOOD, &setup, None);
            assert_eq!(study.uncovered(), Some(0.0));
            assert!(study.picture.unwrap().judged);
            assert!(study.time.is_none());
        }
        // Nothing is cut at a plane lower than that, so the whole plate is uncovered.
        let setup = Setup {
            lowest_z: Some(-0.2),
            ..setup()
        };
        let uncovered = studied(GOOD, &setup, None).uncovered().unwrap();
        assert!((uncovered - 100.0).abs() < 1e-9, "{uncovered}");
    }

    // By hand: a step of 14 with a flat of 11.6 leaves 2.4 x 240 of 240 x 120, 2 %.
    #[test]
    fn an_uncovered_part_is_found() {
        let text = GOOD.replacen("Y90\nX279\nY97\nX21\n", "Y104\nX21\n", 1);
        let text = text.replacen("Y104\nX279\n", "X279\n", 1);
        let study = studied(&text, &setup(), None);
        let found = &study.examination;
        let finding = found.findings.iter().find(|f| f.rule.code == "not-reached");
        let uncovered = study.uncovered().unwrap();
        assert!(uncovered > 1.9, "{uncovered}");
        assert!(finding.is_some());
        assert_ne!(found.verdict, Verdict::Agrees);
    }

    #[test]
    fn coverage_is_not_judged_without_a_position() {
        let mut bare = setup();
        if let Some(plate) = &mut bare.plate {
            plate.corner = None;
        }
        let study = studied(GOOD, &bare, None);
        assert_eq!(study.uncovered(), None);
        assert!(study.picture.is_none());
        // A cut from an unknown position makes the coverage unreliable, and no percentage is given.
        let lost = studied(&GOOD.replacen("X279\nY41", "X#9\nY41", 1), &setup(), None);
        assert_eq!(lost.uncovered(), None);
        assert!(!lost.picture.unwrap().judged);
    }
}
