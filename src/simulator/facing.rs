//! A plain facing program, for the plate and cutter at hand and for one that is not.

use super::{MM, Nm};

/// What a facing program is written for.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct Facing {
    /// The plate's corner in work positions, and its size.
    pub corner: [Nm; 2],
    /// Its length and width.
    pub size: [Nm; 2],
    /// The cutter's diameter.
    pub diameter: Nm,
    /// From row to row, at most.
    pub step_over: Nm,
    /// Speed, turns a minute.
    pub speed: i64,
    /// Feed, nanometres a minute.
    pub feed: Nm,
    /// The H number it calls; 0 for none.
    pub length: usize,
}

impl Facing {
    /// How far the rim runs past every edge at least.
    pub(crate) const OVERRUN: Nm = 2 * MM;

    /// How many rows there are, and how far apart.
    pub(crate) fn rows(&self) -> (i64, Nm) {
        let span = self.size[1] - self.diameter + 2 * Self::OVERRUN;
        let gaps = (span + self.step_over - 1) / self.step_over.max(1);
        if span <= 0 || gaps <= 0 {
            return (1, 0);
        }
        // To whole hundredths of a millimetre, upwards: a row more would be an odd one.
        let apart = (span + gaps - 1) / gaps;
        (gaps + 1, (apart + 9_999) / 10_000 * 10_000)
    }

    /// The program, in millimetres: rows along X to and fro, cutting at Z0, X0 Y0 in the air.
    pub(crate) fn program(&self) -> String {
        let mm = |nm: Nm| {
            let sign = if nm < 0 { "-" } else { "" };
            let (whole, part) = (nm.abs() / MM, nm.abs() % MM);
            let part = format!("{part:06}");
            let part = part.trim_end_matches('0');
            if part.is_empty() {
                format!("{sign}{whole}")
            } else {
                format!("{sign}{whole}.{part}")
            }
        };
        let (rows, apart) = self.rows();
        let edge = self.diameter / 2 + 3 * MM;
        let (left, right) = (self.corner[0] - edge, self.corner[0] + self.size[0] + edge);
        let first = self.corner[1] + self.diameter / 2 - Self::OVERRUN;
        let mut lines = vec![
            "%".to_owned(),
            format!(
                "(INVENTED PRACTICE PROGRAM - FACING A {} X {} MM PLATE, {} MM END MILL)",
                mm(self.size[0]),
                mm(self.size[1]),
                mm(self.diameter)
            ),
            format!(
                "(PLATE X{} TO X{}, Y{} TO Y{}. X0 Y0 LIES IN AIR)",
                mm(self.corner[0]),
                mm(self.corner[0] + self.size[0]),
                mm(self.corner[1]),
                mm(self.corner[1] + self.size[1])
            ),
            format!("({rows} ROWS {} MM APART, CUTS AT Z0)", mm(apart)),
            "G21 G17 G90 G94 G40 G49 G80".to_owned(),
            "G54".to_owned(),
            "T1 M6".to_owned(),
            format!("S{} M3", self.speed),
            if self.length == 0 {
                "G0 Z30".to_owned()
            } else {
                format!("G0 G43 H{} Z30", self.length)
            },
            "G0 X0 Y0".to_owned(),
            "M8".to_owned(),
            "G0 Z5".to_owned(),
            "G1 Z0 F250".to_owned(),
        ];
        for row in 0..rows {
            let y = first + row * apart;
            let (from, to) = if row % 2 == 0 {
                (left, right)
            } else {
                (right, left)
            };
            if row == 0 {
                lines.push(format!("G1 X{} Y{} F{}", mm(from), mm(y), mm(self.feed)));
            } else {
                lines.push(format!("Y{}", mm(y)));
            }
            lines.push(format!("X{}", mm(to)));
        }
        lines.extend(["G0 Z30", "M9", "M5", "G0 X0 Y0", "M30", "%"].map(str::to_owned));
        let mut text = lines.join("\n");
        text.push('\n');
        text
    }
}

#[cfg(test)]
mod tests {
    use super::{Facing, MM};
    use crate::simulator::tape::Tape;

    fn facing() -> Facing {
        Facing {
            corner: [30 * MM, 30 * MM],
            size: [240 * MM, 120 * MM],
            diameter: 12 * MM,
            step_over: 7 * MM,
            speed: 4000,
            feed: 600 * MM,
            length: 1,
        }
    }

    #[test]
    fn what_is_written_can_be_read_and_covers_the_plate() {
        let tape = Tape::read("facing.nc", &facing().program()).unwrap();
        let ys: Vec<i64> = tape.blocks.iter().filter_map(|b| b.goes?.1[1]).collect();
        assert!(ys.contains(&(34 * MM)));
        assert!(ys.iter().max().unwrap() + 6 * MM >= 152 * MM);
        assert!(tape.blocks.last().unwrap().ends);
        assert_eq!(
            tape.blocks.iter().filter(|b| b.length == Some(1)).count(),
            1
        );
    }
}
