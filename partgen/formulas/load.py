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

    Source: as `worst_choice`.
    """
    sides = (np.stack([np.zeros(len(side)), side], axis=1) for side in (above_loads, below_loads))
    ratio, chosen = worst_choice(above, below, *sides)
    return ratio, chosen.astype(bool)


def worst_choice(above, below, above_choices, below_choices):
    """What to choose for each seat so that a ratio of two sums is least, exact for any number of seats.

    min over choices of (a + sum of a_i,c(i))/(b + sum of b_i,c(i)): a seat is empty, holds a full cup, an empty
    one, or another kind of cup.

    above: numerator of what is always there, of any unit, say [N mm]
    below: denominator of what is always there, of any unit, say [N mm]
    above_choices: what each choice of each seat adds to the numerator, shape (n, k) [N mm]
    below_choices: what each choice of each seat adds to the denominator, shape (n, k) [N mm]
    Returns (ratio, choices), the choices as n numbers from 0; ValueError where some denominator is not above 0.

    >>> ratio, chosen = worst_choice(10, 2, [[0, 1, 4], [0, 5, 6]], [[0, 1, 3], [0, 1, 1]])
    >>> print(f"{ratio:.3f}", chosen)
    2.800 [2 0]

    Source: W. Dinkelbach, Management Science 13 (1967) 492, MEM; CALC.
    """
    tops, bottoms = np.asarray(above_choices, dtype=float), np.asarray(below_choices, dtype=float)
    if not below + (bottoms.min(axis=1).sum() if len(bottoms) else 0.0) > 0:
        raise ValueError("a ratio's denominator must be above 0 in every load state")
    # A ratio under r exists just where the sum of (a - r b) can be made negative, and that sum is least when
    # each seat decides for itself: it takes the choice whose own a - r b is least. Each round takes the ratio
    # of what was chosen as the next r, which falls strictly until nothing is below it. There are finitely many
    # states, and rounds are few: the steps shrink faster than by any fixed factor.
    seats, chosen = np.arange(len(tops)), np.zeros(len(tops), dtype=int)
    ratio = _ratio(above, below, tops[seats, chosen], bottoms[seats, chosen])
    while len(seats):
        better = np.argmin(tops - ratio * bottoms, axis=1)
        lower = _ratio(above, below, tops[seats, better], bottoms[seats, better])
        if not lower < ratio:
            break
        ratio, chosen = lower, better
    return float(ratio), chosen


def _ratio(above, below, tops, bottoms) -> float:
    return (above + tops.sum()) / (below + bottoms.sum())
