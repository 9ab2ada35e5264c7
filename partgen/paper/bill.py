"""The bill of materials: everything bought, with its standard, size and number."""

import csv
from collections.abc import Iterator
from io import StringIO

from msgspec import Struct

from partgen.plan.body.light_strip import THICK, WIDE
from partgen.plan.body.pane import PANE
from partgen.plan.hardware import SCREWS
from partgen.plan.pivot import WASHER
from partgen.plan.screws import fasteners
from partgen.plan.train import TrainPlan
from partgen.plan.wagon import WagonPlan

COLUMNS = ("count", "what", "standard", "size", "wagons", "use")


class Line(Struct, frozen=True):
    """One line of the bill: how many of what, by which standard and size, for which wagons, and what for."""

    count: int
    what: str
    standard: str
    size: str
    wagons: tuple[str, ...]
    use: str

    def record(self) -> dict:
        """Return the line as data."""
        return {name: getattr(self, name) for name in COLUMNS[:4]} | {"wagons": list(self.wagons), "use": self.use}


def bill(train: TrainPlan) -> tuple[Line, ...]:
    """Return the bill of a whole train, equal things of all wagons on one line."""
    found: dict[tuple, list] = {}
    for plan in train.wagons:
        for count, what, standard, size, use in bought(plan):
            found.setdefault((what, standard, size), []).append((count, plan.name, use))
    return tuple(_line(kind, entries) for kind, entries in found.items())


def _line(kind, entries) -> Line:
    counts, wagons, uses = zip(*entries)
    return Line(sum(counts), *kind, tuple(dict.fromkeys(wagons)), "; ".join(dict.fromkeys(uses)))


def bought(plan: WagonPlan) -> Iterator[tuple[int, str, str, str, str]]:
    """Yield (count, what, standard, size, use) of everything that one wagon takes besides printed parts."""
    yield from _wheels(plan)
    yield from _screws(plan)
    coupler, bars = plan.coupler, [item for item in plan.items if item.part == "coupler"]
    yield (sum(item.count * len(item.plan.pockets) for item in bars), "disc magnet, axially magnetised", "",
           f"{coupler.magnet_diameter:g} x {coupler.magnet_length:g} mm, {coupler.remanence:g} T",
           "drawbars: poles as marked, a drop of glue")
    for placed in plan.layout.placed:
        module = placed.module
        use = "inside; protected and as bought, never bare cells" if module.battery else "inside"
        yield 1, module.label, "", f"{module.length:g} x {module.width:g} x {module.height:g} mm", use
    for pane in plan.lid.panes if plan.lid else ():
        yield (1, "pane of clear sheet", "", f"{pane.sheet.length:g} x {pane.sheet.width:g} x {PANE:g} mm",
               f"glued under the lid's window over {', '.join(pane.names)}")
    if plan.lid and plan.lid.strip:
        yield (2, "light strip, low voltage", "", f"{WIDE:g} x {THICK:g} mm, {plan.lid.strip.strip:g} mm long",
               "under the lid's eaves, cut at the mark next below")
    for _, cup in plan.cups:
        yield 1, cup.label, "", f"{cup.widest:g} mm wide, {cup.height:g} mm tall", "on top"


def _wheels(plan):
    wheels, count = plan.wheelset, len(plan.axles)
    yield (count, "wheelset", "", f"tread {wheels.tread_diameter:g}, flange {wheels.flange_diameter:g}, back to back "
           f"{wheels.back_to_back:g}, axle {wheels.axle_diameter:g} mm", "snaps into its holder")
    if wheels.ends == "tube":
        wide = (plan.bogie or plan.gear.holder).width
        yield (count, "metal tube", "", f"{wheels.tube_diameter:g} mm outside, over a {wheels.axle_diameter:g} mm axle, "
               f"{wide:.0f} mm long", "over each axle")


def _screws(plan):
    """Yield screws by kind and length, then their nuts and washers."""
    screw, all_of = SCREWS[plan.wagon.screw], fasteners(plan)
    kinds: dict[tuple, list] = {}
    for one in all_of:
        cut = "" if one.long_enough else f", cut to {one.room:.1f} mm"
        head = "countersunk screw" if one.sunk else "socket head screw"
        kinds.setdefault((head, one.standard, f"{screw.name} x {one.length} mm{cut}", one.what), []).append(one)
    for kind, alike in kinds.items():
        yield len(alike), *kind
    nuts, washers = (sum(getattr(one, name) for one in all_of) for name in ("nut", "washer"))
    if nuts:
        yield nuts, "nut", "ISO 4032", screw.name, "in the clamp bars"
    outer, thick = WASHER[screw.name]
    yield washers, "washer", "ISO 7089", f"{screw.name}, {outer:g} x {thick:g} mm", "under the heads at the pivots"


def as_csv(lines) -> str:
    """Return lines of the bill as CSV text (RFC 4180): one heading, one line each."""
    text = StringIO()
    writer = csv.writer(text)
    writer.writerow(COLUMNS)
    for line in lines:
        writer.writerow([line.count, line.what, line.standard, line.size, ", ".join(line.wagons), line.use])
    return text.getvalue()
