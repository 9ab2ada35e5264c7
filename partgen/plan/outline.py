"""Outlines in plan view: what a part reaches sideways between two heights."""

from __future__ import annotations

from cmath import exp
from collections.abc import Iterable, Iterator, Sequence
from functools import lru_cache
from math import cos, pi, radians, sin
from typing import TYPE_CHECKING

import numpy as np
from msgspec import Struct

from partgen.plan.deck.handles import handle_of

if TYPE_CHECKING:
    from partgen.describe.cup_table import Cup
    from partgen.plan.body.body import BodyPlan
    from partgen.plan.body.lid import LidPlan
    from partgen.plan.deck.cradle import CradlePlan
    from partgen.plan.deck.insert import InsertPlan
    from partgen.plan.deck.seats import Seat
    from partgen.plan.running_gear.frame import FramePlan
    from partgen.plan.wagon import WagonParts

Points = tuple[tuple[float, float], ...]
Span = tuple[float, float]
Spans = tuple[Span, Span]
"""From where to where [mm] a rectangle reaches along x and y."""
_QUARTERS = ((1, 1), (-1, 1), (-1, -1), (1, -1))


class Outline(Struct, frozen=True):
    """A closed convex outline in wagon axes between two heights over rail top; `points` (n, 2) [mm]."""

    part: str
    low: float
    high: float
    points: Points


def outlines_of(plan: WagonParts) -> Iterator[Outline]:
    """Yield what each part of a wagon, and every cup, reaches sideways, for the throw."""
    frame, body, coupling, lid, cradle = plan.frame, plan.body, plan.coupling, plan.lid, plan.cradle
    yield _plate("frame", frame.bottom, frame.top, frame)
    yield _plate("body", body.bottom, body.top, body)
    yield Outline("coupler", coupling.lowest, coupling.height + coupling.front.thickness / 2, around(
        plan.over_couplers, coupling.front.head_width, 1.0))
    if lid:
        yield _plate("lid", lid.lowest, lid.top, lid)
    if cradle:
        yield _plate("cradle", cradle.bottom, plan.deck_z, cradle)
    for seat, cup in plan.cups:
        yield _round("cradle", plan.deck_z, seat.height, seat, seat.outer_diameter)
        yield from _cup(seat, cup, plan.deck_z)
    for insert, cup in plan.inserts:
        for seat in [seat for seat, _ in plan.cups if seat.cup == insert.seat]:
            yield from _cup(seat, cup, plan.deck_z)
            if insert.ear:
                yield _ears(insert, seat, plan.deck_z)


def _plate(part: str, low: float, high: float, plan: FramePlan | BodyPlan | LidPlan | CradlePlan) -> Outline:
    return Outline(part, low, high, around(plan.length, plan.width, plan.corner))


def _round(part: str, low: float, height: float, seat: Seat, diameter: float) -> Outline:
    return Outline(part, low, low + height, circle(diameter, seat.x, seat.y))


def _cup(seat: Seat, cup: Cup, deck_z: float) -> Iterator[Outline]:
    """Yield a cup, and its handle as its seat turns it."""
    yield _round("cup", deck_z, cup.height, seat, cup.widest)
    handle = handle_of((seat, (cup,)))
    if handle:
        yield Outline("cup", deck_z, deck_z + cup.height, tuple((at.real, at.imag) for at in handle.corners))


def _ears(insert: InsertPlan, seat: Seat, deck_z: float) -> Outline:
    """Return what the ears of an insert in a seat reach to the left, or whither its window is turned."""
    wide, reach, way = insert.slit / 2 + insert.ear, insert.ear_reach, exp(1j * radians(seat.turn))
    corners = [complex(seat.x, seat.y) + way * at for at in (wide, wide + 1j * reach, 1j * reach - wide, -wide)]
    return Outline("insert", deck_z + insert.ear_foot, deck_z + insert.height,
                   tuple((at.real, at.imag) for at in corners))


@lru_cache(maxsize=4096)
def around(length: float, width: float, radius: float, steps: int = 6) -> Points:
    """Return the corner points [mm] of a polygon round a rectangle with rounded corners, counter-clockwise.

    It touches the arcs from outside, so gaps to it are on the safe side by at most
    radius (1 / cos(pi / 4 / steps) - 1): 0.04 mm at 4 mm. With a radius of 0 it is the rectangle.
    """
    r = min(radius, length / 2, width / 2)
    if not r:
        return tuple((sx * length / 2, sy * width / 2) for sx, sy in _QUARTERS)
    turns = [quarter * pi / 2 + (k + 0.5) * pi / 2 / steps for quarter in range(4) for k in range(steps)]
    far = r / cos(pi / 4 / steps)
    return tuple((sx * (length / 2 - r) + far * cos(turn), sy * (width / 2 - r) + far * sin(turn))
                 for (sx, sy), turn in zip((way for way in _QUARTERS for _ in range(steps)), turns, strict=True))


def circle(diameter: float, x: float = 0.0, y: float = 0.0, steps: int = 48) -> Points:
    """Return a polygon [mm] round a circle: it touches the circle from outside, so it is on the safe side."""
    radius = diameter / 2 / cos(pi / steps)
    return tuple((x + radius * cos(2 * pi * k / steps), y + radius * sin(2 * pi * k / steps)) for k in range(steps))


class Patch(Struct, frozen=True):
    """A rectangle: middle and extent along x and y [mm]."""

    x: float
    y: float
    length: float
    width: float

    @property
    def spans(self) -> Spans:
        """From where to where it reaches."""
        return ((self.x - self.length / 2, self.x + self.length / 2),
                (self.y - self.width / 2, self.y + self.width / 2))


def between(one: Spans, other: Spans) -> float:
    """Return the larger of the free distances [mm] of two rectangles along x and y, negative where they overlap."""
    return max(max(a, c) - min(b, d) for (a, b), (c, d) in zip(one, other, strict=True))


def hull(parts: Iterable[Spans]) -> Spans:
    """Return the rectangle round all of some rectangles."""
    x, y = ((min(low for low, _ in spans), max(high for _, high in spans)) for spans in zip(*parts, strict=True))
    return x, y


def uncovered(whole: Spans, others: Sequence[Spans]) -> float:
    """Return the area [mm2] of a rectangle that none of the `others` covers."""
    if min(high - low for low, high in whole) <= 0:
        return 0.0
    low, high = np.transpose(whole)
    box = np.array([whole, *others]).clip(low[:, None], high[:, None])
    xs, ys = (np.unique(box[:, axis]) for axis in (0, 1))
    free = np.outer(np.diff(xs), np.diff(ys))
    for (x0, x1), (y0, y1) in box[1:]:
        free[np.ix_((xs[:-1] >= x0) & (xs[1:] <= x1), (ys[:-1] >= y0) & (ys[1:] <= y1))] = 0.0
    return float(free.sum())


def grown(one: Spans, by: float) -> Spans:
    """Return a rectangle with every side moved outward by `by` [mm]."""
    (x0, x1), (y0, y1) = one
    return (x0 - by, x1 + by), (y0 - by, y1 + by)
