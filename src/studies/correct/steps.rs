//! In which order changes are made, and which of them only together: no step on the way leaves the car worse than it was before it.

/// Some of the changes: a bit for each.
pub(super) type Made = usize;

/// Changes by their indices, those that belong together in one step.
///
/// `leaves` is what some of the changes leave, infinite where the work may not end. Of all orders in which no step leaves more than
/// there was before it, one with the most steps; of those, what leaves least first. Where there is none, all is one step.
pub(super) fn steps(changes: usize, leaves: impl FnMut(Made) -> f64) -> Vec<Vec<usize>> {
    let all: Made = (1 << changes) - 1;
    let leaves: Vec<f64> = (0..=all).map(leaves).collect();
    let leaves = leaves.as_slice();
    let after = |made: Made| {
        let is_no_worse = move |next: Made| leaves[next] <= leaves[made] || (made == 0 && next == all);
        (made + 1..=all).filter(move |&next| next & made == made && is_no_worse(next))
    };
    // Of each place on the way, how many steps lead from there to the end.
    let mut most: Vec<Option<usize>> = vec![None; all + 1];
    most[all] = Some(0);
    for made in (0..all).rev() {
        most[made] = after(made).filter_map(|next| Some(most[next]? + 1)).max();
    }
    let (mut made, mut order) = (0, Vec::new());
    while made != all {
        let is_on_the_way = |next: &Made| most[*next].map(|steps| steps + 1) == most[made];
        let least = |a: &Made, b: &Made| leaves[*a].total_cmp(&leaves[*b]);
        let Some(next) = after(made).filter(is_on_the_way).min_by(least) else { break };
        let mut step: Vec<usize> = (0..changes).filter(|k| (next & !made) >> k & 1 == 1).collect();
        step.sort_by(|a, b| least(&(made | 1 << a), &(made | 1 << b)));
        order.push(step);
        made = next;
    }
    order
}

#[cfg(test)]
mod tests {
    use super::{Made, steps};

    fn of(leaves: &[f64]) -> Vec<Vec<usize>> {
        steps(leaves.len().ilog2() as usize, |made: Made| leaves[made])
    }

    #[test]
    fn what_leaves_least_comes_first() {
        assert_eq!(of(&[8.0, 6.0, 5.0, 2.0]), [[1], [0]]);
        assert_eq!(of(&[8.0, 2.0]), [[0]]);
        assert!(of(&[8.0]).is_empty());
    }

    /// The second gains most by itself, and any other after it makes the car worse.
    #[test]
    fn an_order_in_which_no_step_is_worse_goes_before_what_gains_most_first() {
        assert_eq!(of(&[8.0, 6.0, 1.0, 3.0, 7.0, 5.0, 4.0, 0.5]), [[0], [1], [2]]);
    }

    #[test]
    fn changes_of_which_each_alone_is_worse_are_one_step() {
        assert_eq!(of(&[4.0, 9.0, 7.0, 1.0]), [[1, 0]]);
        // Where nothing less than all of it is allowed, all is one step, also when it leaves more.
        let no = f64::INFINITY;
        assert_eq!(of(&[4.0, no, no, no, no, no, no, 5.0]), [[0, 1, 2]]);
        // One first, then two together.
        assert_eq!(of(&[4.0, 3.0, 9.0, 5.0, 9.0, 6.0, 9.0, 1.0]), [vec![0], vec![1, 2]]);
    }
}
