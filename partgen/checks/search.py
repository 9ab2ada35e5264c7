"""Remedies that name the best value: halving over whole steps, what is returned has been seen to pass."""

from collections.abc import Callable

Passes = Callable[[int], bool]


def largest(low: int, high: int, passes: Passes) -> int | None:
    """Return the largest step found from `low` up to, not with, `high` that passes; None where `low` does not."""
    if low >= high or not passes(low):
        return None
    while high - low > 1:
        middle = (low + high) // 2
        low, high = (middle, high) if passes(middle) else (low, middle)
    return low


def smallest(low: int, high: int, passes: Passes) -> int | None:
    """Return the smallest step found over `low`, up to and with `high`, that passes; None where `high` does not."""
    if low >= high or not passes(high):
        return None
    while high - low > 1:
        middle = (low + high) // 2
        low, high = (low, middle) if passes(middle) else (middle, high)
    return high
