"""The rules of `box` in grid lines, each said once: the solver's model takes them as constraints, and plain sums tell
whether an arrangement keeps them.

Whoever takes them, `cp`, is told what must `hold` where all of some literals hold; gives for a `case` a literal that
holds only where all its rules do; and is told of which literals `some` must hold.
"""

from collections.abc import Iterator, Sequence
from itertools import combinations, permutations, product
from typing import Any

from msgspec import Struct, field

from partgen.packing.box import FACES, FloorZone, Span, Task
from partgen.packing.grid import AXES, UPWARD, Grid, Way, border, down, lines, need, up, wished, zone_lines

Expression = Any        # a whole number, or of the solver: a variable, a sum of them
Literal = Any           # a truth, or a variable of the solver that is true or false, or its opposite


class Lying(Struct):
    """One box as it lies: low corner, size, and each face's room and hard part."""

    at: tuple[Expression, ...]
    size: tuple[Expression, ...]
    room: tuple[Expression, ...]
    hard: tuple[Expression, ...]
    chosen: list[Literal]       # one for each of its ways to lie
    upper: Literal | None       # it lies on another box; None where it may not
    on: dict[int, Literal] = field(default_factory=dict)    # the same by the place of the box that carries it


class Arrangement(Struct):
    """A task's boxes as they lie in a body of that half length, half width and height inside, and who takes the rules
    about them; `windows` holds for each window that a box may need the box's place, a literal, and from where to where
    it goes along x, `wishes` a literal for each box that lies where it shall."""

    cp: Any
    task: Task
    grid: Grid
    half: tuple[Expression, Expression]
    height: Expression
    boxes: list[Lying]
    windows: list[tuple[int, Literal, tuple[Expression, Expression]]] = field(default_factory=list)
    wishes: list[Literal] = field(default_factory=list)


def tell(model: Arrangement) -> None:
    """Tell every rule about the boxes of `model`."""
    for width, length in model.task.space.slim:
        model.cp.some([model.cp.case("slim", model.half[1] <= up(width / 2)),
                       model.cp.case("short", model.half[0] <= down(length / 2))])
    for place, box in enumerate(model.boxes):
        _inside(model, place, box)
        _carried(model, place, box)
        _floor(model, place, box)
        _wished(model, place, box)
    _windows_apart(model)
    _cuts_apart(model)
    apart: dict[frozenset[int], list[Literal]] = {}
    for one, other in permutations(range(len(model.boxes)), 2):
        found = [_follows(model, one, other, axis) for axis in (0, 1)] + [_above(model, one, other)]
        apart.setdefault(frozenset((one, other)), []).extend(literal for literal in found if literal is not None)
    for literals in apart.values():
        model.cp.some(literals)


def _inside(model: Arrangement, place: int, box: Lying) -> None:
    """Keep a box and the room of its faces inside; a face that looks out stands at its wall."""
    for way, chosen in zip(model.grid.ways[place], box.chosen, strict=True):
        for axis in (0, 1):
            low, high = AXES[axis]
            below, beyond = box.at[axis] + model.half[axis], model.half[axis] - box.at[axis] - way.size[axis]
            for face, free in ((low, below), (high, beyond)):
                model.cp.hold(free == way.wall[face] if way.fixed[face] else free >= way.wall[face], chosen)
        model.cp.hold(box.at[UPWARD] + way.size[UPWARD] + way.wall[4] <= model.height, chosen)
        if way.floor and box.upper is not None:
            model.cp.hold(~box.upper, chosen)


def _carried(model: Arrangement, place: int, box: Lying) -> None:
    """A box on top lies within the outline of exactly one box that carries, which stands on the floor."""
    if box.upper is None:
        return
    for k, carrier in enumerate(model.boxes):
        if k == place or not model.task.boxes[k].carries:
            continue
        gaps = [box.at[axis] - carrier.at[axis] for axis in range(3)]
        within = [rule for axis in (0, 1)
                  for rule in (gaps[axis] >= 0, gaps[axis] + box.size[axis] <= carrier.size[axis])]
        box.on[k] = model.cp.case(f"{place} on {k}", *within,
                                  box.at[UPWARD] == carrier.at[UPWARD] + carrier.size[UPWARD] + model.grid.layer,
                                  *([] if carrier.upper is None else [~carrier.upper]))
    model.cp.hold(sum(box.on.values()) == box.upper)


def _floor(model: Arrangement, place: int, box: Lying) -> None:
    """A window has its middle at the station, and lies in its strip and clear of every blind zone; the feet of a box on
    the floor stand clear of every zone that is taken."""
    cp, space = model.cp, model.task.space
    standing = [] if box.upper is None else [~box.upper]
    for way, chosen in zip(model.grid.ways[place], box.chosen, strict=True):
        if way.orientation.window:
            x, y = lines(box.at, way.orientation.window)
            if space.station is not None and "station" not in model.task.aims:
                # Where a wish falls between two grid lines, either does.
                cp.hold(x[0] + x[1] >= 2 * down(space.station), chosen)
                cp.hold(x[0] + x[1] <= 2 * up(space.station), chosen)
            model.windows.append((place, chosen, x))
            cp.hold(y[0] >= down(space.strip[0]), chosen)
            cp.hold(y[1] <= up(space.strip[1]), chosen)
            for zone in space.blind:
                _clear(model, x, y, zone, chosen)
        for foot in way.orientation.feet:
            for zone in space.taken:
                _clear(model, *lines(box.at, foot), zone, chosen, *standing)


def _windows_apart(model: Arrangement) -> None:
    """What hangs below the windows of two boxes hangs one behind the other: all windows are in one strip."""
    gap = up(model.task.space.gap)
    for (place, chosen, one), (beside, also, other) in combinations(model.windows, 2):
        if place != beside:
            model.cp.some([model.cp.case("window behind window", first[1] + gap <= second[0])
                           for first, second in ((one, other), (other, one))], chosen, also)


def _cuts_apart(model: Arrangement) -> None:
    """What two boxes take of one wall is a land apart, along it or in height."""
    for one, other in combinations(range(len(model.boxes)), 2):
        for a, chosen in zip(model.grid.ways[one], model.boxes[one].chosen, strict=True):
            for b, also in zip(model.grid.ways[other], model.boxes[other].chosen, strict=True):
                for (face, *cut), (wall, *beside) in product(a.orientation.cuts, b.orientation.cuts):
                    if face == wall and not _keeps(model, (one, a, cut[0]), (other, b, beside[0]), face):
                        ways = _beside(model, (one, cut), (other, beside), face)
                        model.cp.some([model.cp.case("cut off cut", rule) for rule in ways], chosen, also)


def _keeps(model: Arrangement, one: tuple[int, Way, Span], other: tuple[int, Way, Span], face: str) -> bool:
    """Do two boxes on the floor at one wall keep what they take of it a land apart anyway?"""
    axis = 1 if face in FACES[:2] else 0
    return all(model.boxes[place].upper is None for place in (one[0], other[0])) and all(
        up(cut[1]) - a.size[axis] + up(model.task.space.land) - down(beyond[0]) <= need(model.grid, k, a, m, b, axis)
        for (k, a, cut), (m, b, beyond) in ((one, other), (other, one)))


def _beside(model: Arrangement, one: tuple[int, Sequence[Span]], other: tuple[int, Sequence[Span]],
            face: str) -> Iterator[Expression]:
    """Yield what each suffices for two cuts in a wall to be a land apart."""
    land, axes = up(model.task.space.land), (1 if face in FACES[:2] else 0, UPWARD)
    for (k, cut), (m, beyond) in ((one, other), (other, one)):
        for axis, (_, end), (start, _) in zip(axes, cut, beyond, strict=True):
            yield model.boxes[k].at[axis] + up(end) + land <= model.boxes[m].at[axis] + down(start)


def _wished(model: Arrangement, place: int, box: Lying) -> None:
    """Have a box lie where it shall, or tell whether it does."""
    rules = wished(model.task.boxes[place].at, [2 * box.at[axis] + box.size[axis] for axis in (0, 1)], model.half)
    if rules and "wishes" in model.task.aims:
        model.wishes.append(model.cp.case(f"{place} where it shall", *rules))
        return
    for rule in rules:
        model.cp.hold(rule)


def _clear(model: Arrangement, x: tuple[Expression, ...], y: tuple[Expression, ...], zone: FloorZone,
           *when: Literal) -> None:
    """Where all literals of `when` hold, keep the rectangle `x`, `y` off a zone."""
    along, across = zone_lines(zone, model.half)
    ways = ((x[1], along[0]), (along[1], x[0]), (y[1], across[0]), (across[1], y[0]))
    model.cp.some([model.cp.case("clear of zone", before <= after) for before, after in ways], *when)


def _follows(model: Arrangement, one: int, other: int, axis: int) -> Literal | None:
    """Return a literal for: `other` follows `one` along `axis` at the distance they need; None if it cannot, which
    saves a twentieth of the solver's time (3.4 against 3.6 s over tests/bench/bench_packing.py)."""
    grid = model.grid
    low, high = AXES[axis]
    shortest = min(a.wall[low] + a.size[axis] + need(grid, one, a, other, b, axis) + b.size[axis] + b.wall[high]
                   for a in grid.ways[one] for b in grid.ways[other])
    if shortest > 2 * (grid.length, grid.width)[axis][1]:
        return None
    return model.cp.case(f"{other} follows {one} along {axis}", *_apart(model, one, other, axis))


def _above(model: Arrangement, below: int, above: int) -> Literal | None:
    """Return a literal for: `above` lies on something, and higher than `below`; None if it cannot."""
    lower, upper = model.boxes[below], model.boxes[above]
    if upper.upper is None:
        return None
    closed = [~chosen for way, chosen in zip(model.grid.ways[below], lower.chosen, strict=True) if not way.under]
    return model.cp.case(f"{above} above {below}", *_apart(model, below, above, UPWARD), upper.upper,
                         *([] if lower.upper is None else [~lower.upper]), *closed)


def _apart(model: Arrangement, one: int, other: int, axis: int) -> Iterator[Expression]:
    """Yield what the two faces need between box `one` and box `other` beyond it."""
    low, high = AXES[axis]
    first, second = model.boxes[one], model.boxes[other]
    gap = second.at[axis] - first.at[axis] - first.size[axis]
    for least in (border(model.grid, one, other, axis), first.room[high], second.room[low],
                  first.hard[high] + second.hard[low]):
        yield gap >= least
