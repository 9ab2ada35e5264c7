"""Parts on as few print beds as possible: rectangles kept apart, turned a quarter where that helps.

A greedy search in several orders gives an answer at once. Where it needs more beds than the parts' area
or bulk proves necessary, a constraint solver looks for a bed less, again and again, until it finds none:
one worker, a fixed seed and effort counted in work, not in seconds, so that the answer always repeats.
"""

from collections.abc import Callable, Sequence
from math import acos, ceil, cos, floor, pi, sin, sqrt
from typing import Any

import numpy as np
from msgspec import Struct

STEPS = 10              # grid lines a mm
EFFORT = 0.3            # the solver's own measure of work for each bed it tries to save: up to a few seconds
SEARCHED = 120          # footprints; among more, looking for a bed less takes minutes and seldom finds one

Size = tuple[int, int]
Lying = tuple[int, int, int, int]
"""The low corner x and y and the high corner x and y of what lies on a plate, on the grid."""
Lot = list[tuple[int, int, int, bool]]
"""Of every size on the grid: its plate, its low corner x and y, and is it turned?"""

ORDERS: tuple[Callable[[Size], tuple[int, ...]], ...] = (
    lambda size: (-size[0] * size[1], -max(size)),
    lambda size: (-max(size), -min(size)),
    lambda size: (-min(size), -max(size)),
    lambda size: (-sum(size), -max(size)),
)
"""Orders in which the greedy search lays the footprints down, each a sort key of a size."""


class Laid(Struct, frozen=True):
    """Where a footprint lies: its plate, counted from 0, its low corner [mm], and is it turned a quarter?"""

    plate: int
    x: float
    y: float
    turned: bool


class Nesting(Struct, frozen=True):
    """Where every footprint lies in the order given, the plates used, and how many are proven to be needed."""

    laid: tuple[Laid, ...]
    plates: int
    at_least: int


def fits(size: tuple[float, float], bed: tuple[float, float]) -> bool:
    """Does a footprint of `size` [mm] lie on a bed of `bed` [mm], turned a quarter or not?"""
    (short, long), (narrow, wide) = sorted(_grid(size, 0.0, ceil)), sorted(_grid(bed, 0.0, floor))
    return short <= narrow and long <= wide


def aslant(size: tuple[float, float], bed: tuple[float, float]) -> tuple[float, float]:
    """Return how far a footprint reaches beyond a bed at its best turn [mm], negative where there is room, and by what
    it is turned [rad].

    Turned by a, a footprint x by y takes x cos a + y sin a along the bed's x and x sin a + y cos a along its y; both
    rise and fall once from 0 to 90 degrees, so the best turn is an end or where both reach out as far.
    """
    (x, y), (wide, deep) = size, bed
    turns = [0.0, pi / 2]
    if abs(wide - deep) <= abs(x - y) > 0:
        turns.append(acos((wide - deep) / (sqrt(2) * (x - y))) - pi / 4)
    return min((max(x * cos(a) + y * sin(a) - wide, x * sin(a) + y * cos(a) - deep), a) for a in turns)


def nest(sizes: Sequence[tuple[float, float]], bed: tuple[float, float], gap: float = 5.0) -> Nesting:
    """Lay rectangles on as few beds as possible, the lot on each bed in its middle.

    Args:
        sizes: each footprint along x and y [mm].
        bed: the bed along x and y [mm]; nothing reaches beyond it.
        gap: least distance between two footprints [mm].

    `at_least` equals `plates` where fewer are proven impossible. Raises ValueError for a footprint that
    fits the bed neither way.
    """
    if not all(fits(size, bed) for size in sizes):
        raise ValueError(f"a footprint does not fit the bed of {bed[0]:g} x {bed[1]:g} mm: turn it or leave it out")
    if not sizes:
        return Nesting((), 0, 0)
    # With half a gap all round each footprint and round the bed, gaps become plain "no overlap".
    room = _grid(bed, gap, floor)
    grown = [_grid(size, gap, ceil) for size in sizes]
    laid, at_least = _fewest(grown, room)
    spots = _tidied(laid, grown, room)
    return Nesting(tuple(Laid(plate, x / STEPS, y / STEPS, turned) for plate, x, y, turned in spots),
                   1 + max(spot[0] for spot in spots), at_least)


def _grid(size: tuple[float, float], gap: float, rounding: Callable[[float], int]) -> Size:
    """Return a size on the grid, the gap added; a thousandth of a step is forgiven."""
    x, y = (rounding(round(STEPS * (side + gap), 3)) for side in size)
    return x, y


def _fewest(sizes: list[Size], room: Size) -> tuple[Lot, int]:
    """Return (plate, x, y, turned) of every size on the grid, and the proven least number of plates."""
    at_least, few = _bound(sizes, room), len(sizes) <= SEARCHED
    best = _greedy(sizes, room, ORDERS[0])
    for order in ORDERS[1:] if few else ():
        if _plates(best) > at_least:
            best = min(best, _greedy(sizes, room, order), key=_plates)
    while few and _plates(best) > at_least:
        found, proven = _search(sizes, room, _plates(best) - 1)
        if found is None:
            return best, _plates(best) if proven else at_least
        best = found
    return best, at_least


def _plates(laid: Lot) -> int:
    return 1 + max(plate for plate, *_ in laid)


def _bound(sizes: list[Size], room: Size) -> int:
    """Return how many plates it surely takes: by area, and one for each size over half a bed both ways."""
    area = ceil(sum(x * y for x, y in sizes) / (room[0] * room[1]))
    bulky = sum(2 * min(size) > max(room) for size in sizes)
    return max(area, bulky, 1)


def _greedy(sizes: list[Size], room: Size, order: Callable[[Size], tuple[int, ...]]) -> Lot:
    """Lay the sizes down in `order`, each on the first plate with room, at the lowest place there."""
    plates: list[list[Lying]] = []
    laid: dict[int, tuple[int, int, int, bool]] = {}
    for number in sorted(range(len(sizes)), key=lambda n: (order(sizes[n]), n)):
        spots = ((plate, _lowest(boxes, sizes[number], room)) for plate, boxes in enumerate([*plates, []]))
        plate, box = next((plate, box) for plate, box in spots if box)
        plates += [[]] if plate == len(plates) else []
        plates[plate].append(box)
        laid[number] = plate, box[0], box[1], (box[2] - box[0], box[3] - box[1]) != sizes[number]
    return [laid[number] for number in range(len(sizes))]


def _lowest(boxes: Sequence[Lying], size: Size, room: Size) -> Lying | None:
    """Return the place whose top is lowest, then furthest left; None where none is free.

    Places looked at are those where some box ends on the left and some box ends below.
    """
    x, y = (side.ravel() for side in np.meshgrid([0, *(box[2] for box in boxes)], [0, *(box[3] for box in boxes)]))
    free: list[tuple[int, int, Lying]] = []
    for wide, deep in dict.fromkeys((size, size[::-1])):
        clear = (x + wide <= room[0]) & (y + deep <= room[1])
        for x0, y0, x1, y1 in boxes:
            clear &= (x >= x1) | (x + wide <= x0) | (y >= y1) | (y + deep <= y0)
        corners = zip(x[clear].tolist(), y[clear].tolist(), strict=True)
        free += [(b + deep, a, (a, b, a + wide, b + deep)) for a, b in corners]
    return min(free)[2] if free else None


def _search(sizes: list[Size], room: Size, plates: int) -> tuple[Lot | None, bool]:
    """Look for a way to lay all sizes on `plates` beds; return it or None, and whether None is proven."""
    from ortools.sat.python import cp_model

    model = cp_model.CpModel()
    laid = _footprints(model, sizes, room, plates)
    _order_twins(model, [plate for plate, *_ in laid], sizes)
    solver = cp_model.CpSolver()
    solver.parameters.num_workers, solver.parameters.random_seed = 1, 7
    solver.parameters.max_deterministic_time = EFFORT
    status = solver.solve(model)
    spots = [tuple(solver.value(variable) for variable in spot) for spot in laid] if status in (
        cp_model.OPTIMAL, cp_model.FEASIBLE) else []
    return [(plate, x, y, bool(turned)) for plate, x, y, turned in spots] or None, status == cp_model.INFEASIBLE


def _footprints(model: Any, sizes: list[Size], room: Size, plates: int) -> list[tuple[Any, ...]]:
    """Return the solver's variables of every footprint: plate, x, y, turned. None overlap: the beds stand side by side
    as one strip, so that one constraint holds them all.

    Plates are alike, so footprint n may as well lie on one of the first n + 1.
    """
    laid, across, along, strip = [], [], [], room[0] * plates
    for number, (wide, deep) in enumerate(sizes):
        plate, turned = model.new_int_var(0, min(plates - 1, number), ""), model.new_bool_var("")
        x, y = (model.new_int_var(0, side - min(wide, deep), "") for side in room)
        size_x, size_y = wide + (deep - wide) * turned, deep + (wide - deep) * turned
        start, end, top = (model.new_int_var(0, most, "") for most in (strip, strip, room[1]))
        model.add(x + size_x <= room[0])
        model.add(start == plate * room[0] + x)
        across.append(model.new_interval_var(start, size_x, end, ""))
        along.append(model.new_interval_var(y, size_y, top, ""))
        laid.append((plate, x, y, turned))
    model.add_no_overlap_2d(across, along)
    return laid


def _order_twins(model: Any, plates_of: list[Any], sizes: list[Size]) -> None:
    """Let equal footprints take plates in their own order, or the solver tries every swap of them: over 88 lots that
    saved two beds of 224."""
    last: dict[Size, int] = {}
    for number, size in enumerate(sizes):
        if size in last:
            model.add(plates_of[last[size]] <= plates_of[number])
        last[size] = number


def _tidied(laid: Lot, sizes: list[Size], room: Size) -> Lot:
    """Lay each plate's lot again in the greedy way where that holds it, as the solver leaves it scattered, and move it
    to the middle of its bed, where beds are truest."""
    tidy = list(laid)
    for plate in range(_plates(laid)):
        lot = [number for number, (of, *_) in enumerate(laid) if of == plate]
        again = _greedy([sizes[number] for number in lot], room, ORDERS[1])
        spots = again if _plates(again) == 1 else [laid[number] for number in lot]
        ends = [(x + sizes[number][turned], y + sizes[number][not turned])
                for number, (_, x, y, turned) in zip(lot, spots, strict=True)]
        aside, up = ((room[axis] - max(end[axis] for end in ends) - min(spot[1 + axis] for spot in spots)) // 2
                     for axis in (0, 1))
        for number, (_, x, y, turned) in zip(lot, spots, strict=True):
            tidy[number] = plate, x + aside, y + up, turned
    return tidy
