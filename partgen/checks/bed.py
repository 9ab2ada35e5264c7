"""Does every part lie on the bed in its print pose, turned on it as suits best."""

from math import cos, pi, sin

from partgen.finding import Finding, judge
from partgen.plan.train import TrainPlan

_TURNS = [k * pi / 2 / 180 for k in range(181)]


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
    flat = min(max(x * cos(a) + y * sin(a) - printer.bed_x, x * sin(a) + y * cos(a) - printer.bed_y)
               for a in _TURNS)
    over, what = max((flat, "longer than the bed"), (z - printer.bed_z, "taller than the printer"))
    return judge("bed", subject, over, 0.0, "max", "mm",
                 f"{x:.0f} x {y:.0f} x {z:.0f} mm is {over:.1f} mm {what} at its best turn: make the wagon smaller "
                 "by as much or choose a larger printer")
