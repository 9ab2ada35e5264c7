"""The paths that one layer is printed by: lines round its outlines, lines to and fro within, and jumps between them.

A skin lies wherever there is open air within a few layers above or below; it reaches a little further in, under what
stands on it. Of the hollow that is left a share is filled, and small hollows are filled whole.
"""

from collections.abc import Sequence
from math import ceil

import numpy as np
from manifold3d import CrossSection, JoinType
from msgspec import Struct
from msgspec.structs import astuple

from partgen.describe.printer_tables import Printer, Slicing
from partgen.formulas.plastic import line_spacing, run_time
from partgen.plan.printed import LAPPED, LINK, SMALL

SOLID = 100.0           # % infill
REACH = 3.0             # mm: skins go on so far below what stands on them (common practice, no source)
SLIVER = 0.1            # mm: narrower open air brings no skin
SHORT = 5.0             # mm: a single line is mostly longer
TOUR = 1.3              # of n paths in a layer: times sqrt(n A); the shortest through n points is 0.71 (MEM)
DRAWN_BACK = 0.6        # share of jumps that are long enough to draw the filament back (TOUR and this as counted)
LIFT = 0.04             # s from one layer to the next
Contours = list[np.ndarray]


class Work(Struct, frozen=True):
    """What paths take: time with acceleration and without it [s], strand laid [mm], plastic over layer height [mm2],
    and how many they are."""

    seconds: float = 0.0
    plain: float = 0.0
    strand: float = 0.0
    area: float = 0.0
    count: int = 0

    def __add__(self, other: "Work") -> "Work":
        return Work(*(a + b for a, b in zip(astuple(self), astuple(other), strict=True)))


def outlines(cut: CrossSection, first: bool, printer: Printer) -> tuple[CrossSection, Work]:
    """Return what is left within the lines round a cut, and what these take.

    Two lines go side by side where there is room for one and a half. Where there is not, the area says how long a
    single one is; it begins anew at every corner.

    Args:
        cut: the part's cut through a layer.
        first: is it the layer on the bed?
        printer: how it is printed.
    """
    slicing, half, spacing = printer.slicing, printer.line_width / 2, line_spacing(printer.line_width, printer.layer)
    speed = slicing.first_speed if first else slicing.outline_speed
    line, inset, free, edge, corners, work = cut, half, cut.area(), 0.0, 0, Work()
    for _ in range(round(slicing.perimeters)):
        room = half / 2
        line = line.offset(-inset - room, JoinType.Miter).offset(room, JoinType.Miter)
        contours = line.to_polygons()
        length, seconds, turned = _round(contours, speed, slicing)
        edge, corners = edge or length, turned or corners
        single = max(free - line.area() - length * half, 0.0) / spacing
        work += Work(seconds + single / speed, (length + single) / speed, length + single, 0.0,
                     len(contours) + ceil(min(corners / 2, single / SHORT)))
        half, inset, free = spacing / 2, spacing, line.area() - length * spacing / 2
    core = line.offset(-half, JoinType.Miter)
    # The outermost strand's side is round, so it does not fill the edge.
    return core, work + Work(area=cut.area() - core.area() - edge * (printer.line_width - spacing) / 2)


def layer_work(cut: CrossSection, outlined: tuple[CrossSection, Work], near: Sequence[CrossSection] | None, first: bool,
               printer: Printer) -> Work:
    """Return what one layer takes.

    Args:
        cut: the part's cut through it.
        outlined: its `outlines`.
        near: the cuts of all layers so near that open air in them brings a skin here; None next to bed or top.
        first: is it the layer on the bed?
        printer: how it is printed.
    """
    (core, work), slicing, spacing = outlined, printer.slicing, line_spacing(printer.line_width, printer.layer)
    speed = slicing.first_speed if first else slicing.fill_speed
    hollow = _hollow(core, near if slicing.infill < SOLID else None)
    work += _lines(core - hollow, spacing, spacing, speed, slicing)
    if slicing.infill and not hollow.is_empty():
        work += _lines(hollow, spacing, 100 * spacing / slicing.infill, speed, slicing)
    return work + _jumps(cut, work.count, slicing)


def _hollow(core: CrossSection, near: Sequence[CrossSection] | None) -> CrossSection:
    """Return what of the `core` is neither skin nor small."""
    if near is None or core.area() < SMALL:
        return CrossSection()
    deep = core
    for cut in near:
        deep ^= cut
    bare = (core - deep).offset(-SLIVER, JoinType.Miter)
    if not bare.is_empty():
        deep = core - bare.offset(SLIVER + REACH, JoinType.Miter)
    return CrossSection.compose([part for part in deep.decompose() if part.area() >= SMALL])


# ---- what paths take ---------------------------------------------------------------------------------------------

def _round(contours: Contours, speed: float, slicing: Slicing) -> tuple[float, float, int]:
    """Return the length [mm] of lines along closed contours, the time [s] for them, and how many corners they have.

    A corner is passed as fast as the change of direction allows; what bends less is no corner.
    """
    if not contours:
        return 0.0, 0.0, 0
    points, counts = np.concatenate(contours), np.array([len(contour) for contour in contours])
    last = np.cumsum(counts) - 1
    first, after, before = last - counts + 1, np.arange(len(points)) + 1, np.arange(len(points)) - 1
    after[last], before[first] = first, last
    way = points[after] - points
    length = np.hypot(*way.T)
    ahead = way / np.maximum(length, 1e-9)[:, None]
    passed = slicing.corner_speed / np.maximum(np.hypot(*(ahead - ahead[before]).T), 1e-9)
    passed[first] = slicing.corner_speed                # a line starts and ends here
    corner = passed < speed
    corner[first] = True
    corners = np.flatnonzero(corner)
    ends = np.append(passed[corners][1:], 0.0)
    ends[np.append(np.isin(corners[1:], first), True)] = slicing.corner_speed
    seconds = run_time(np.add.reduceat(length, corners), passed[corners], ends, speed, slicing.acceleration)
    return float(length.sum()), float(seconds.sum()), len(corners)


def _lines(area: CrossSection, spacing: float, apart: float, speed: float, slicing: Slicing) -> Work:
    """Return what slanting lines to and fro over an area take, `apart` [mm] from each other."""
    chords = _chords(area.to_polygons(), apart)
    if not len(chords):
        return Work()
    solid, turn = apart == spacing, slicing.corner_speed / 2**0.5
    links = np.full(len(chords), apart if solid else LINK * apart)
    ways = np.concatenate([chords, links])
    seconds = run_time(ways, turn, turn, speed, slicing.acceleration).sum()
    # A skin's strands fill it, and half of every turn laps onto the outlines.
    laid = area.area() + LAPPED * len(chords) * spacing**2 if solid else spacing * ways.sum()
    return Work(float(seconds), float(ways.sum() / speed), float(ways.sum()), float(laid), area.num_contour())


def _chords(contours: Contours, apart: float) -> np.ndarray:
    """Return the lengths [mm] of the pieces that closed contours cut out of slanting lines `apart` [mm]."""
    if not contours:
        return np.zeros(0)
    slant = np.array([[1.0, -1.0], [1.0, 1.0]]) * 0.5**0.5
    here = np.concatenate(contours) @ slant
    there = np.concatenate([np.roll(contour, -1, axis=0) for contour in contours]) @ slant
    low, high = (np.ceil(side / apart - 0.5).astype(int) for side in np.sort([here[:, 1], there[:, 1]], axis=0))
    crossed = high - low
    edge = np.repeat(np.arange(len(here)), crossed)
    line = np.arange(len(edge)) - np.repeat(np.cumsum(crossed) - crossed, crossed) + low[edge]
    share = ((line + 0.5) * apart - here[edge, 1]) / (there[edge, 1] - here[edge, 1])
    x = here[edge, 0] + share * (there[edge, 0] - here[edge, 0])
    x = x[np.lexsort((x, line))]
    return x[1::2] - x[::2]


def _jumps(cut: CrossSection, count: int, slicing: Slicing) -> Work:
    """Return what it takes to go from each of `count` paths of a layer to the next, and up to the next layer."""
    if not count:
        return Work(LIFT)
    x0, y0, x1, y1 = cut.bounds()
    way = TOUR * ((x1 - x0) * (y1 - y0) / count)**0.5
    return Work(LIFT + count * (jump_time(way, slicing) - (1 - DRAWN_BACK) * slicing.retraction),
                count * way / slicing.travel_speed)


def jump_time(way: float, slicing: Slicing) -> float:
    """Return how long a jump over `way` [mm] takes [s], filament drawn back and forth."""
    corner = slicing.corner_speed
    return slicing.retraction + float(run_time(way, corner, corner, slicing.travel_speed, slicing.acceleration))
