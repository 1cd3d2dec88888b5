//! Mistakes in a text that is not written yet, told at the lines of the file that it was made from.

use super::error::ReadError;
use super::problem::Problem;

/// The mistakes of `new`, each at the line of `old` that it was made from, or of the last one above it that was there.
pub(super) fn at_lines_of(old: &str, new: &str, error: ReadError) -> ReadError {
    let ReadError::Problems { problems, left_out } = error else { return error };
    let lines = same_lines(old, new);
    let line_above =
        |line: usize| lines.get(..line.min(lines.len())).into_iter().flatten().rev().copied().flatten().next();
    let there = |problem: Problem| {
        let mut with: Vec<usize> =
            problem.with.iter().map(|&line| line_above(line).map_or(1, |line| line + 1)).collect();
        with.dedup();
        let Some(line) = line_above(problem.line) else {
            return Problem { line: 1, column: 1, with, ..problem };
        };
        let snippet = old.lines().nth(line).unwrap_or_default();
        let is_same = lines.get(problem.line - 1).is_some_and(|same| *same == Some(line));
        let column = if is_same { problem.column.min(snippet.chars().count()).max(1) } else { 1 };
        Problem { line: line + 1, column, snippet: snippet.to_owned(), with, ..problem }
    };
    ReadError::Problems { problems: problems.into_iter().map(there).collect(), left_out }
}

/// Of each line of `new` the index of the line of `old` that it was made from; `None` of one that was added.
///
/// Lines are the same by what stands before `=`; of all ways to pair them in their order, one with the most pairs.
fn same_lines(old: &str, new: &str) -> Vec<Option<usize>> {
    let key = |line: &'_ str| line.split('=').next().unwrap_or_default().trim().to_owned();
    let (old, new): (Vec<String>, Vec<String>) = (old.lines().map(key).collect(), new.lines().map(key).collect());
    // How many pairs there are from a line of each to the ends.
    let mut pairs = vec![vec![0_u32; old.len() + 1]; new.len() + 1];
    for n in (0..new.len()).rev() {
        for o in (0..old.len()).rev() {
            pairs[n][o] = match new[n] == old[o] {
                true => pairs[n + 1][o + 1] + 1,
                false => pairs[n + 1][o].max(pairs[n][o + 1]),
            };
        }
    }
    let (mut n, mut o, mut same) = (0, 0, vec![None; new.len()]);
    while n < new.len() && o < old.len() {
        if new[n] == old[o] {
            same[n] = Some(o);
            (n, o) = (n + 1, o + 1);
        } else if pairs[n + 1][o] >= pairs[n][o + 1] {
            n += 1;
        } else {
            o += 1;
        }
    }
    same
}

#[cfg(test)]
mod tests {
    use super::same_lines;

    #[test]
    fn lines_that_were_added_or_taken_out_move_no_other() {
        let old = "schema = 1\n[[link]]\nname = \"a\"\nwithin = 3\n\n[[link]]\nname = \"b\"\nupright = [1.0]\n";
        let new = "schema = 1\n[[link]]\nname = \"a\"\nchassis = 4\nsd = 5\n\n[[link]]\nname = \"b\"\nupright = [2.0]\nsd = 5\n";
        let same = [Some(0), Some(1), Some(2), None, None, Some(4), Some(5), Some(6), Some(7), None];
        assert_eq!(same_lines(old, new), same);
    }
}
