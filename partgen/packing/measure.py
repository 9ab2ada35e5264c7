"""What an arrangement on the grid amounts to: the space it needs, its balance and its runs of wire."""

from msgspec import Struct

from partgen.packing.box import Packed, Spot, Task
from partgen.packing.grid import LINES, UPWARD, Grid, Stand, need

BALANCE, RUN = 10, 20   # grid lines a step: half a millimetre off balance, a millimetre of wire
STEP = {"length": 2, "width": 2, "height": 1, "balance": BALANCE, "runs": RUN, "station": 0.5}
"""Grid lines in one unit of each aim; length and width are counted in halves."""


class Put(Struct, frozen=True):
    """A box put down: its stand, its low corner, and the place of the box that carries it."""

    stand: Stand
    at: tuple[int, int, int]
    on: int | None = None

    def twice_middle(self, axis: int) -> int:
        """Return twice the middle along `axis`."""
        return 2 * self.at[axis] + self.stand.size[axis]


def height(grid: Grid, puts) -> int:
    """Return the height that the boxes need, at least the space's least."""
    return max(grid.height[0], *(put.at[UPWARD] + put.stand.size[UPWARD] + put.stand.wall[4] for put in puts))


def least_height(grid: Grid) -> int:
    """Return the height below which some box has no place at all."""
    return max(grid.height[0], *(min(stand.lift + stand.size[UPWARD] + stand.wall[4] for stand in stands)
                                 for stands in grid.stands))


def balance(grid: Grid, puts) -> int:
    """Return how far the centre of gravity is from the floor's middle, x, y and z added, in steps."""
    return balance_steps(grid, sum(abs(moment(grid, puts, axis)) for axis in range(3)))


def balance_steps(grid: Grid, moments: int) -> int:
    """Return the steps off balance, rounded up, that twice the moments come to; a grid line off is none."""
    return max(-(-(moments - free_moment(grid)) // unit_moment(grid)), 0)


def free_moment(grid: Grid) -> int:
    """Return twice the moment of being a grid line off balance: what the grid itself may force on an arrangement."""
    return 2 * sum(grid.mass)


def moment(grid: Grid, puts, axis: int) -> int:
    """Return twice the boxes' moment along `axis`."""
    return sum(mass * put.twice_middle(axis) for mass, put in zip(grid.mass, puts))


def least_balance(grid: Grid) -> int:
    """Return what `balance` comes to when every box lies as low as it can and all balance along x and y."""
    lowest = sum(mass * min(2 * stand.lift + stand.size[UPWARD] for stand in stands)
                 for mass, stands in zip(grid.mass, grid.stands))
    return balance_steps(grid, lowest)


def unit_moment(grid: Grid) -> int:
    """Return twice the moment that puts the centre of gravity off by one step."""
    return 2 * sum(grid.mass) * BALANCE


def runs(task: Task, puts, axes=(0, 1)) -> int:
    """Return the length of all wires from middle to middle along `axes`, in steps rounded up."""
    twice = sum(abs(puts[one].twice_middle(axis) - puts[other].twice_middle(axis))
                for one, other in task.wires for axis in axes)
    return -(-twice // (2 * RUN))


def least_runs(task: Task, grid: Grid) -> int:
    """Return what the wires come to when every connected pair stands as close as its sizes allow."""
    if task.levels > 1:
        return 0
    twice = sum(min(a.size[axis] + b.size[axis] + 2 * need(grid, first, a, second, b, axis)
                    for axis in (0, 1) for first, second in ((one, other), (other, one))
                    for a in grid.stands[first] for b in grid.stands[second])
                for one, other in task.wires)
    return -(-twice // (2 * RUN))


def packed(grid: Grid, puts, half, high: int, aims) -> Packed:
    """Return the arrangement in millimetres; `aims` holds (name, reached, bound) in units of each aim."""
    spots = tuple(Spot(put.stand.pose, *(at / LINES for at in put.at), put.on) for put in puts)
    return Packed(spots, 2 * half[0] / LINES, 2 * half[1] / LINES, high / LINES,
                  tuple((name, *(value * STEP[name] / LINES for value in values)) for name, *values in aims))
