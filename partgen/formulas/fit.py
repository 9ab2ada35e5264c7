"""Fits: from the size of what goes in, or around, to the size to draw so that a printer makes it true."""

from math import cos, pi


def bore(wanted, offset, shrink=0.0, chords=None):
    """Return the diameter to draw [mm] so that the printed hole lets a round bar of `wanted` diameter through.

    d = (wanted + offset) / (1 - shrink) / cos(pi / chords)

    The hole is drawn as a true circle but printed as the polygon that the mesh makes of it, its corners on the
    circle: a bar sees the polygon's inscribed circle, smaller by cos(pi / chords). Plastic then shrinks by
    `shrink`, and the strand laid on the inside of a curve closes the hole by `offset`.

    Args:
        wanted: diameter that shall be free [mm], > 0.
        offset: what this printer's bores come out too small by [mm].
        shrink: share by which plastic shrinks as it cools [1].
        chords: sides of the polygon [1]; None for an opening with flat sides, which loses nothing.

    >>> round(bore(3.25, 0.15, 0.0, 63), 4)
    3.4042

    Source: plane geometry; inscribed circle of a regular polygon of circumradius R: R cos(pi / n).
    """
    facets = cos(pi / chords) if chords else 1.0
    return (wanted + offset) / (1 - shrink) / facets


def printed_bore(drawn, offset, shrink=0.0, chords=None):
    """Return the diameter [mm] of the round bar that goes through a hole drawn `drawn` wide: `bore` backwards.

    Args:
        drawn: diameter as drawn [mm], > 0.
        offset: what this printer's bores come out too small by [mm].
        shrink: share by which plastic shrinks as it cools [1].
        chords: sides of the polygon that the mesh makes of the circle [1]; None for flat sides.

    >>> round(printed_bore(3.4042, 0.15, 0.0, 63), 2)
    3.25

    Source: as for `bore`.
    """
    facets = cos(pi / chords) if chords else 1.0
    return drawn * facets * (1 - shrink) - offset
