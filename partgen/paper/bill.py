"""The bill of materials: everything bought, with its standard, size and number."""

import csv
from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from io import StringIO
from typing import Any

from msgspec import Struct
from msgspec.structs import replace

from partgen.parts import fasteners, mounted
from partgen.parts.record import Bought, Fastener
from partgen.plan.pivot import WASHER
from partgen.plan.train import TrainPlan
from partgen.plan.wagon import WagonPlan

COLUMNS = ("count", "what", "standard", "size", "wagons", "use")
SHELVES = ("wheels", "fasteners", "magnets", "electronics", "sheets", "cups")
"""The order of the bill; what is kept elsewhere comes last."""


class Line(Struct, frozen=True):
    """One line of the bill: how many of what, by which standard and size, for which wagons, and what for."""

    count: int
    what: str
    standard: str
    size: str
    wagons: tuple[str, ...]
    use: str

    def record(self) -> dict[str, Any]:
        """Return the line as data."""
        return {name: getattr(self, name) for name in COLUMNS[:4]} | {"wagons": list(self.wagons), "use": self.use}


def bill(train: TrainPlan) -> tuple[Line, ...]:
    """Return the bill of a whole train, equal things of all wagons on one line."""
    found: dict[tuple[str, str, str], list[tuple[WagonPlan, Bought]]] = {}
    for plan in train.wagons:
        for thing in bought(plan):
            found.setdefault((thing.what, thing.standard, thing.size), []).append((plan, thing))
    return tuple(Line(sum(thing.count for _, thing in things), *kind,
                      tuple(dict.fromkeys(plan.name for plan, _ in things)),
                      "; ".join(dict.fromkeys(thing.use for _, thing in things))) for kind, things in found.items())


def bought(plan: WagonPlan) -> Iterator[Bought]:
    """Yield everything that one wagon takes besides printed parts, shelf by shelf."""
    things = [thing for part in mounted(plan) for thing in part.bought(plan)]
    things += _fasteners(fasteners(plan))
    yield from sorted(things, key=lambda thing: SHELVES.index(thing.shelf) if thing.shelf in SHELVES else len(SHELVES))


def _fasteners(screws: Sequence[Fastener]) -> Iterator[Bought]:
    """Yield screws by kind and length, then their nuts and washers."""
    for screw, count in Counter(map(_kind, screws)).items():
        yield replace(screw, count=count)
    for (thread, use), count in Counter((one.screw.name, one.nut) for one in screws if one.nut).items():
        yield Bought("fasteners", count, "nut", thread, use, "ISO 4032")
    for (thread, use), count in Counter((one.screw.name, one.washer) for one in screws if one.washer).items():
        outer, thick = WASHER[thread]
        yield Bought("fasteners", count, "washer", f"{thread}, {outer:g} x {thick:g} mm", use, "ISO 7089")


def _kind(one: Fastener) -> Bought:
    """Return a screw as one thing to buy."""
    cut = "" if one.long_enough else f", cut to {one.room:.1f} mm"
    return Bought("fasteners", 1, "countersunk screw" if one.sunk else "socket head screw",
                  f"{one.screw.name} x {one.length} mm{cut}", one.what, one.standard)


def as_csv(lines: Iterable[Line]) -> str:
    """Return lines of the bill as CSV text (RFC 4180): one heading, one line each."""
    text = StringIO()
    writer = csv.writer(text)
    writer.writerow(COLUMNS)
    for line in lines:
        writer.writerow([line.count, line.what, line.standard, line.size, ", ".join(line.wagons), line.use])
    return text.getvalue()
