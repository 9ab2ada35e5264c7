"""Fits: from a nominal diameter and the kind of fit to the diameter to draw."""

CLEARANCE = {
    "press": 0.0,      # pushed in by force, stays
    "snug": 0.1,       # pushed in by hand, stays until pulled
    "magnet": 0.1,     # as snug; glue takes up the rest
    "tube": 0.1,       # metal tube clipped into a holder
    "running": 0.25,   # an axle or pivot turns in it
    "sliding": 0.35,   # a printed part slides along another
    "free": 0.7,       # never touches
}
"""Diametral clearance [mm] of each kind of fit before the printer's own offset (common practice, no source)."""


def hole(nominal, kind, bore_offset):
    """Return the diameter to draw [mm] for a hole that takes a part of `nominal` diameter.

    d = nominal + clearance(kind) + bore_offset

    Args:
        nominal: diameter of what goes in [mm], > 0.
        kind: key of CLEARANCE [-].
        bore_offset: what this printer's bores come out too small by [mm].

    >>> round(hole(3.0, "running", 0.15), 3)
    3.4

    Source: common practice, no source; the clearances are first guesses that a coupon replaces.
    """
    return nominal + CLEARANCE[kind] + bore_offset


def peg(nominal, kind, peg_offset):
    """Return the size to draw [mm] for a peg that goes into an opening of `nominal` size.

    d = nominal - clearance(kind) - peg_offset

    Args:
        nominal: size of the opening [mm], > 0.
        kind: key of CLEARANCE [-].
        peg_offset: what this printer's pegs come out too large by [mm].

    >>> round(peg(20.0, "sliding", 0.05), 3)
    19.6

    Source: common practice, no source.
    """
    return nominal - CLEARANCE[kind] - peg_offset
