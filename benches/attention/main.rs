//! What the default procedure asks of a person's attention: prompts answered, words shown, and the longest block of lines
//! between two prompts, counted over the shipped program at a terminal of 80 columns and 24 lines.
//!
//! `cargo bench --bench attention`; quicker to build, with the same figures: `cargo test --bench attention`. After `--`:
//! `--shown FOLDER` writes what the terminal was sent, one file a walk.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

mod answers;
mod count;

#[cfg(unix)]
fn main() {
    walks::measure();
}

#[cfg(not(unix))]
fn main() {
    println!("attention is measured at a pseudo-terminal, which only Unix has");
}

#[cfg(unix)]
mod walks {
    use crate::answers::{first_passes, read, written};
    use crate::count::Attention;
    use rustix::io::{FdFlags, fcntl_setfd};
    use rustix::pty::{OpenptFlags, grantpt, openpt, ptsname, unlockpt};
    use rustix::termios::{Winsize, tcsetwinsize};
    use std::fs::{self, File, OpenOptions};
    use std::io::Read as _;
    use std::path::{Path, PathBuf};
    use std::process::{Command, Stdio};

    const ONE_ROUGHING: &str = include_str!("../../checklists/answers/one-roughing.yaml");
    const MORE_ROUGHING: &str = include_str!("../../checklists/answers/two-roughing.yaml");
    const PROGRAM: &str = include_str!("../../checklists/answers/facing-12mm.nc");
    /// Finished walks after which a person is taken as practised.
    const PRACTISED_AFTER: usize = 3;

    /// A figure of the first edition, and the most that it may be now.
    struct Goal {
        first_edition: &'static str,
        at_most: usize,
    }

    pub fn measure() {
        let shown = folder_for_what_is_shown();
        let folder = tempfile::tempdir().unwrap();
        let walk = |book: &str, name: &str, answers: &str| {
            let sent = walked(folder.path(), book, answers);
            if let Some(to) = &shown {
                fs::create_dir_all(to).unwrap();
                fs::write(to.join(format!("{name}.txt")), &sent).unwrap();
            }
            Attention::of(&sent)
        };
        let first = walk("same", "first", ONE_ROUGHING);
        let second = walk("same", "second", ONE_ROUGHING);
        for n in 3..=PRACTISED_AFTER {
            walk("same", &format!("walk-{n}"), ONE_ROUGHING);
        }
        let practised = walk("same", "practised", ONE_ROUGHING);
        let more = read(MORE_ROUGHING);
        let two = walk("two", "two-passes", &written(&first_passes(&more, 2)));
        let three = walk("three", "three-passes", &written(&first_passes(&more, 3)));

        println!("the default procedure, one roughing pass and a finishing skim, at 80x24");
        println!(
            "{:58}{:>14}{:>8}{:>9}",
            "", "first edition", "now", "at most"
        );
        let goal = |first_edition, at_most| Goal {
            first_edition,
            at_most,
        };
        row("prompts, first walk", first.prompts(), &goal("107", 60));
        row(
            "prompts, second walk, same book",
            second.prompts(),
            &goal("107", 38),
        );
        row(
            "prompts, practised: after three walks",
            practised.prompts(),
            &goal("107", 38),
        );
        row("words, first walk", first.words(), &goal("11500", 5000));
        row("words, second walk", second.words(), &goal("11500", 2000));
        row("words, practised", practised.words(), &goal("11500", 2000));
        row(
            "lines between two prompts, first walk",
            first.longest(),
            &goal("143", 22),
        );
        row(
            "lines between two prompts, practised",
            practised.longest(),
            &goal("143", 22),
        );
        let further = |more: &Attention, less: &Attention| more.prompts() - less.prompts();
        row(
            "prompts of a second roughing pass",
            further(&two, &first),
            &goal("19", 9),
        );
        row(
            "prompts of a third, which touches a low place first",
            further(&three, &two),
            &goal("22", 9),
        );
        println!(
            "with two passes {} prompts, {} words, {} lines; with three {}, {}, {}",
            two.prompts(),
            two.words(),
            two.longest(),
            three.prompts(),
            three.words(),
            three.longest()
        );
        details("first walk", &first);
        details("practised", &practised);
        details("three roughing passes", &three);
    }

    fn row(what: &str, now: usize, goal: &Goal) {
        let over = if now > goal.at_most { "  over" } else { "" };
        println!(
            "  {what:56}{:>14}{now:>8}{:>9}{over}",
            goal.first_edition, goal.at_most
        );
    }

    /// Where the attention goes: the longest blocks, and the sums of each phase.
    fn details(what: &str, counted: &Attention) {
        println!("\n{what}: the ten longest blocks");
        println!("  lines  words  ends at");
        for block in counted.longest_blocks(10) {
            println!(
                "  {:>5}  {:>5}  {} | {} | {}",
                block.lines,
                block.words,
                block.phase,
                block.step,
                block.prompt.as_deref().unwrap_or("the end")
            );
        }
        println!("{what}: by phase\n  prompts  words  lines");
        for sum in counted.phases() {
            println!(
                "  {:>7}  {:>5}  {:>5}  {}",
                sum.prompts, sum.words, sum.lines, sum.phase
            );
        }
    }

    fn folder_for_what_is_shown() -> Option<PathBuf> {
        let mut args = std::env::args().skip(1);
        args.find(|arg| arg == "--shown")?;
        Some(args.next().expect("a folder behind --shown").into())
    }

    /// All that one walk from these answers sends to a terminal of 80x24. Panics where the walk does not come to its end.
    fn walked(folder: &Path, book: &str, answers: &str) -> String {
        let far = openpt(OpenptFlags::RDWR | OpenptFlags::NOCTTY).unwrap();
        // Inherited, the far side would stay open in the program itself.
        fcntl_setfd(&far, FdFlags::CLOEXEC).unwrap();
        grantpt(&far).unwrap();
        unlockpt(&far).unwrap();
        let name = ptsname(&far, Vec::new()).unwrap();
        let near = OpenOptions::new()
            .read(true)
            .write(true)
            .open(name.to_str().unwrap())
            .unwrap();
        let size = Winsize {
            ws_row: 24,
            ws_col: 80,
            ws_xpixel: 0,
            ws_ypixel: 0,
        };
        tcsetwinsize(&near, size).unwrap();
        fs::write(folder.join("facing-12mm.nc"), PROGRAM).unwrap();
        let file = folder.join("answers.yaml");
        fs::write(&file, answers).unwrap();
        let mut command = Command::new(env!("CARGO_BIN_EXE_skimgate"));
        command
            .env_clear()
            .env("HOME", folder)
            .env("TERM", "xterm-256color")
            .env("LANG", "C.UTF-8")
            .current_dir(folder)
            .arg("walk")
            .arg("--answers")
            .arg(&file)
            .arg("--book")
            .arg(folder.join(format!("{book}.sqlite3")))
            .stdin(Stdio::null())
            .stdout(near.try_clone().unwrap())
            .stderr(near);
        let mut child = command.spawn().unwrap();
        drop(command);
        let mut sent = Vec::new();
        // The terminal ends with an error once nobody holds its near side.
        let _ = File::from(far).read_to_end(&mut sent);
        let status = child.wait().unwrap();
        let sent = String::from_utf8_lossy(&sent).into_owned();
        assert!(status.success(), "the walk ended with {status}:\n{sent}");
        sent
    }
}
