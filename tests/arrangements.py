"""Arrangements of boxes to test with, and two judges of them: plain intervals say what is sound, an exhaustive search
with scipy's linear programmes says what is best."""

from itertools import combinations, product
from math import ceil, inf

import numpy as np
from msgspec.structs import replace
from scipy.optimize import linprog

from partgen.packing.box import FACES, Box, Orientation, Space, Task

GRID = 0.05         # mm: sizes come out on it
STEP = {"length": 2 * GRID, "height": GRID, "balance": 0.5, "runs": 1.0}        # mm that each aim is counted in
PLUG = 0.6          # of a plug's room is the plug itself, which no other plug shares
LOW, HIGH = (1, 3, 5), (0, 2, 4)    # at the low and high end of x, y, z, of: front, back, left, right, top, bottom


def lying(size, room=(0,) * 6, out=(), **more):
    return Orientation(tuple(map(float, size)), tuple(map(float, room)), out, **more)


def quarter_turns(length, width, height, front=0, left=0, top=0, out=()):
    """Return the four ways to stand of a box with plugs in its front, left and top, which need that room."""
    faces = ["front", "left", "back", "right"]
    found = []
    for k in range(4):
        room = {"front": 0, "back": 0, "left": 0, "right": 0, "top": top, "bottom": 0}
        room |= {faces[k]: front, faces[(k + 1) % 4]: left}
        turned = tuple(faces[(faces.index(face) + k) % 4] for face in out)
        plugs = ((faces[k],) * bool(front) + (faces[(k + 1) % 4],) * bool(left) + ("top",) * bool(top))
        found.append(lying((length, width, height) if k % 2 == 0 else (width, length, height),
                          [room[face] for face in ("front", "back", "left", "right", "top", "bottom")], turned,
                          plugs=plugs))
    return tuple(dict.fromkeys(found))


def best(found):
    """Is every aim proven to be the best?"""
    return all(reached <= bound + 1e-9 for _, reached, bound in found.aims)


# ---- what is sound, by intervals -------------------------------------------------------------------------

def spans(spot):
    """From where to where a box reaches along x, y and z [mm]."""
    return [(at, at + side) for at, side in zip((spot.x, spot.y, spot.z), spot.orientation.size, strict=True)]


def faults(task, found):
    """Yield in words whatever in an arrangement is not as the rules in `packing.box` have it."""
    space, eps = task.space, 1e-6
    half = [found.length / 2, found.width / 2]
    for box, spot in zip(task.boxes, found.spots, strict=True):
        assert spot.orientation in box.orientations
        reach, room = spans(spot), spot.orientation.room
        for axis in (0, 1):
            for face, free in ((LOW[axis], reach[axis][0] + half[axis]), (HIGH[axis], half[axis] - reach[axis][1])):
                looks = FACES[face] in spot.orientation.out
                if looks and abs(free - space.touch) > GRID + eps:
                    yield f"{box.name} does not stand at its wall"
                if not looks and free < max(space.gap, room[face]) - eps:
                    yield f"{box.name} has {free} to a wall"
        if reach[2][1] + max(space.gap, room[4]) > found.height + eps:
            yield f"{box.name} is too high"
        yield from floor_faults(task, found, box, spot)
        yield from window_faults(task, found, box, spot)
    lost = [box.name for box, spot in zip(task.boxes, found.spots, strict=True) if astray(box, spot, found)]
    if len(lost) != next((reached for aim, reached, _ in found.aims if aim == "wishes"), 0):
        yield f"{lost} lie elsewhere, which are not as many as is said"
    for (one, a), (other, b) in combinations(zip(task.boxes, found.spots, strict=True), 2):
        if max(spare(one, a, other, b, axis, space) for axis in range(3)) < -eps:
            yield f"{one.name} and {other.name} are too near each other"
        for (face, *cut), (wall, *beside) in product(a.orientation.cuts, b.orientation.cuts):
            axes = (1 if face in ("front", "back") else 0, 2)
            ends = [[(spans(spot)[axis][0] + low, spans(spot)[axis][0] + high)
                     for axis, (low, high) in zip(axes, its, strict=True)] for spot, its in ((a, cut), (b, beside))]
            if face == wall and max(max(p, r) - min(q, s) for (p, q), (r, s) in zip(*ends, strict=True)
                                    ) < space.land - eps:
                yield f"{one.name} and {other.name} cut too near each other into the {face} wall"
    for width, length in space.slim:
        if found.width > width + 2 * GRID and found.length > length + eps:
            yield "it is too wide for its length"
    for axis, size in enumerate((found.length, found.width, found.height)):
        least, most = (space.length, space.width, space.height)[axis]
        if size > most + eps or size < least - 2 * GRID - eps:
            yield f"size {size} is not in {least, most}"


def astray(box, spot, found):
    """Does a box not lie where it shall: its middle in a third of the length, or to one side of the middle?"""
    x, y = spot.x + spot.orientation.size[0] / 2, spot.y + spot.orientation.size[1] / 2
    third, eps = found.length / 6, GRID / 2
    return {"front": x < third - eps, "back": x > eps - third, "middle": abs(x) > third + eps,
            "left": y < eps / 2, "right": y > -eps / 2}.get(box.at, False)


def floor_faults(task, found, box, spot):
    space, half = task.space, (found.length / 2, found.width / 2)
    if spot.on is None:
        if abs(spot.z - spot.orientation.lift) > GRID:
            yield f"{box.name} floats"
    else:
        under, carrier = found.spots[spot.on], task.boxes[spot.on]
        if not (task.levels > 1 and box.climbs and carrier.carries and under.on is None):
            yield f"{box.name} may not lie on {carrier.name}"
        if any(a < c - 1e-6 or b > d + 1e-6 for (a, b), (c, d) in zip(spans(spot)[:2], spans(under)[:2], strict=True)):
            yield f"{box.name} hangs over {carrier.name}"
    for what, zones in [*[(foot, space.taken) for foot in spot.orientation.feet if spot.on is None],
                        *[(window, space.blind) for window in [spot.orientation.window] if window]]:
        (x0, x1), (y0, y1) = [(at + low, at + high) for at, (low, high) in zip((spot.x, spot.y), what, strict=True)]
        for zone in zones:
            along, across = zone.end * half[0], zone.side * half[1]
            if min(min(x1, zone.x[1] + along) - max(x0, zone.x[0] + along),
                   min(y1, zone.y[1] + across) - max(y0, zone.y[0] + across)) > 2 * GRID:
                yield f"{box.name} stands in a zone"


def window_faults(task, found, box, spot):
    """Yield what is wrong with what a box sees through the floor, and with what is seen of it through the lid."""
    space, eps = task.space, GRID + 1e-6
    if spot.orientation.window:
        (x0, x1), (y0, y1) = spot.orientation.window
        middle = spot.x + (x0 + x1) / 2
        if space.station is not None and "station" not in task.aims and abs(middle - space.station) > eps:
            yield f"{box.name} sees the track at {middle}"
        if spot.y + y0 < space.strip[0] - eps or spot.y + y1 > space.strip[1] + eps:
            yield f"{box.name} looks past the strip"
    for axis, size in enumerate((found.length, found.width) if spot.orientation.seen else ()):
        for face, end in ((LOW[axis], 0), (HIGH[axis], 1)):
            at = (spot.x, spot.y)[axis] + spot.orientation.seen[axis][end]
            if FACES[face] not in spot.orientation.out and size / 2 - (at if end else -at) < space.rim - eps:
                yield f"{box.name} is seen too near the {FACES[face]} wall"


def spare(one, a, other, b, axis, space):
    """Return by how much [mm] two boxes are farther apart along `axis` than their faces need."""
    def follows(first, x, second, y):
        near, far = x.orientation.room[HIGH[axis]], y.orientation.room[LOW[axis]]
        border = space.layer if axis == 2 else max(first.border, second.border)
        cut, other = x.orientation.through[HIGH[axis]], y.orientation.through[LOW[axis]]
        return spans(y)[axis][0] - spans(x)[axis][1] - max(border, near, far, max(PLUG * near, cut)
                                                           + max(PLUG * far, other))
    return max(follows(one, a, other, b), follows(other, b, one, a))


# ---- what is best, by trying everything ------------------------------------------------------------------

class Programme:
    """A linear programme over x, y, z of each box, half length, height, the centre of gravity's offsets, how far each
    hangs over, and each wire along x and y."""

    def __init__(self, task, ways, apart):
        self.task, self.ways, self.count = task, ways, len(ways)
        self.extra = 3 * self.count + 2
        self.over = self.extra + 3
        self.wire = self.over + self.count
        self.width = self.wire + 2 * len(task.wires)
        self.rows, self.limits, self.equal, self.equal_to = [], [], [], []
        for k, stands in enumerate(ways):
            self._inside(k, stands)
        for (a, b), (first, axis) in zip(combinations(range(self.count), 2), apart, strict=True):
            self._apart(*((a, b) if first else (b, a)), axis)
        self._measures()

    def row(self, **columns):
        found = np.zeros(self.width)
        for name, value in columns.items():
            found[int(name[1:])] += value
        return found

    def below(self, limit, **columns):
        self.rows.append(self.row(**columns))
        self.limits.append(limit)

    def _inside(self, k, stands):
        space, half = self.task.space, self.task.space.width[1] / 2
        need = [space.touch if face in stands.out else max(space.gap, room)
                for face, room in zip(FACES, stands.room, strict=True)]
        x, y, z, length, height = (f"_{3 * k}", f"_{3 * k + 1}", f"_{3 * k + 2}", f"_{3 * self.count}",
                                   f"_{3 * self.count + 1}")
        self.below(-need[1], **{x: -1, length: -1})
        self.below(-need[0] - stands.size[0], **{x: 1, length: -1})
        self.below(half - need[3], **{y: -1})
        self.below(half - need[2] - stands.size[1], **{y: 1})
        self.below(-need[4] - stands.size[2], **{z: 1, height: -1})
        for face, row in (("back", {x: 1, length: 1}), ("front", {x: -1, length: 1})):
            if face in stands.out:
                self.equal.append(self.row(**row))
                self.equal_to.append(space.touch + (stands.size[0] if face == "front" else 0))
        for face, sign in (("right", 1), ("left", -1)):
            if face in stands.out:
                self.equal.append(self.row(**{y: sign}))
                self.equal_to.append(space.touch - half + (stands.size[1] if face == "left" else 0))
        self.equal.append(self.row(**{z: 1}))
        self.equal_to.append(stands.lift)

    def _apart(self, first, second, axis):
        near, far = self.ways[first].room[HIGH[axis]], self.ways[second].room[LOW[axis]]
        border = max(self.task.boxes[first].border, self.task.boxes[second].border)
        cut, other = self.ways[first].through[HIGH[axis]], self.ways[second].through[LOW[axis]]
        self.below(-self.ways[first].size[axis] - max(border, near, far,
                                                      max(PLUG * near, cut) + max(PLUG * far, other)),
                   **{f"_{3 * first + axis}": 1, f"_{3 * second + axis}": -1})

    def _measures(self):
        mass = [box.mass for box in self.task.boxes]
        for axis in range(3):
            columns = {f"_{3 * k + axis}": m / sum(mass) for k, m in enumerate(mass)}
            offset = sum(m * p.size[axis] / 2 for m, p in zip(mass, self.ways, strict=True)) / sum(mass)
            for sign in (1, -1):
                self.below(-sign * offset, **{name: sign * v for name, v in columns.items()},
                           **{f"_{self.extra + axis}": -1})
        for k, way in enumerate(self.ways):
            for sign in (1, -1):
                self.below(min(self.task.space.carried, 1e4) - sign * way.size[0] / 2,
                           **{f"_{3 * k}": sign, f"_{self.over + k}": -1})

    def least(self, aim):
        """Return the least value of an aim; None where nothing is possible."""
        if aim != "runs":
            return self._least(aim)
        # Of several plugs in a box the nearest counts: whichever that is.
        rows, best = len(self.rows), []
        for picked in product(*(product(*(plug_ends(self.ways[place]) for place in pair)) for pair in self.task.wires)):
            del self.rows[rows:], self.limits[rows:]
            for k, ((one, other), ends) in enumerate(zip(self.task.wires, picked, strict=True)):
                self._wire(k, one, other, *ends)
            if (found := self._least(aim)) is not None:
                best.append(found + sum(long for pair in picked for _, long in pair))
        return min(best, default=None)

    def _wire(self, k, one, other, end, its):
        for axis in (0, 1):
            offset = end[0][axis] - its[0][axis]
            for sign in (1, -1):
                self.below(-sign * offset, **{f"_{3 * one + axis}": sign, f"_{3 * other + axis}": -sign,
                                              f"_{self.wire + 2 * k + axis}": -1})

    def _least(self, aim):
        mass = [box.mass for box in self.task.boxes]
        cost = {"length": self.row(**{f"_{3 * self.count}": 2}), "height": self.row(**{f"_{3 * self.count + 1}": 1}),
                "balance": self.row(**{f"_{self.extra + k}": 1 for k in range(3)},
                                    **{f"_{self.over + k}": m / sum(mass) for k, m in enumerate(mass)}),
                "runs": self.row(**{f"_{k}": 1 for k in range(self.wire, self.width)})}[aim]
        space = self.task.space
        bounds = [(None, None)] * (3 * self.count) + [tuple(v / 2 for v in space.length), space.height]
        bounds = [tuple(None if v in (inf, None) else v for v in bound) for bound in bounds]
        found = linprog(cost, self.rows, self.limits, self.equal, self.equal_to,
                        bounds=bounds + [(0, None)] * (self.width - self.extra))
        self.cost = cost
        return found.fun if found.status == 0 else None

    def hold(self, value):
        self.rows.append(self.cost)
        self.limits.append(value + 1e-7)


def plug_ends(way):
    """Return the middle of every face with a plug, as far out as the plug reaches, from the box's corner, and how far
    that is [mm]; the middle of the box where there is none."""
    x, y, _ = way.size
    middles = {"front": (x, y / 2, 1, 0), "back": (0, y / 2, -1, 0), "left": (x / 2, y, 0, 1),
               "right": (x / 2, 0, 0, -1), "top": (x / 2, y / 2, 0, 0), "bottom": (x / 2, y / 2, 0, 0)}
    longs = {face: PLUG * way.room[FACES.index(face)] for face in way.plugs}
    return [((at + a * longs[face], across + b * longs[face]), longs[face])
            for face, (at, across, a, b) in middles.items() if face in longs] or [((x / 2, y / 2), 0.0)]


def exhaustive(task, aims=("length", "height", "balance", "runs"), reached=()):
    """Return the least of each aim in turn over every choice of orientations and of how each two boxes are apart.

    Each is held, rounded up to the step that it is counted in, while the next is looked for; where `reached`
    has what another found, that is held instead, and the least is not rounded.
    """
    pairs = len(task.boxes) * (len(task.boxes) - 1) // 2
    left = [Programme(task, ways, apart) for ways in product(*(box.orientations for box in task.boxes))
            for apart in product(product((True, False), (0, 1)), repeat=pairs)]
    best = []
    for aim in aims:
        tried = [(value, programme) for programme in left if (value := programme.least(aim)) is not None]
        if not tried:
            return None
        slack = GRID if aim == "balance" else 0.0       # what the grid itself may force on an arrangement
        least = min(value for value, _ in tried)
        held = reached[len(best)] if reached else STEP[aim] * ceil((least - slack) / STEP[aim] - 1e-5)
        best.append(least if reached else held)
        left = [programme for value, programme in tried if value <= held + slack + 1e-6]
        for programme in left:
            programme.hold(held + slack)
    return best


LONG = Box("long", 30, quarter_turns(40, 20, 10, front=10), 3.6)
CUBE = Box("cube", 50, quarter_turns(30, 30, 20, top=5))
BITE = Box("bite", 10, quarter_turns(20, 10, 10, left=5)[:2])
PORT = Box("port", 5, (lying((10, 20, 8), (0, 5, 0, 0, 0, 0), ("front",), lift=1.0),
                       lying((20, 10, 8), (0, 0, 0, 5, 0, 0), ("left",), lift=1.0)))
BOTH = Box("both", 12, (lying((30, 12, 9), (8, 6, 0, 0, 0, 0), plugs=("front", "back")),
                        lying((12, 30, 9), (0, 0, 8, 6, 0, 0), plugs=("left", "right"))))
SMALL = {
    "two in a row": Task((LONG, CUBE), Space((0, 300), (45, 45)), ((0, 1),)),
    "two beside each other": Task((LONG, CUBE), Space((0, 300), (60, 60)), ((0, 1),)),
    "room to spare": Task((LONG, CUBE), Space((120, 120), (45, 45)), ((0, 1),)),
    "one looks out": Task((LONG, PORT), Space((0, 300), (40, 40)), ((0, 1),)),
    "one looks out of a long body": Task((LONG, replace(PORT, orientations=PORT.orientations[:1])),
                                         Space((150, 150), (24, 24))),
    "one has two plugs": Task((BOTH, LONG), Space((0, 300), (45, 45)), ((0, 1),)),
    "one hangs over": Task((LONG, CUBE), Space((140, 140), (34, 34), carried=9.0), ((0, 1),)),
    "three": Task((replace(LONG, orientations=LONG.orientations[:2]), CUBE, BITE), Space((0, 300), (50, 50)),
                  ((0, 1), (1, 2))),
}


TEN = tuple(Box(f"box {k}", mass, quarter_turns(length, width, height, front=room), (1.0, 3.6)[k % 2])
            for k, (length, width, height, mass, room) in enumerate((
                (97, 46, 22, 125, 30), (69, 26, 14, 12, 25), (43, 43, 26, 27, 10), (44, 21, 14, 12, 8),
                (30, 16, 9, 5, 8), (61, 32, 16.5, 56, 6), (32, 14, 8, 4, 0), (25, 25, 12, 6, 8),
                (50.5, 14.5, 14.5, 24, 5), (40, 28, 12, 15, 10))))

NARROW = Task((replace(LONG, orientations=LONG.orientations[:1]), CUBE, BITE), Space((70, 70), (40, 40), (26, 26)))
