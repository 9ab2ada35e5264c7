"""Load states: which of the seats are full, and which state is the worst.

Marks in the Source lines: MEM, from memory; CALC, worked out.
"""

import numpy as np

MOST_SEATS = 16
"""Seats up to which every state is written out: 65,536 states."""


def load_states(count):
    """Every load state of a number of seats.

    State number k has seat i full where bit i of k is set: the first is empty, the last full.

    count: number of seats [1], 0 to 16
    Returns booleans of shape (2^count, count); ValueError for more seats than that.

    >>> print(load_states(2).astype(int).tolist())
    [[0, 0], [1, 0], [0, 1], [1, 1]]

    Source: CALC, counting in binary.
    """
    if not 0 <= count <= MOST_SEATS:
        raise ValueError(f"{count} seats have too many load states to write out: at most {MOST_SEATS}")
    return (np.arange(2**count)[:, None] >> np.arange(count) & 1).astype(bool)


def load_sums(fixed, loads):
    """Sums over what is on the wagon, masses and moments for example, in every load state.

    fixed: what is always there, k sums, shape (k,) of any unit, say [g]
    loads: what each seat adds when full, shape (n, k), n up to 16 in the same unit [g]
    Returns the sums in the order of `load_states`, shape (2^n, k); ValueError for more seats than that.

    >>> print(load_sums([100], [[10], [5]])[:, 0])
    [100. 110. 105. 115.]

    Source: CALC, addition.
    """
    loads = np.asarray(loads, dtype=float).reshape(-1, len(fixed))
    return np.asarray(fixed, dtype=float) + load_states(len(loads)) @ loads


def worst_ratio(above, below, above_loads, below_loads):
    """Load state in which a ratio of two sums is least, exact for any number of seats.

    min over states of (a + sum of a_i over full seats)/(b + sum of b_i over full seats)

    above: numerator with all seats empty, of any unit, say [N mm]
    below: denominator with all seats empty, of any unit, say [N mm]
    above_loads: what each full seat adds to the numerator, shape (n,) [N mm]
    below_loads: what each full seat adds to the denominator, shape (n,) [N mm]
    Returns (ratio, state), the state as n booleans; ValueError where some state's denominator is not above 0.

    >>> ratio, state = worst_ratio(10, 2, [1, 5], [1, 1])
    >>> print(f"{ratio:.3f}", state)
    3.667 [ True False]

    Source: W. Dinkelbach, Management Science 13 (1967) 492, MEM; CALC.
    """
    above_loads, below_loads = np.asarray(above_loads, dtype=float), np.asarray(below_loads, dtype=float)
    if not below + np.minimum(below_loads, 0).sum() > 0:
        raise ValueError("a ratio's denominator must be above 0 in every load state")
    # A ratio under r exists just where the sum of (a - r b) can be made negative, and that sum is least when
    # each seat decides for itself: full if its own a_i - r b_i is negative. Each round takes that state's
    # ratio as the next r, which falls strictly until no state is below it. There are finitely many states,
    # and rounds are few: the steps shrink faster than by any fixed factor.
    state = np.zeros(len(above_loads), dtype=bool)
    ratio = above / below
    while True:
        better = above_loads - ratio * below_loads < 0
        lower = (above + above_loads[better].sum()) / (below + below_loads[better].sum())
        if not lower < ratio:
            return float(ratio), state
        ratio, state = lower, better
