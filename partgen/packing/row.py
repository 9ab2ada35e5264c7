"""Boxes in one row, front to back, without a solver: exact where no two of them go beside each other.

A row pushed together is the shortest in its order, so are its wires, and pushed along as a whole it balances
as well as its boxes ever can; so trying every order and every pose is an exact search. Where boxes could
stand beside each other, a row may still be proven best: when it needs no more than any arrangement must.
"""

from itertools import permutations, product
from math import factorial, prod

from msgspec import Struct

from partgen.packing import measure
from partgen.packing.box import NoRoom, Packed, Task
from partgen.packing.floor import on_floor
from partgen.packing.grid import AXES, Grid, Stand, grid_of, need
from partgen.packing.measure import Put

AIMS = ("length", "height", "balance", "runs")
MOST_TRIED = 7_000      # rows: a fraction of a second


class Row(Struct, frozen=True):
    """A row of boxes: what it needs in units of each of AIMS, and what it would at least if each box could
    stand on the centre line and between two grid lines."""

    puts: tuple[Put, ...]
    needs: tuple[int, ...]
    ideal: tuple[int, ...]


def in_a_row(task: Task) -> Packed | NoRoom | None:
    """Return the best arrangement where it is provably a row, and None where it has to be searched for."""
    grid = grid_of(task)
    if not _plain(task, grid):
        return None
    only_rows = not _beside(grid) and not (task.levels > 1 and any(box.climbs for box in task.boxes))
    rows = list(_rows(task, grid))
    if not rows:
        return NoRoom(proven=True) if only_rows else None
    asked = len([name for name in task.aims if name != "width"])
    # What the floor asks only makes rows worse, so the least of all rows bounds those that it leaves.
    left = [row for row in rows if on_floor(task, row.puts, row.needs[0])]
    if not left:
        return None
    best = min(left, key=lambda row: row.needs)
    least = min(row.ideal for row in rows) if only_rows else _least(task, grid)
    if best.needs[:asked] != least[:asked]:
        return None
    half = (best.needs[0], grid.width[1])
    reached = {**dict(zip(AIMS, best.needs)), "width": grid.width[1]}
    return measure.packed(grid, best.puts, half, best.needs[1],
                          [(name, reached[name], reached[name]) for name in task.aims])


def _plain(task: Task, grid: Grid) -> bool:
    """Is the task one that rows can answer, with few enough of them?"""
    stands = [stand for stands in grid.stands for stand in stands]
    ends = [face for face in AXES[0] if any(stand.fixed[face] for stand in stands)]
    # In a body longer than the row, what does not look out at an end moves away from what does.
    torn = len(ends) == 2 or ends and grid.length[0] > 0
    named = tuple(name for name in task.aims if name != "width")
    return (named == AIMS[:len(named)] and grid.width[0] == grid.width[1] and not torn
            and factorial(len(task.boxes)) * prod(map(len, grid.stands)) <= MOST_TRIED)


def _least(task: Task, grid: Grid) -> tuple[int, ...]:
    """Return what no arrangement at all can beat, for each of AIMS."""
    alone = max(min(stand.wall[0] + stand.size[0] + stand.wall[1] for stand in stands) for stands in grid.stands)
    return (max(grid.length[0], -(-alone // 2)), measure.least_height(grid), measure.least_balance(grid),
            measure.least_runs(task, grid))


def _beside(grid: Grid) -> bool:
    """Could any two boxes stand beside each other?"""
    low, high = AXES[1]
    return any(a.wall[low] + a.size[1] + need(grid, one, a, other, b, 1) + b.size[1] + b.wall[high]
               <= 2 * grid.width[1]
               for one, other in permutations(range(len(grid.stands)), 2)
               for a in grid.stands[one] for b in grid.stands[other])


def _rows(task: Task, grid: Grid):
    """Yield every row that the space has room for."""
    across = [[(stand, y) for stand in stands if (y := _across(grid, stand)) is not None] for stands in grid.stands]
    for order in permutations(range(len(task.boxes))):
        for chosen in product(*across):
            row = _row(task, grid, order, chosen)
            if row is not None:
                yield row


def _across(grid: Grid, stand: Stand) -> int | None:
    """Return the y nearest to the centre line where `stand` has its room beside it, None where it has none."""
    low, high = -grid.width[1] + stand.wall[3], grid.width[1] - stand.wall[2] - stand.size[1]
    if low > high or stand.lift + stand.size[2] + stand.wall[4] > grid.height[1]:
        return None
    at_wall = {stand.fixed[3]: low, stand.fixed[2]: high}
    return at_wall[True] if True in at_wall else min(max(-(stand.size[1] // 2), low), high)


def _row(task: Task, grid: Grid, order, chosen) -> Row | None:
    """Return the row of boxes in `order` from the rear, each as `chosen`; None where there is no room for it."""
    starts, end = {}, 0
    for k, place in enumerate(order):
        stand = chosen[place][0]
        end += need(grid, order[k - 1], chosen[order[k - 1]][0], place, stand, 0) if k else stand.wall[1]
        starts[place], end = end, end + stand.size[0]
    if any(chosen[place][0].fixed[1] for place in order[1:]) or any(chosen[place][0].fixed[0] for place in order[:-1]):
        return None
    end += chosen[order[-1]][0].wall[0]
    half = max(grid.length[0], -(-end // 2))
    if half > grid.length[1]:
        return None
    shift = _shift(grid, order, chosen, starts, half, 2 * half - end)
    puts = tuple(Put(stand, (starts[place] + shift, y, stand.lift)) for place, (stand, y) in enumerate(chosen))
    needs = (half, measure.height(grid, puts), measure.balance(grid, puts), measure.runs(task, puts))
    return Row(puts, needs, (*needs[:2], *_ideal(task, grid, puts)))


def _ideal(task: Task, grid: Grid, puts) -> tuple[int, int]:
    """Return balance and runs of a row whose boxes all stand on the centre line, a line nearer the middle."""
    along, upward = (abs(measure.moment(grid, puts, axis)) for axis in (0, 2))
    moment = max(along - measure.free_moment(grid), 0) + upward
    return measure.balance_steps(grid, moment), measure.runs(task, puts, axes=(0,))


def _shift(grid: Grid, order, chosen, starts, half: int, slack: int) -> int:
    """Return how far to move the row from where it starts, at the rear wall, so that it balances best."""
    if chosen[order[0]][0].fixed[1]:
        return -half
    if chosen[order[-1]][0].fixed[0]:
        return slack - half
    moment = sum(grid.mass[place] * (2 * (start - half) + chosen[place][0].size[0])
                 for place, start in starts.items())
    return min(max(round(-moment / (2 * sum(grid.mass))), 0), slack) - half
