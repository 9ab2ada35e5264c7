"""The typeface of name plates measured with shapely on matplotlib's outlines; run as a program, prints the table.

Strokes and gaps are measured as the checks `wall` and `slot` do: straight across, to an edge that looks back.
"""

import sys
from pathlib import Path

import matplotlib
import numpy as np
import shapely
from matplotlib.font_manager import FontProperties
from matplotlib.textpath import TextPath
from shapely import Polygon

TYPE = FontProperties(fname=Path(matplotlib.get_data_path(), "fonts", "ttf", "DejaVuSans-Bold.ttf"))
EM = 2048               # units of this type; capitals are 1493 of them high
OPPOSED = np.cos(np.radians(10))        # a wedge is no gap: it has none but at its very point
HONEST = 0.05           # of an outline must be as near: less is a corner
STEP = 0.01
FOOT = 0.06             # of a capital's height: what a raised letter's foot spreads, about


def letter(one: str):
    """Return the outline of a letter as a shapely area, capitals 1 high, its ink starting at x = 0."""
    rings = [Polygon(ring) for ring in TextPath((0, 0), one, size=EM, prop=TYPE).to_polygons() if len(ring) > 3]
    area = shapely.Polygon()
    for ring in rings:
        area = area.symmetric_difference(ring)
    top = Polygon(TextPath((0, 0), "I", size=EM, prop=TYPE).to_polygons()[0]).bounds[3]
    moved = shapely.affinity.translate(area, -area.bounds[0])
    return shapely.affinity.scale(moved, 1 / top, 1 / top, origin=(0, 0))


def row(one: str):
    """Return width, bottom, top, stroke, gap, left, right, area and girth, as in `partgen.plan.body.typeface`."""
    area = letter(one)
    foot = area.buffer(FOOT, join_style="mitre", mitre_limit=20)
    spread = (area.bounds[0] - foot.bounds[0]) / FOOT, (foot.bounds[2] - area.bounds[2]) / FOOT
    return (area.bounds[2], area.bounds[1], area.bounds[3], across(area, -1), min(across(area, 1), 2 * shut(area)),
            *spread, area.area, area.length)


def shut(area) -> float:
    """Return how far a letter may spread, corners kept sharp, before a counter, its mouth or a joint closes."""
    def kind(spread):
        parts = shapely.get_parts(area.buffer(spread, join_style="mitre", mitre_limit=20))
        return len(parts), sum(len(part.interiors) for part in parts)

    return next((spread for spread in np.arange(0.0, 0.5, 5e-4) if kind(spread) != kind(0.0)), 0.5) - 5e-4


def across(area, sense: int) -> float:
    """Return the narrowest way from edge to edge through ink (-1) or air (1); 1 at most."""
    start, along, normal = _edges(area)
    far, share = [], []
    for a, way, out in zip(start, along, normal, strict=True):
        count = max(1, int(np.hypot(*way) / STEP))
        for part in (np.arange(count) + 0.5) / count:
            far.append(_met(a + part * way, sense * out, start, along, normal @ out))
            share.append(np.hypot(*way) / count)
    order = np.argsort(far)
    return far[order[np.searchsorted(np.cumsum(np.array(share)[order]), HONEST)]]


def _met(point, ray, start, along, facing) -> float:
    """Return how far along a ray its first edge is, where that looks back; else 1."""
    turn, to = ray[0] * along[:, 1] - ray[1] * along[:, 0], start - point
    with np.errstate(divide="ignore", invalid="ignore"):
        far = (to[:, 0] * along[:, 1] - to[:, 1] * along[:, 0]) / turn
        at = (to[:, 0] * ray[1] - to[:, 1] * ray[0]) / turn
    hit = np.where((np.abs(turn) > 1e-12) & (far > 1e-6) & (at >= 0) & (at <= 1), far, 1.0)
    return float(hit.min()) if facing[hit.argmin()] < -OPPOSED else 1.0


def _edges(area):
    """Return starts, ways and outward unit normals (n, 2) of all edges."""
    turned = [shapely.geometry.polygon.orient(part) for part in shapely.get_parts(area)]
    rings = [np.asarray(ring.coords) for part in turned for ring in (part.exterior, *part.interiors)]
    start, along = (np.concatenate(pieces) for pieces in zip(
        *((r[:-1], np.diff(r, axis=0)) for r in rings), strict=True))
    length = np.hypot(*along.T)
    start, along, length = start[length > 1e-9], along[length > 1e-9], length[length > 1e-9]
    return start, along, np.column_stack([along[:, 1], -along[:, 0]]) / length[:, None]


if __name__ == "__main__":
    for each in sys.argv[1]:
        print(f"{each:<6}", *(f"{value:.3f}".replace("-0.000", "0.000").rjust(7) for value in row(each)))
