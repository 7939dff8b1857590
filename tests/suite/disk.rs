//! Places where a book cannot be written, or is none: told in clear words, with nothing lost.

use crate::workshop::{Workshop, ended, said, settled, whole};
use std::fs::{Permissions, set_permissions};
use std::os::unix::fs::PermissionsExt;
use std::process::{Command, Stdio};

/// The walk, begun by a shell that does something first; the walk's words are `"$@"` there.
fn by_shell(shop: &Workshop, wrapper: &[&str], script: &str) -> Command {
    let walk = shop.walk();
    let (program, args) = match wrapper {
        [program, args @ ..] => (*program, args),
        [] => ("sh", &[] as &[&str]),
    };
    let mut command = Command::new(program);
    command.args(args);
    if !wrapper.is_empty() {
        command.arg("sh");
    }
    command
        .args(["-c", script, "sh"])
        .arg(walk.get_program())
        .args(walk.get_args())
        .env_clear()
        .env("PATH", std::env::var_os("PATH").unwrap_or_default())
        .env("SKIMGATE_BOOK", shop.book())
        .current_dir(shop.at(""))
        .stdin(Stdio::null());
    command
}

/// A little less than the bytes of a book with one whole run.
fn almost_enough() -> u64 {
    let shop = Workshop::new();
    shop.walked();
    std::fs::metadata(shop.book()).unwrap().len() - 3 * 4096
}

/// A limit on the size of files stands in for a disk that fails while it is written to; the system's answer is not the
/// one of a full disk, but what must not be lost is the same.
#[test]
fn a_book_that_may_not_grow_keeps_what_was_answered() {
    let shop = Workshop::new();
    // 512 bytes a block.
    let script = format!(
        "trap '' XFSZ; ulimit -f {}; exec \"$@\"",
        almost_enough() / 512
    );
    let limited = by_shell(&shop, &[], &script);
    let output = ended(limited, 1, &["nothing was recorded", "book.sqlite3"]);
    let kept = whole(&shop.book());
    assert!(kept.len() > 3, "{}: {}", kept.len(), said(&output));
    shop.walked();
    let after = whole(&shop.book());
    assert_eq!(after[..kept.len()], kept);
    assert!(after[after.len() - 1].ends);
}

#[test]
fn a_full_disk_is_told_and_the_walk_goes_on_when_there_is_room() {
    let mounts = Command::new("unshare").args(["-rm", "true"]).output();
    if !mounts.is_ok_and(|output| output.status.success()) {
        println!("skipped: a small disk cannot be mounted here");
        return;
    }
    let shop = Workshop::new();
    std::fs::create_dir(shop.at("book")).unwrap();
    // A walk up to the finishing pass; then the rest of the disk is filled, and emptied again afterwards.
    let script = "mount -t tmpfs -o size=1m tmpfs book || exit 77
        mv answers.yaml all; grep -v '^skim:' all > answers.yaml; \"$@\" 2> first; mv all answers.yaml
        cat /dev/zero > book/filler
        \"$@\"; ended=$?
        rm book/filler; mkdir kept; cp book/book.sqlite3* kept/
        umount book; cp kept/* book/; exit $ended";
    let full = by_shell(&shop, &["unshare", "-rm"], script);
    ended(full, 1, &["is full", "nothing was recorded"]);
    let first = std::fs::read_to_string(shop.at("first")).unwrap();
    assert!(first.contains("no answer left"), "{first}");
    let kept = whole(&shop.book());
    assert_eq!(kept[kept.len() - 1].kind, "paused");
    shop.walked();
    let after = whole(&shop.book());
    assert_eq!(after[..kept.len()], kept);
    assert!(after[after.len() - 1].ends);
}

#[test]
fn a_read_only_folder_is_told() {
    let shop = Workshop::new();
    shop.walked();
    let before = whole(&shop.book());
    set_permissions(shop.at("book"), Permissions::from_mode(0o500)).unwrap();
    // Whoever may write everywhere gives that up for this.
    let wrappers: [&[&str]; 2] = [
        &[],
        &["setpriv", "--bounding-set=-dac_override,-dac_read_search"],
    ];
    let bound = |wrapper: &&&[&str]| {
        let probe = by_shell(&shop, wrapper, "! touch book/probe").output();
        let held = probe.is_ok_and(|output| output.status.success());
        // It may also be that there is no such program.
        let made = std::fs::remove_file(shop.at("book").join("probe")).is_ok();
        held && !made
    };
    let Some(wrapper) = wrappers.iter().find(bound) else {
        println!("skipped: this user may write everywhere");
        set_permissions(shop.at("book"), Permissions::from_mode(0o700)).unwrap();
        return;
    };
    let run = "exec \"$@\"";
    let refused = by_shell(&shop, wrapper, run).output().unwrap();
    let verify = "exec \"$1\" record verify";
    let read = by_shell(&shop, wrapper, verify).output().unwrap();
    set_permissions(shop.at("book"), Permissions::from_mode(0o700)).unwrap();
    assert_eq!(refused.status.code(), Some(1), "{}", said(&refused));
    assert!(said(&refused).contains("writ"), "{}", said(&refused));
    assert_eq!(read.status.code(), Some(0), "{}", said(&read));
    assert_eq!(whole(&shop.book()), before);
}

#[test]
fn a_book_that_vanishes_during_a_walk_is_missed_at_the_next_answer() {
    for folder_too in [false, true] {
        let shop = Workshop::new();
        let walk = shop.stands();
        let kept = settled(&shop.book());
        let (from, to) = if folder_too {
            (shop.at("book"), shop.at("away"))
        } else {
            (shop.book(), shop.at("away"))
        };
        std::fs::rename(&from, &to).unwrap();
        // Let on, it would record the next answer.
        let (code, words) = walk.goes_on();
        assert_eq!(code, Some(1), "{words}");
        assert!(
            words.contains("no longer at") && words.contains("nothing was recorded"),
            "{words}"
        );
        assert!(!shop.book().exists(), "another book was made");
        std::fs::rename(&to, &from).unwrap();
        assert_eq!(whole(&shop.book()), kept);
        // Put back: it goes on to the end.
        shop.walked();
        let after = whole(&shop.book());
        assert_eq!(after[..kept.len()], kept);
        assert!(after[after.len() - 1].ends);
    }
}

#[test]
fn a_newer_book_is_left_alone() {
    let shop = Workshop::new();
    shop.walked();
    let plain = rusqlite::Connection::open(shop.book()).unwrap();
    plain.pragma_update(None, "user_version", 9).unwrap();
    drop(plain);
    let before = std::fs::read(shop.book()).unwrap();
    for command in [shop.walk(), shop.skimgate(&["record", "verify"])] {
        ended(command, 1, &["layout 9", "use the newer skimgate"]);
    }
    assert_eq!(std::fs::read(shop.book()).unwrap(), before);
}

#[test]
fn what_is_no_book_is_left_alone() {
    let shop = Workshop::new();
    std::fs::create_dir(shop.at("book")).unwrap();
    let letter =
        "Dear shop, this is no book but a letter of more than a hundred letters. ".repeat(9);
    std::fs::write(shop.book(), &letter).unwrap();
    for command in [shop.walk(), shop.skimgate(&["record", "verify"])] {
        ended(command, 1, &["is not a skimgate book"]);
    }
    assert_eq!(std::fs::read_to_string(shop.book()).unwrap(), letter);

    std::fs::remove_file(shop.book()).unwrap();
    std::fs::create_dir(shop.book()).unwrap();
    for command in [shop.walk(), shop.skimgate(&["record", "verify"])] {
        ended(command, 1, &["cannot be opened", "see that it is a file"]);
    }
    assert_eq!(std::fs::read_dir(shop.book()).unwrap().count(), 0);
}
