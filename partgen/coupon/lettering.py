"""Lettering as outlines in the plane, in the bold type that matplotlib ships: the same on every machine."""

from functools import cache
from pathlib import Path

import matplotlib
from manifold3d import CrossSection, FillRule, JoinType
from matplotlib.font_manager import FontProperties
from matplotlib.textpath import TextPath

TYPE = "DejaVuSans-Bold.ttf"
CURVE = 0.02            # mm: how far a letter's polygon may stand off its curve; a nozzle follows no finer


@cache
def _face() -> FontProperties:
    return FontProperties(fname=Path(matplotlib.get_data_path(), "fonts", "ttf", TYPE))


@cache
def lettering(text: str, height: float, line: float) -> CrossSection:
    """Return `text` as an outline [mm], type `height` [mm] high, starting at x = 0, capitals about y = 0.

    Where strokes meet, the wedge between them is closed as far as it is narrower than a printed `line` [mm].
    """
    path = TextPath((0.0, 0.0), text, size=height, prop=_face())
    rings = [ring for ring in path.to_polygons() if len(ring) > 3]
    flat = CrossSection([ring[:-1] for ring in rings], FillRule.NonZero).simplify(CURVE)
    closed = flat.offset(0.55 * line, JoinType.Round, circular_segments=24)
    closed = closed.offset(-0.55 * line, JoinType.Round, circular_segments=24)
    return closed.simplify(CURVE).translate((0.0, -0.365 * height))
