"""Does every part lie on the bed in its print pose, turned on it as suits best."""

from collections.abc import Iterator, Sequence

from partgen.describe.printer_tables import Printer
from partgen.finding import Finding, judge
from partgen.identity import PrintedId
from partgen.packing.nesting import aslant
from partgen.parts import printed_size
from partgen.plan.item import Beside
from partgen.plan.train import TrainPlan
from partgen.plan.wagon import WagonPlan

Size = Sequence[float]      # along x, y, z [mm]


def bed(train: TrainPlan) -> Iterator[Finding]:
    """Hold every part's planned size against the bed; a finding for the worst part of every wagon, of the track, of the
    locomotive."""
    plans: tuple[WagonPlan | Beside, ...] = (*train.asked, *train.beside)
    for plan in (plan for plan in plans if plan.items):
        grown = train.description.printer.grown
        yield min((fit(plan.part_id(item.name), (grown * x, grown * y, z), train.description.printer)
                   for item in plan.items for x, y, z in [printed_size(item)]), key=lambda finding: finding.margin)


def fit(subject: PrintedId, size: Size, printer: Printer) -> Finding:
    """Hold one part of `size` (x, y, z) [mm] in its print pose against the printer's room.

    `value` is what sticks out beyond the bed at the best turn about the vertical [mm]; negative is room left.
    """
    over, what = _excess(size, printer)
    x, y, z = size
    return judge("bed", subject, over, 0.0, "max", "mm", (
        f"{x:.0f} x {y:.0f} x {z:.0f} mm is {over:.1f} mm {what} at its best turn"))


def _excess(size: Size, printer: Printer) -> tuple[float, str]:
    """Return what sticks out [mm] at the best turn about the vertical, negative if nothing does, and in which way."""
    x, y, z = size
    flat, _ = aslant((x, y), (printer.bed_x, printer.bed_y))
    return max((flat, "longer than the bed"), (z - printer.bed_z, "taller than the printer"))
