"""Boxes and space in whole grid lines, so that every sum and comparison is exact.

Sizes round up and limits round down: what is packed on the grid fits in millimetres.
"""

from math import ceil, floor

from msgspec import Struct

from partgen.packing.box import FACES, HARD, Pose, Space, Task

LINES = 20              # a mm
FAR = 2000 * LINES      # beyond every body
AXES = ((1, 0), (3, 2), (5, 4))     # of FACES along x, y, z: the one at the low end, the one at the high end
UPWARD = 2


class Stand(Struct, frozen=True):
    """A pose in grid lines: `wall` is what each face wants from wall, floor or lid, `room` from a neighbour's
    face, `hard` how much of that is plug."""

    pose: Pose
    size: tuple[int, ...]
    room: tuple[int, ...]
    hard: tuple[int, ...]
    wall: tuple[int, ...]
    fixed: tuple[bool, ...]     # faces that stand at their wall, no nearer and no farther
    lift: int
    under: bool                 # may anything stand above it?
    floor: bool                 # must it stand on the floor?


class Grid(Struct, frozen=True):
    """A task in grid lines; `length` and `width` are halves, from the middle to the wall."""

    stands: tuple[tuple[Stand, ...], ...]
    border: tuple[int, ...]
    mass: tuple[int, ...]       # in tenths of a gram, so that light boxes count too
    length: tuple[int, int]
    width: tuple[int, int]
    height: tuple[int, int]
    layer: int


def up(value: float) -> int:
    """Return the first grid line at or after `value` [mm], which may be infinite."""
    return ceil(min(max(value * LINES, -FAR), FAR) - 1e-6)


def down(value: float) -> int:
    """Return the last grid line at or before `value` [mm], which may be infinite."""
    return floor(min(max(value * LINES, -FAR), FAR) + 1e-6)


def grid_of(task: Task) -> Grid:
    """Return `task` on the grid; poses that ask the same of everything count once."""
    space = task.space
    return Grid(
        stands=tuple(_distinct(box, space) for box in task.boxes),
        border=tuple(up(box.border) for box in task.boxes),
        mass=tuple(max(1, round(10 * box.mass)) for box in task.boxes),
        length=_halves(space.length), width=_halves(space.width),
        height=(up(space.height[0]), down(space.height[1])), layer=up(space.layer))


def need(grid: Grid, one: int, stand: Stand, other: int, beyond: Stand, axis: int) -> int:
    """Return the least free distance from box `one` to box `other` that follows it along `axis`."""
    low, high = AXES[axis]
    return max(border(grid, one, other, axis), stand.room[high], beyond.room[low],
               stand.hard[high] + beyond.hard[low])


def border(grid: Grid, one: int, other: int, axis: int) -> int:
    """Return the least free distance of two boxes whose faces need no room."""
    return grid.layer if axis == UPWARD else max(grid.border[one], grid.border[other])


def _halves(limits):
    """Return half the least and half the largest size; one that is fixed rounds down, like every limit."""
    most = down(limits[1] / 2)
    return (most if limits[0] == limits[1] else up(limits[0] / 2), most)


def _distinct(box, space: Space):
    found = {}
    for pose in box.poses:
        stand = _stand(pose, space)
        asks = (stand.size, stand.room, stand.wall, stand.fixed, stand.lift, stand.under, stand.floor, pose.window, pose.feet)
        found.setdefault(asks, stand)
    return tuple(found.values())


def _stand(pose: Pose, space: Space) -> Stand:
    fixed = tuple(face in pose.out and face in FACES[:4] for face in FACES)
    wall = tuple(up(space.touch) if at_wall else up(max(space.gap, room, rim))
                 for at_wall, room, rim in zip(fixed, pose.room, pose.from_wall(space.rim)))
    return Stand(pose=pose, size=tuple(map(up, pose.size)), room=tuple(map(up, pose.room)),
                 hard=tuple(up(HARD * room) for room in pose.room), wall=wall, fixed=fixed,
                 lift=up(pose.lift), under="top" not in pose.out,
                 floor="bottom" in pose.out or pose.window is not None)
