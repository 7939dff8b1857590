//! "Did you mean …": the known word nearest to an unknown word.

/// The candidate with the fewest edits from `word`, at most two; of several equal ones the first.
pub(crate) fn nearest<'a>(word: &str, known: impl IntoIterator<Item = &'a str>) -> Option<&'a str> {
    let most = if word.chars().count() < 4 { 1 } else { 2 };
    known
        .into_iter()
        .map(|candidate| (edits(word, candidate), candidate))
        .filter(|(distance, _)| *distance <= most)
        .min_by_key(|(distance, _)| *distance)
        .map(|(_, candidate)| candidate)
}

/// Levenshtein distance, counted in characters.
fn edits(a: &str, b: &str) -> usize {
    let b: Vec<char> = b.chars().collect();
    let mut row: Vec<usize> = (0..=b.len()).collect();
    for (i, ca) in a.chars().enumerate() {
        let mut diagonal = i;
        let mut left = i + 1;
        for (j, cb) in b.iter().enumerate() {
            let above = row.get(j + 1).copied().unwrap_or(usize::MAX);
            let here = (diagonal + usize::from(ca != *cb))
                .min(left + 1)
                .min(above.saturating_add(1));
            diagonal = above;
            if let Some(cell) = row.get_mut(j) {
                *cell = left;
            }
            left = here;
        }
        if let Some(last) = row.last_mut() {
            *last = left;
        }
    }
    row.last().copied().unwrap_or(0)
}

#[cfg(test)]
mod tests {
    use super::{edits, nearest};

    #[test]
    fn distances_are_those_of_levenshtein() {
        assert_eq!(edits("kitten", "sitting"), 3);
        assert_eq!(edits("", "abc"), 3);
        assert_eq!(edits("abc", ""), 3);
        assert_eq!(edits("plane", "plane"), 0);
        assert_eq!(edits("cutter", "cuter"), 1);
    }

    #[test]
    fn only_near_words_are_suggested() {
        assert_eq!(nearest("titel", ["why", "title", "do"]), Some("title"));
        assert_eq!(nearest("xyzzy", ["why", "title", "do"]), None);
    }
}
