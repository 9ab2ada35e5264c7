"""Does every part lie on the bed in its print pose, turned on it as suits best."""

from math import cos, pi, sin

from partgen.finding import Finding, judge
from partgen.plan.train import TrainPlan

_STEPS = 60


def on_paper(train: TrainPlan):
    """Hold every part's planned size against the bed; one finding a wagon, for the part that is worst."""
    for plan in train.wagons:
        yield min((fit(f"{plan.name}/{item.name}", item.printed_size, train.description.printer)
                   for item in plan.items), key=lambda finding: finding.margin)


def fit(subject: str, size, printer) -> Finding:
    """Hold one part of `size` (x, y, z) [mm] in its print pose against the printer's room.

    `value` is what sticks out beyond the bed at the best turn about the vertical [mm]; negative is room left.
    """
    x, y, z = size
    flat = _least(lambda a: max(x * cos(a) + y * sin(a) - printer.bed_x, x * sin(a) + y * cos(a) - printer.bed_y))
    over, what = max((flat, "longer than the bed"), (z - printer.bed_z, "taller than the printer"))
    return judge("bed", subject, over, 0.0, "max", "mm",
                 f"{x:.0f} x {y:.0f} x {z:.0f} mm is {over:.1f} mm {what} at its best turn: make the wagon smaller "
                 "by as much or choose a larger printer")


def _least(excess) -> float:
    """Return the least of `excess` over a quarter turn: sampled, then twice more round the best sample."""
    middle, half = pi / 4, pi / 4
    for _ in range(3):
        turns = [min(max(middle + half * (2 * k / _STEPS - 1), 0.0), pi / 2) for k in range(_STEPS + 1)]
        middle, half = min(turns, key=excess), 2 * half / _STEPS
    return excess(middle)
