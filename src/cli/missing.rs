//! The one answer to a name that nothing has: what is wrong, the nearest name, and what there is.

use super::failure::Failure;
use crate::diagnostics::nearest::nearest;
use crate::procedure::ShopList;
use crate::procedure::shop::{Item, Shop};

/// Most names that are listed.
const LISTED: usize = 12;

/// `place` has no `noun` called `name`; `known` are the names that it has.
pub(crate) fn no_such<'a>(
    place: &str,
    noun: &str,
    name: &str,
    known: impl IntoIterator<Item = &'a str>,
) -> Failure {
    with_known(
        Failure::usage(format!("{place} has no {noun} `{name}`")),
        name,
        known,
    )
}

/// A failure about `name` with the nearest of the names that are known, and the list of them.
pub(crate) fn with_known<'a>(
    failure: Failure,
    name: &str,
    known: impl IntoIterator<Item = &'a str>,
) -> Failure {
    let known: Vec<&str> = known.into_iter().collect();
    let failure = match nearest(name, known.iter().copied()) {
        Some(near) => failure.hint(format!("did you mean `{near}`?")),
        None => failure,
    };
    let (listed, rest) = known.split_at(known.len().min(LISTED));
    match (listed, rest.len()) {
        ([], _) => failure,
        (_, 0) => failure.hint(format!("there are: {}", listed.join(", "))),
        (_, n) => failure.hint(format!("there are: {} and {n} more", listed.join(", "))),
    }
}

/// A machine, plate or cutter of a shop file.
///
/// # Errors
/// Where the file has none of that id.
pub(crate) fn shop_item<'s>(shop: &'s Shop, list: ShopList, id: &str) -> Result<&'s Item, Failure> {
    shop.item(list, id).ok_or_else(|| {
        let known = shop.items(list).iter().map(|i| i.id.as_str());
        no_such("the shop file", list.one(), id, known)
    })
}

#[cfg(test)]
mod tests {
    use super::no_such;

    #[test]
    fn the_nearest_name_comes_first_and_long_lists_are_cut() {
        let names: Vec<String> = (1..15).map(|n| format!("mill-{n}")).collect();
        let known = || names.iter().map(String::as_str);
        let failure = no_such("the book", "machine", "mill-99", known());
        assert_eq!(failure.message, "the book has no machine `mill-99`");
        assert!(
            failure.hints[0].starts_with("did you mean `mill-"),
            "{failure}"
        );
        assert!(
            failure.hints[1].ends_with("mill-12 and 2 more"),
            "{failure}"
        );
        assert!(no_such("the book", "run", "z", []).hints.is_empty());
    }
}
