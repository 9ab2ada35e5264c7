"""Lettering as outlines in the plane, in the bold type that matplotlib ships: the same on every machine."""

from functools import cache
from pathlib import Path

import matplotlib
import numpy as np
from manifold3d import CrossSection, FillRule, JoinType
from matplotlib.font_manager import FontProperties
from matplotlib.textpath import TextPath
from msgspec import Struct

TYPE = "DejaVuSans-Bold.ttf"
CAPITAL = 1493 / 2048   # of the type's size
CURVE = 0.02            # mm: how far a letter's polygon may stand off its curve; a nozzle follows no finer
RAISED_CURVE = 0.005    # of a capital's height: the same on a wall, where layers are steps
SMOOTH = 2e-3           # mm: off a raised letter's foot, so that no edge is too short for the CAD kernel


@cache
def _face() -> FontProperties:
    return FontProperties(fname=Path(matplotlib.get_data_path(), "fonts", "ttf", TYPE))


def _ink(text: str, size: float, curve: float = CURVE) -> CrossSection:
    """Return the outline [mm] of `text` in type `size` [mm] high, on y = 0, `curve` [mm] off the true one at most."""
    path = TextPath((0.0, 0.0), text, size=size, prop=_face())
    rings = [np.asarray(ring) for ring in path.to_polygons()]
    return CrossSection([ring[:-1] for ring in rings if len(ring) > 3], FillRule.NonZero).simplify(curve)


@cache
def lettering(text: str, height: float, line: float) -> CrossSection:
    """Return `text` as an outline [mm], type `height` [mm] high, starting at x = 0, capitals about y = 0.

    Where strokes meet, the wedge between them is closed as far as it is narrower than a printed `line` [mm].
    """
    closed = _ink(text, height).offset(0.55 * line, JoinType.Round, circular_segments=24)
    closed = closed.offset(-0.55 * line, JoinType.Round, circular_segments=24)
    return closed.simplify(CURVE).translate((0.0, -0.365 * height))


Flank = tuple[np.ndarray, np.ndarray]
"""A foot and the face over it, (n, 2) points [mm] each, that belong together in pairs."""


class Block(Struct, frozen=True):
    """One connected piece of a raised letter: its outline, counter-clockwise, and its counters, clockwise."""

    outline: Flank
    counters: tuple[Flank, ...]


@cache
def raised(letter: str, height: float, relief: float) -> tuple[Block, ...]:
    """Return a letter with flanks of 45 degrees all round, capitals `height` [mm] high, raised by `relief` [mm].

    Its face's ink starts at x = 0 and stands on y = 0. The faces are drawn inward from the feet, so that every flank
    is a plane; wedges that are narrower than the flanks come out a little shallower.
    """
    flat = _ink(letter, height / CAPITAL, RAISED_CURVE * height)
    feet = flat.offset(relief, JoinType.Miter, miter_limit=20.0).simplify(SMOOTH)
    start = (flat.bounds()[0], 0.0)
    return tuple(_block([_flank(ring - start, relief) for ring in piece.to_polygons()]) for piece in feet.decompose())


def _block(pairs: list[Flank]) -> Block:
    # A ring that goes clockwise encloses nothing.
    outline, = (pair for pair in pairs if not CrossSection([pair[0]]).is_empty())
    return Block(outline, tuple(pair for pair in pairs if pair is not outline))


def _flank(foot: np.ndarray, relief: float) -> Flank:
    """Return a foot and the face over it: every side moved inward by `relief`."""
    way = np.roll(foot, -1, axis=0) - foot
    out = np.column_stack([way[:, 1], -way[:, 0]]) / np.hypot(*way.T)[:, None]
    before = np.roll(out, 1, axis=0)
    return foot, foot - relief * (before + out) / (1 + np.einsum("ij,ij->i", before, out))[:, None]
