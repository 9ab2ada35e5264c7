"""The nameplates on the wagons' sides: lettered large enough to print and be read."""

from collections.abc import Iterator

from partgen.describe.printer_tables import Printer
from partgen.finding import Finding, down, judge, up
from partgen.plan.body.body import BodyPlan
from partgen.plan.body.nameplate import SHALLOWEST, Nameplate, largest, least, tablet
from partgen.plan.train import TrainPlan


def name_plate(train: TrainPlan) -> Iterator[Finding]:
    """Hold the height of every plate's capitals against what two printed lines a stroke and open letters take.

    Where the wall is too thin to sink letters into, its spare thickness is held against their least relief.
    """
    printer = train.description.printer
    for plan in train.wagons:
        plate = plan.body.nameplate
        if plate and plate.depth < SHALLOWEST - 1e-9:
            yield judge("name-plate", plan.who, plate.depth, SHALLOWEST, "min", "mm", _thin(plan.body, plate.depth))
        elif plate:
            yield judge("name-plate", plan.who, plate.letter, plate.least, "min", "mm", _cramped(plate, printer))


def _thin(body: BodyPlan, depth: float) -> str:
    wall = body.wall - body.flute
    more = f"set wall = {up(body.wall + SHALLOWEST - depth, 2)} mm, or " if not body.flute else ""
    return (f"a wall of {wall:.2f} mm leaves {max(depth, 0.0):.2f} mm over two printed lines to sink letters into: "
            f"{more}print with lines of {down((wall - SHALLOWEST) / 2, 2)} mm, or leave plate out")


def _cramped(plate: Nameplate, printer: Printer) -> str:
    length, height = (unit * plate.least + 2 * plate.frame for unit in tablet(plate.text))
    cures = [*_shorter(plate, printer), *_larger(plate, length, height)]
    cure = ", or ".join(cures) or f"leave {length:.0f} x {height:.0f} mm of wall free, or no plate"
    return (f"{plate.text} is legible from {up(plate.least, 2)} mm on, and {plate.letter:.2f} mm is what the side "
            f"walls have room for: {cure}")


def _shorter(plate: Nameplate, printer: Printer) -> Iterator[str]:
    """Yield the longest beginning of the text that has room."""
    for count in range(len(plate.text) - 1, 0, -1):
        start = plate.text[:count].rstrip()
        need = least(start, printer.thinnest_wall)
        if all(largest(start, free, plate.frame, need) > need - 1e-9 for free in plate.rooms):
            yield f"shorten it to {len(start)} characters, as {start}"
            return


def _larger(plate: Nameplate, length: float, height: float) -> Iterator[str]:
    """Yield by how much a longer or a higher body makes room; only what grows with the body counts."""
    every = [room for free in plate.rooms for room in free]
    if not every:
        return
    start, end = min(x for (x, _), _ in every), max(x for (_, x), _ in every)
    top = max(z for _, (_, z) in every)
    longer, higher = [], []
    for free in plate.rooms:
        longer.append(min((2 * (length - x1 + x0) / ((x0 == start) + (x1 == end)) for (x0, x1), (z0, z1) in free
                           if z1 - z0 >= height - 1e-6 and (x0 == start or x1 == end)), default=None))
        higher.append(min((height - z1 + z0 for (x0, x1), (z0, z1) in free
                           if x1 - x0 >= length - 1e-6 and z1 == top), default=None))
    for word, lacks in (("longer", longer), ("higher", higher)):
        known = [lack for lack in lacks if lack is not None]
        if len(known) == len(lacks) and max(known) > 0:
            yield f"make the body {up(max(known))} mm {word}"
