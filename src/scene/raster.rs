//! A scene as characters: about twice as high as wide each, the back on top.
//!
//! The outline takes characters of its own between the plate and what lies outside, so it hides nothing. One character
//! stands for everything under it, and the later mark of the table wins: a place whose skin stays shows wherever any of it
//! falls into a cell.

use super::marks::{Mark, Stroke};
use super::{Ground, Rect, Scene, Trace};

/// A character is about so many times as high as wide.
const HIGH: f64 = 2.0;
/// What is less is rounding, in characters.
const HAIR: f64 = 1e-6;
/// Most characters either way, whatever the room.
const MOST: usize = 400;
/// Fewest characters that show anything.
const LEAST: [usize; 2] = [12, 4];
/// A line this long shows its direction, in characters.
const SHOWS_WAY: f64 = 8.0;

/// One character.
#[derive(Clone, Copy, PartialEq, Eq, Default, Debug)]
pub(crate) struct Cell {
    /// What it shows; nothing outside the plate.
    pub mark: Option<Mark>,
    /// Which way that runs through it.
    pub stroke: Stroke,
    /// A letter of a label, which stands over the mark.
    pub letter: Option<char>,
}

/// Characters row by row from the back.
#[derive(Clone, PartialEq, Debug)]
pub(crate) struct Raster {
    /// The rows.
    pub rows: Vec<Vec<Cell>>,
    /// Width of a character inside the plate, mm.
    pub wide: f64,
}

/// Characters along one axis: outside, a line of the outline, the plate, a line of the outline, outside.
#[derive(Clone, Copy, Debug)]
struct Axis {
    low: f64,
    high: f64,
    before: usize,
    inside: usize,
    after: usize,
    /// Length of a character, mm.
    cell: f64,
}

#[allow(
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    clippy::cast_precision_loss
)] // held within MOST
mod whole {
    use super::MOST;

    pub(crate) fn count(value: f64) -> usize {
        value.clamp(0.0, MOST as f64) as usize
    }

    pub(crate) fn real(count: usize) -> f64 {
        count as f64
    }
}
use whole::{count, real};

impl Axis {
    fn new(plate: [f64; 2], sight: [f64; 2], cell: f64) -> Self {
        let [low, high] = plate;
        let inside = count(((high - low) / cell).round()).max(1);
        let cell = (high - low) / real(inside);
        let outside = |long: f64| count((long / cell - HAIR).ceil());
        Self {
            low,
            high,
            before: outside(low - sight[0]),
            inside,
            after: outside(sight[1] - high),
            cell,
        }
    }

    fn total(&self) -> usize {
        self.before + self.inside + self.after + 2
    }

    /// The first and last line of the outline.
    fn edges(&self) -> [usize; 2] {
        [self.before, self.before + self.inside + 1]
    }

    /// The character of a place; none out of sight.
    fn index(&self, at: f64) -> Option<usize> {
        let [first, last] = self.edges();
        if at < self.low {
            // What lies on the border of the sight is in sight.
            let n = count(((self.low - at) / self.cell - HAIR).floor());
            first.checked_sub(1 + n)
        } else if at <= self.high {
            let n = count(((at - self.low) / self.cell).floor());
            Some(first + 1 + n.min(self.inside - 1))
        } else {
            let n = count(((at - self.high) / self.cell - HAIR).floor());
            (n < self.after).then_some(last + 1 + n)
        }
    }

    /// The characters inside the plate that a stretch falls into, however little of it.
    fn inside(&self, low: f64, high: f64) -> std::ops::Range<usize> {
        let share = |v: f64| (v - self.low) / self.cell;
        let from = count((share(low) + HAIR).floor()).min(self.inside - 1);
        let to = count((share(high) - HAIR).ceil()).clamp(from + 1, self.inside);
        let first = self.before + 1;
        first + from..first + to
    }
}

struct Grid {
    x: Axis,
    y: Axis,
    /// From the front.
    rows: Vec<Vec<Cell>>,
}

/// The scene in so many characters at most; none where that is too little room, or the plate has no area.
pub(crate) fn raster(scene: &Scene, columns: usize, rows: usize) -> Option<Raster> {
    let mut grid = Grid::over(scene, columns, rows)?;
    if let Some(ground) = &scene.ground {
        grid.ground(ground);
    }
    for trace in &scene.path {
        grid.trace(trace);
    }
    for part in &scene.left {
        grid.fill(part);
    }
    for obstacle in &scene.obstacles {
        grid.disc(obstacle.at, obstacle.radius);
    }
    let finding = |mark: Mark| matches!(mark, Mark::Finding(_));
    for (mark, at) in scene.spots.iter().filter(|s| !finding(s.0)) {
        grid.put(*at, *mark, Stroke::Across);
    }
    for (mark, at) in scene.spots.iter().filter(|s| finding(s.0)) {
        grid.beside(*at, *mark);
    }
    for touch in &scene.touches {
        grid.put(touch.at, Mark::Touch, Stroke::Across);
    }
    grid.labels(scene);
    grid.rows.reverse();
    Some(Raster {
        wide: grid.x.cell,
        rows: grid.rows,
    })
}

impl Raster {
    /// Every mark that shows in it, the quietest first. The outline explains itself.
    pub(crate) fn marks(&self) -> Vec<Mark> {
        let all = self.rows.iter().flatten().filter_map(|c| c.mark);
        let mut all: Vec<Mark> = all.filter(|m| *m != Mark::Edge).collect();
        all.sort_unstable();
        all.dedup();
        all
    }
}

impl Grid {
    fn over(scene: &Scene, columns: usize, rows: usize) -> Option<Self> {
        if !scene.plate.is_sound() || columns < LEAST[0] || rows < LEAST[1] {
            return None;
        }
        let side = |axis: usize| {
            let [plate, sight] = [&scene.plate, &scene.sight];
            (
                [plate.low[axis], plate.high[axis]],
                [sight.low[axis], sight.high[axis]],
            )
        };
        let ((px, sx), (py, sy)) = (side(0), side(1));
        let least = (sx[1] - sx[0]) / real(columns - 2);
        let mut cell = least.max((sy[1] - sy[0]) / (HIGH * real(rows - 2)));
        // Whole characters on every side may take a few more than the length alone.
        for _ in 0..200 {
            let (x, y) = (Axis::new(px, sx, cell), Axis::new(py, sy, cell * HIGH));
            if x.total() <= columns && y.total() <= rows {
                let mut grid = Self {
                    x,
                    y,
                    rows: vec![vec![Cell::default(); x.total()]; y.total()],
                };
                grid.outline();
                return Some(grid);
            }
            cell *= 1.02;
        }
        None
    }

    fn outline(&mut self) {
        let ([left, right], [front, back]) = (self.x.edges(), self.y.edges());
        for row in front..=back {
            for column in left..=right {
                let side = column == left || column == right;
                let stroke = match (row == front || row == back, side) {
                    (true, true) => Stroke::Corner(row == back, column == right),
                    (true, false) => Stroke::Across,
                    (false, true) => Stroke::Side(column == right),
                    (false, false) => continue,
                };
                self.set(column, row, Mark::Edge, stroke);
            }
        }
    }

    fn set(&mut self, column: usize, row: usize, mark: Mark, stroke: Stroke) {
        if let Some(cell) = self.rows.get_mut(row).and_then(|r| r.get_mut(column)) {
            cell.mark = Some(mark);
            cell.stroke = stroke;
        }
    }

    fn put(&mut self, at: [f64; 2], mark: Mark, stroke: Stroke) {
        if let (Some(column), Some(row)) = (self.x.index(at[0]), self.y.index(at[1])) {
            self.lay(column, row, mark, stroke);
        }
    }

    /// At a place, or next to it where a letter stands there already.
    fn beside(&mut self, at: [f64; 2], mark: Mark) {
        let (Some(column), Some(row)) = (self.x.index(at[0]), self.y.index(at[1])) else {
            return;
        };
        let lettered = |column: &usize| {
            let cell = self.rows.get(row).and_then(|r| r.get(*column));
            let taken = |m: Mark| m >= Mark::Touch || m == Mark::Edge;
            cell.is_none_or(|c| c.mark.is_some_and(taken))
        };
        let near = [Some(column), Some(column + 1), column.checked_sub(1)];
        let free = near.into_iter().flatten().find(|c| !lettered(c));
        self.lay(free.unwrap_or(column), row, mark, Stroke::Across);
    }

    /// The later mark wins; two directions of the feed cross.
    fn lay(&mut self, column: usize, row: usize, mark: Mark, stroke: Stroke) {
        let Some(cell) = self.rows.get_mut(row).and_then(|r| r.get_mut(column)) else {
            return;
        };
        let pointing = |s: Stroke| matches!(s, Stroke::Left | Stroke::Right);
        let across = |s: Stroke| pointing(s) || s == Stroke::Across;
        if cell.mark == Some(mark) {
            let (old, new) = (cell.stroke, stroke);
            if old != new && mark == Mark::Feed {
                cell.stroke = match (across(old), across(new)) {
                    (true, true) if pointing(old) => old,
                    (true, true) => new,
                    _ => Stroke::Crossing,
                };
            }
        } else if cell.mark.is_none_or(|old| old < mark) {
            cell.mark = Some(mark);
            cell.stroke = stroke;
        }
    }

    fn ground(&mut self, ground: &Ground) {
        // Which of `of` parts a character falls into.
        let part = |n: usize, inside: usize, of: usize| {
            let from = n * of / inside;
            from..((n + 1) * of)
                .div_ceil(inside)
                .clamp(from + 1, of.max(from + 1))
        };
        for row in 0..self.y.inside {
            for column in 0..self.x.inside {
                let worst = part(row, self.y.inside, ground.rows())
                    .flat_map(|r| {
                        part(column, self.x.inside, ground.columns)
                            .filter_map(move |c| ground.at(c, r))
                    })
                    .max();
                if let Some(mark) = worst {
                    let (c, r) = (self.x.before + 1 + column, self.y.before + 1 + row);
                    self.set(c, r, mark, Stroke::Across);
                }
            }
        }
    }

    fn fill(&mut self, part: &Rect) {
        for row in self.y.inside(part.low[1], part.high[1]) {
            for column in self.x.inside(part.low[0], part.high[0]) {
                self.lay(column, row, Mark::Stays, Stroke::Across);
            }
        }
    }

    fn disc(&mut self, at: [f64; 2], radius: f64) {
        self.put(at, Mark::Obstacle, Stroke::Across);
        let steps = [radius / self.x.cell, radius / self.y.cell];
        let (wide, high) = (count(steps[0].ceil()), count(steps[1].ceil()));
        for i in 0..=2 * wide {
            for j in 0..=2 * high {
                let away = [
                    (real(i) - real(wide)) * self.x.cell,
                    (real(j) - real(high)) * self.y.cell,
                ];
                if away[0].hypot(away[1]) <= radius {
                    self.put(
                        [at[0] + away[0], at[1] + away[1]],
                        Mark::Obstacle,
                        Stroke::Across,
                    );
                }
            }
        }
    }

    fn trace(&mut self, trace: &Trace) {
        for pair in trace.points.windows(2) {
            if let [a, b] = pair {
                self.segment(*a, *b, trace.mark);
            }
        }
    }

    fn segment(&mut self, a: [f64; 2], b: [f64; 2], mark: Mark) {
        let sight = Rect {
            low: [
                self.x.low - self.x.cell * real(self.x.before),
                self.y.low - self.y.cell * real(self.y.before),
            ],
            high: [
                self.x.high + self.x.cell * real(self.x.after),
                self.y.high + self.y.cell * real(self.y.after),
            ],
        };
        let Some([from, to]) = sight.clip(a, b) else {
            return;
        };
        let [dx, dy] = [(b[0] - a[0]) / self.x.cell, (b[1] - a[1]) / self.y.cell];
        let stroke = if dy.abs() < 0.5 * dx.abs() {
            Stroke::Across
        } else if dx.abs() < 0.5 * dy.abs() {
            Stroke::Upright
        } else if (dx > 0.0) == (dy > 0.0) {
            Stroke::Rising
        } else {
            Stroke::Falling
        };
        let at = |t: f64| [a[0] + t * (b[0] - a[0]), a[1] + t * (b[1] - a[1])];
        let long = dx.abs().max(dy.abs()) * (to - from);
        let steps = count((2.0 * long).ceil()).max(1);
        for n in 0..=steps {
            self.put(at(from + (to - from) * real(n) / real(steps)), mark, stroke);
        }
        if stroke == Stroke::Across && long >= SHOWS_WAY {
            let way = if dx > 0.0 {
                Stroke::Right
            } else {
                Stroke::Left
            };
            self.put(at(f64::midpoint(from, to)), mark, way);
        }
    }

    /// The name and value of each touch beside its mark, as far as there is room.
    fn labels(&mut self, scene: &Scene) {
        for touch in &scene.touches {
            let place = self.x.index(touch.at[0]).zip(self.y.index(touch.at[1]));
            let Some((column, row)) = place else {
                continue;
            };
            let whole = format!("{} {}", touch.name, touch.value);
            for text in [whole.trim_end(), touch.name.as_str()] {
                if let Some(start) = self.room(column, row, text.chars().count()) {
                    self.write(start, row, column, text);
                    break;
                }
            }
        }
    }

    /// Where a text may begin: to the right of its mark, or to its left; one character stays free on either side.
    fn room(&self, column: usize, row: usize, long: usize) -> Option<usize> {
        let line = self.rows.get(row)?;
        let [left, right] = self.x.edges();
        let fits = |start: usize| {
            let free = |c: usize| {
                let taken = line
                    .get(c)
                    .is_some_and(|cell| cell.letter.is_some() || cell.mark == Some(Mark::Touch));
                c == column || !taken
            };
            start > left
                && start + long <= right
                && (start.saturating_sub(1)..=start + long).all(free)
        };
        [Some(column + 1), column.checked_sub(long)]
            .into_iter()
            .flatten()
            .find(|start| fits(*start))
    }

    fn write(&mut self, start: usize, row: usize, mark: usize, text: &str) {
        let [left, right] = self.x.edges();
        let Some(line) = self.rows.get_mut(row) else {
            return;
        };
        for (cell, c) in line.iter_mut().skip(start).zip(text.chars()) {
            cell.letter = Some(if c.is_control() { '?' } else { c });
        }
        // A blank parts the value from the marks of the cells.
        let long = text.chars().count();
        let after = if start > mark {
            start + long
        } else {
            start - 1
        };
        if after > left
            && after < right
            && let Some(cell) = line.get_mut(after)
        {
            cell.letter.get_or_insert(' ');
        }
    }
}
