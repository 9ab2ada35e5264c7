"""Rectangles as from where to where they reach along x and y; all in mm."""

Spans = tuple[tuple[float, float], tuple[float, float]]


def between(one: Spans, other: Spans) -> float:
    """Return the larger of the free distances [mm] of two rectangles along x and y, negative where they overlap."""
    return max(max(a, c) - min(b, d) for (a, b), (c, d) in zip(one, other))


def grown(one: Spans, by: float) -> Spans:
    """Return a rectangle with every side moved outward by `by` [mm]."""
    return tuple((low - by, high + by) for low, high in one)
