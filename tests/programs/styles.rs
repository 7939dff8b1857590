//! Ordinary, correct facing programs as people and CAM systems write them. Invented; they differ in style.

use std::fmt::Write;

const PLAIN: &str = "G21 G17 G90 G94 G40 G49 G80\nG54\nT1 M6\nS1500 M3\nG0 G43 H1 Z50\nG0 X-30 Y10\nM8\nG0 Z5\nG1 Z0 F300\n";
const PLAIN_END: &str = "G0 Z50\nM9\nM5\nM30\n";

/// Rows along X, 38 mm apart for a flat of 39.2.
const ZIGZAG_X: &str = "G1 X230 F700\nY48\nX-30\nY86\nX230\n";
const ROWS: &str = "G1 X230 F700\nY45\nX-30\nY80\nX230\nY95\nX-30\n";

fn program(head: &str, body: &str, tail: &str) -> String {
    format!("{head}{body}{tail}")
}

/// The rows one way along X: each begins on the left, and the return is in the air.
fn one_way_x() -> String {
    let mut text = String::from("G1 X230 F700\n");
    for y in [45, 80, 95] {
        let _ = write!(text, "G0 Z5\nX-30 Y{y}\nG1 Z0 F300\nX230 F700\n");
    }
    text
}

/// The same along Y; it begins at X10 Y-30.
fn rows_y(one_way: bool) -> String {
    let mut text = String::new();
    for (n, x) in [10, 45, 80, 115, 150, 185].into_iter().enumerate() {
        let up = one_way || n % 2 == 0;
        let (from, to) = if up { (-30, 130) } else { (130, -30) };
        if n > 0 && one_way {
            let _ = write!(text, "G0 Z5\nX{x} Y{from}\nG1 Z0 F300\n");
        } else {
            let _ = writeln!(text, "G1 X{x} F700");
        }
        let _ = writeln!(text, "G1 Y{to} F700");
    }
    text
}

/// A rectangular spiral from the outside inwards.
fn square_spiral() -> String {
    let mut text = String::from("G1 X-5 Y-5 F700\nX205\nY105\nX-5\nY25\n");
    text.push_str("X175\nY75\nX25\nY50\nX175\n");
    text
}

/// Closed rectangles, one inside the other.
fn rings() -> String {
    let mut text = String::new();
    for d in [5, -25] {
        let (x0, y0, x1, y1) = (-d, -d, 200 + d, 100 + d);
        let _ = write!(text, "G1 X{x0} Y{y0} F700\nX{x1}\nY{y1}\nX{x0}\nY{y0}\n");
    }
    text.push_str("X50 Y50\nX150\n");
    text
}

/// Half circles of growing radius about X100 Y50, from the middle outwards past the corners.
fn round_spiral(clockwise: bool) -> String {
    let code = if clockwise { "G2" } else { "G3" };
    let mut text = String::from("G1 X100 Y50 F700\n");
    let mut x = 100.0_f64;
    let mut side = 1.0;
    let mut reach = 0.0_f64;
    while reach < 128.0 {
        let next = 100.0 + side * (reach + 16.0);
        let _ = writeln!(text, "{code} X{next:.1} Y50 I{:.2} J0", (next - x) / 2.0);
        x = next;
        reach += 16.0;
        side = -side;
    }
    text
}

/// Full circles about the middle.
fn circles(with_end: bool) -> String {
    let mut text = String::new();
    for r in [16, 48, 80, 112] {
        let _ = writeln!(text, "G1 X{} Y50 F700", 100 + r);
        if with_end {
            let _ = writeln!(text, "G3 X{} Y50 I-{r} J0", 100 + r);
        } else {
            let _ = writeln!(text, "G3 I-{r} J0");
        }
    }
    text.push_str("G1 X100 Y50\n");
    text
}

/// Rows along X with arcs as turns, by centre or by radius.
fn arcs_at_ends(by_radius: bool) -> String {
    let turn = |y: i32, right: bool| {
        let code = if right { "G3" } else { "G2" };
        let x = if right { 225 } else { -25 };
        if by_radius {
            // Two quarter turns, because half a turn by its radius is ill-conditioned.
            let out = if right { 242.5 } else { -42.5 };
            let mid = f64::from(y) - 17.5;
            format!("{code} X{out} Y{mid} R17.5\nX{x} Y{y} R17.5\n")
        } else {
            format!("{code} X{x} Y{y} I0 J17.5\n")
        }
    };
    format!(
        "G1 X225 F700\n{}G1 X-25\n{}G1 X225\n",
        turn(45, true),
        turn(80, false)
    ) + &format!("{}G1 X-25\n", turn(115, true))
}

fn numbered(text: &str, step: u32) -> String {
    let mut out = String::new();
    for (n, line) in text.lines().enumerate() {
        let n = u32::try_from(n).unwrap() + 1;
        if line.starts_with(['%', 'O', '(']) {
            let _ = writeln!(out, "{line}");
        } else {
            let _ = writeln!(out, "N{} {line}", n * step);
        }
    }
    out
}

/// Converts the words to inches, for a program whose words are whole or half millimetres.
fn inches(text: &str) -> String {
    let mut out = String::new();
    for line in text.lines() {
        for word in line.split(' ') {
            let (letter, value) = word.split_at(1);
            match value.parse::<f64>() {
                Ok(v) if "XYZIJRF".contains(letter) => {
                    let _ = write!(out, "{letter}{:.5} ", v / 25.4);
                }
                _ => {
                    let _ = write!(out, "{word} ");
                }
            }
        }
        out.push('\n');
    }
    out.replace("G21", "G20")
}

/// The rows as incremental steps.
const STEPS: &str = "G91\nG1 X260 F700\nY35\nX-260\nY35\nX260\nY15\nX-260\nG90\n";

#[allow(clippy::too_many_lines)]
pub fn all() -> Vec<(&'static str, String)> {
    let p = program;
    let rows = p(PLAIN, ROWS, PLAIN_END);
    let start_y = PLAIN.replace("X-30 Y10", "X10 Y-30");
    let start_round = PLAIN.replace("X-30 Y10", "X-30 Y-30");
    let start_at = |x: &str| PLAIN.replace("X-30 Y10", x);
    let mut list: Vec<(&'static str, String)> = vec![
        ("zigzag along X", p(PLAIN, ZIGZAG_X, PLAIN_END)),
        ("zigzag along X, last row narrow", rows.clone()),
        ("one way along X", p(PLAIN, &one_way_x(), PLAIN_END)),
        ("zigzag along Y", p(&start_y, &rows_y(false), PLAIN_END)),
        ("one way along Y", p(&start_y, &rows_y(true), PLAIN_END)),
        (
            "rectangular spiral",
            p(&start_at("X-30 Y-30"), &square_spiral(), PLAIN_END),
        ),
        ("closed rectangles", p(&start_round, &rings(), PLAIN_END)),
        (
            "round spiral counter-clockwise",
            p(RAMP_IN, &round_spiral(false), PLAIN_END),
        ),
        (
            "round spiral clockwise",
            p(RAMP_IN, &round_spiral(true), PLAIN_END),
        ),
        (
            "whole circles",
            p(&start_at("X250 Y50"), &circles(true), PLAIN_END),
        ),
        (
            "whole circles without an end",
            p(&start_at("X250 Y50"), &circles(false), PLAIN_END),
        ),
        (
            "arcs at the ends",
            p(PLAIN, &arcs_at_ends(false), PLAIN_END),
        ),
        (
            "arcs at the ends by centre, metric points",
            p(PLAIN, &arcs_at_ends(false), PLAIN_END)
                .replace("X225", "X225.")
                .replace("X-25", "X-25."),
        ),
        ("inch", inches(&rows)),
        ("inch one way", inches(&p(PLAIN, &one_way_x(), PLAIN_END))),
        ("incremental rows", p(PLAIN, STEPS, PLAIN_END)),
        ("N numbers by ten", numbered(&rows, 10)),
        ("N numbers by one", numbered(&rows, 1)),
        ("framed by percent signs", format!("%\n{rows}%\n")),
        ("a program number", format!("%\nO1000 (FACING)\n{rows}%\n")),
        ("a number on the percent line", format!("%O1000\n{rows}%\n")),
        (
            "a comment on the percent line",
            format!("% (FACE)\n{rows}%\n"),
        ),
        (
            "safe line with G0",
            rows.replace(
                "G21 G17 G90 G94 G40 G49 G80\n",
                "G0 G17 G40 G49 G80 G90\nG21 G94\n",
            ),
        ),
        (
            "G0 G28 G91 Z0 at both ends",
            rows.replace("G54\n", "G0 G28 G91 Z0\nG90 G54\n")
                .replace("G0 Z50\nM9", "G0 Z50\nG0 G28 G91 Z0\nG90\nM9"),
        ),
        (
            "G53 at both ends",
            rows.replace("G54\n", "G53 G0 Z0\nG54\n")
                .replace("M9\n", "G53 G0 Z0\nM9\n"),
        ),
        (
            "X Y before G43",
            rows.replace("G0 G43 H1 Z50\nG0 X-30 Y10\n", "G0 X-30 Y10\nG43 H1 Z50\n"),
        ),
        (
            "home, tool change, X Y, G43",
            rows.replace("T1 M6\n", "G91 G28 Z0\nG90\nT1 M6\n")
                .replace("G0 G43 H1 Z50\nG0 X-30 Y10\n", "G0 X-30 Y10\nG43 H1 Z50\n"),
        ),
        (
            "a next tool called ahead",
            rows.replace("S1500 M3\n", "S1500 M3\nT2\n"),
        ),
        ("a D word", rows.replace("G43 H1 Z50", "G43 H1 D1 Z50")),
        ("without length offsets", rows.replace(" G43 H1", "")),
        ("without a tool change", rows.replace("T1 M6\n", "")),
        ("G71 for G21", rows.replace("G21", "G71")),
        (
            "leading zeros",
            rows.replace("G0 ", "G00 ")
                .replace("G1 ", "G01 ")
                .replace("M3\n", "M03\n")
                .replace("M8\n", "M08\n")
                .replace("M9\n", "M09\n")
                .replace("M5\n", "M05\n")
                .replace("M6\n", "M06\n"),
        ),
        ("no blanks", rows.replace(' ', "")),
        ("lower case", rows.to_lowercase()),
        (
            "a dwell by P",
            rows.replace("S1500 M3\n", "S1500 M3\nG4 P3\n"),
        ),
        (
            "a dwell by X",
            rows.replace("S1500 M3\n", "S1500 M3\nG4 X3.\n"),
        ),
        (
            "semicolon comments",
            rows.replace("M8\n", "M8 ; coolant on\n"),
        ),
        (
            "a cutter comment",
            rows.replace("G54\n", "(T1 D=40 CR=0.4 FACE MILL)\nG54\n"),
        ),
        ("carriage returns", rows.replace('\n', "\r\n")),
        ("a byte order mark", format!("\u{feff}{rows}")),
        ("M2 at the end", rows.replace("M30", "M2")),
        (
            "rapid down next to the plate",
            rows.replace("G0 Z5\nG1 Z0 F300\n", "G0 Z5\nZ0\n"),
        ),
        (
            "low rapid back next to the plate",
            rows.replace("G0 Z50\nM9", "G0 X-60\nG0 Z50\nM9"),
        ),
        (
            "two levels",
            rows.replace(
                "G1 Z0 F300\n",
                &format!("G1 Z0.2 F300\n{ROWS}G0 Z5\nX-30 Y10\nG1 Z0 F300\n"),
            ),
        ),
        (
            "a ramp in",
            p(
                &start_at("X-50 Y10").replace("G1 Z0 F300\n", "G1 Z0.5 F300\nX-30 Z0\n"),
                ROWS,
                PLAIN_END,
            ),
        ),
        ("a helix in", p(RAMP_IN, &round_spiral(false), PLAIN_END)),
        (
            "a subprogram",
            format!("{PLAIN}M98 P100\n{PLAIN_END}O100\n{ROWS}M99\n"),
        ),
        (
            "a subprogram for each pair of rows",
            format!(
                "{PLAIN}M98 P100 L2\nG1 X230\nY95\nX-30\n{PLAIN_END}O100\nG91\nG1 X260 F700\nY20\nX-260\nY20\nG90\nM99\n"
            ),
        ),
        (
            "expressions",
            rows.replace("Y45", "Y[10+35]").replace("Y80", "Y[4*20]"),
        ),
        (
            "parameters",
            rows.replace("G54\n", "#1=230\n#2=-30\nG54\n")
                .replace("X230", "X#1")
                .replace("X-30", "X#2"),
        ),
        (
            "inverse order of words",
            rows.replace("G0 X-30 Y10", "Y10 X-30 G0")
                .replace("X230 F700", "F700 X230"),
        ),
        ("exact path", rows.replace("G54\n", "G61\nG54\n")),
        (
            "an M code that changes nothing",
            rows.replace("M8\n", "M8\nM62\n"),
        ),
        (
            "an optional stop",
            rows.replace("S1500 M3\n", "M1\nS1500 M3\n"),
        ),
        ("coolant still on at the end code", rows.replace("M9\n", "")),
    ];
    list.extend([(
        "arcs at the ends by quarter turns",
        p(PLAIN, &arcs_quarter(), PLAIN_END),
    )]);
    list
}

/// Goes down in a helix in the middle.
const RAMP_IN: &str = "G21 G17 G90 G94 G40 G49 G80\nG54\nT1 M6\nS1500 M3\nG0 G43 H1 Z50\nG0 X110 Y50\nM8\nG0 Z2\nG1 Z0.6 F300\nG3 X110 Y50 Z0.3 I-10 J0 F400\nG3 X110 Y50 Z0 I-10 J0\nG3 X110 Y50 I-10 J0\n";

/// Rows whose turns are two quarter turns given by radius.
fn arcs_quarter() -> String {
    "G1 X225 F700\nG3 X242.5 Y27.5 R17.5\nG3 X225 Y45 R17.5\nG1 X-25\nG2 X-42.5 Y62.5 R17.5\nG2 X-25 Y80 R17.5\nG1 X225\nG3 X242.5 Y97.5 R17.5\nG3 X225 Y115 R17.5\nG1 X-25\n".to_owned()
}
