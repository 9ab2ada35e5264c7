"""The typeface of nameplates as figures: what the plan must know of each letter without reading the font.

DejaVu Sans Bold, which matplotlib ships: the parts are lettered in it. The figures in `typeface.txt` are measured on
its outlines (`python tests/typeface.py LETTERS` prints the rows), and a test holds them to that. A font reader gives no
more than outlines, and takes 0.07 s to import and 0.04 s for ten letters where the table takes 0.1 ms; strokes and gaps
measured on them take another 0.2 s a letter.
"""

from functools import cache
from pathlib import Path

from msgspec import Struct


class Letter(Struct, frozen=True):
    """A letter's ink by the height of a capital [1]: width, lowest and highest point over the base line, thinnest
    stroke, narrowest gap within it, area, and length of its outline.

    `left` and `right` are how far its foot reaches out beyond its face, flanks sloping at 45 degrees and corners
    sharp, by its relief [1].
    """

    width: float
    bottom: float
    top: float
    stroke: float
    gap: float
    left: float
    right: float
    area: float
    girth: float


@cache
def letters() -> dict[str, Letter]:
    """Return every letter that a nameplate can have."""
    _, *rows = Path(__file__).with_suffix(".txt").read_text(encoding="utf-8").splitlines()
    return {letter: Letter(*map(float, figures)) for letter, *figures in map(str.split, rows)}
