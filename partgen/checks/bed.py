"""Does every part lie on the bed in its print pose, turned on it as suits best."""

from collections.abc import Iterable, Iterator, Sequence
from itertools import permutations
from math import ceil

from partgen.describe.printer_tables import Printer
from partgen.dynamics.search import largest
from partgen.finding import Finding, down, judge, up
from partgen.identity import PrintedId
from partgen.packing.nesting import aslant
from partgen.parts import printed_size
from partgen.plan.trackside import Trackside
from partgen.plan.train import TrainPlan
from partgen.plan.wagon import WagonPlan

Size = Sequence[float]      # along x, y, z [mm]

MOST_PIECES = 6         # that it is worth splitting a part into
FINE = 100              # steps to a mm


def bed(train: TrainPlan) -> Iterator[Finding]:
    """Hold every part's planned size against the bed; a finding for the worst part of every wagon and of the track."""
    plans: tuple[WagonPlan | Trackside, ...] = (*train.asked, train.trackside)
    for plan in (plan for plan in plans if plan.items):
        yield min((fit(plan.part_id(item.name), printed_size(item), train.description.printer)
                   for item in plan.items), key=lambda finding: finding.margin)


def fit(subject: PrintedId, size: Size, printer: Printer) -> Finding:
    """Hold one part of `size` (x, y, z) [mm] in its print pose against the printer's room.

    `value` is what sticks out beyond the bed at the best turn about the vertical [mm]; negative is room left.
    """
    over, what = _excess(size, printer)
    x, y, z = size
    return judge("bed", subject, over, 0.0, "max", "mm", lambda: (
        f"{x:.0f} x {y:.0f} x {z:.0f} mm is {over:.1f} mm {what} at its best turn: {_cure(size, printer, over)}"))


def _excess(size: Size, printer: Printer) -> tuple[float, str]:
    """Return what sticks out [mm] at the best turn about the vertical, negative if nothing does, and in which way."""
    x, y, z = size
    flat, _ = aslant((x, y), (printer.bed_x, printer.bed_y))
    return max((flat, "longer than the bed"), (z - printer.bed_z, "taller than the printer"))


def _cure(size: Size, printer: Printer, over: float) -> str:
    """Return what would make a part too big fit: laid on another side, split, shortened, in this order."""
    lying = next((turned for turned in permutations(size) if _excess(turned, printer)[0] <= 0), None)
    if lying:
        x, y, z = lying
        return f"laid on another side it fits, {x:.0f} x {y:.0f} mm on the bed and {z:.0f} mm tall"
    long, *others = sorted(size, reverse=True)
    fits = _longest(long, others, printer)
    if fits < long / MOST_PIECES:
        return f"make it {over:.1f} mm smaller, or choose a larger printer"
    count = ceil(long / fits)
    return (f"split it at a dovetail into {count} pieces of {up(long / count)} mm, shorten its {long:.0f} mm "
            f"to {down(fits)} mm, or choose a larger printer")


def _longest(long: float, others: Iterable[float], printer: Printer) -> float:
    """Return how much [mm] of a part's longest side fits, however it lies; 0 where the other two do not."""
    steps = largest(0, ceil(FINE * long), lambda step: any(
        _excess(turned, printer)[0] <= 0 for turned in permutations((step / FINE, *others))))
    return (steps or 0) / FINE
