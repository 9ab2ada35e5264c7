"""The bill of materials: everything bought, with its standard, size and number."""

import csv
from collections.abc import Iterable, Iterator, Sequence
from io import StringIO
from typing import Any

from msgspec.structs import replace

from partgen.parts import fasteners, mounted
from partgen.parts.record import Bought, Fastener
from partgen.plan.pivot import LARGE, WASHER
from partgen.plan.trackside import Trackside
from partgen.plan.train import TrainPlan
from partgen.plan.wagon import WagonPlan

COLUMNS = ("count", "what", "standard", "size", "wagons", "use")
SHELVES = ("wheels", "ballast", "fasteners", "magnets", "electronics", "sheets", "mounts", "glue", "cups")
"""The order of the bill; what is kept elsewhere comes last."""


def bill(train: TrainPlan) -> tuple[Bought, ...]:
    """Return the bill of a whole train, equal things of all wagons on one line."""
    found: dict[tuple[str, str, str], list[tuple[str, Bought]]] = {}
    for plan in train.printed:
        for thing in bought(plan):
            found.setdefault((thing.what, thing.standard, thing.size), []).append((plan.name, thing))
    return tuple(replace(things[0][1], count=sum(thing.count for _, thing in things),
                         wagons=tuple(dict.fromkeys(name for name, _ in things)),
                         use="; ".join(dict.fromkeys(thing.use for _, thing in things))) for things in found.values())


def columns(line: Bought) -> dict[str, Any]:
    """Return a line of the bill as data."""
    return {name: getattr(line, name) for name in COLUMNS}


def bought(plan: WagonPlan | Trackside) -> Iterator[Bought]:
    """Yield everything that one wagon or the track takes besides printed parts, shelf by shelf."""
    things = [thing for part in mounted(plan) for thing in part.bought(plan)]
    things += _fasteners(fasteners(plan))
    yield from sorted(things, key=lambda thing: SHELVES.index(thing.shelf) if thing.shelf in SHELVES else len(SHELVES))


def _fasteners(screws: Sequence[Fastener]) -> Iterator[Bought]:
    """Yield every screw, then their nuts and washers."""
    for one in screws:
        yield Bought("fasteners", 1, "countersunk screw" if one.sunk else "socket head screw",
                     f"{one.screw.name} x {one.length} mm", one.what, one.standard)
    for one in (one for one in screws if one.nut):
        yield Bought("fasteners", 1, "nut", one.screw.name, one.nut, "ISO 4032")
    for one in (one for one in screws if one.washer):
        outer, thick = WASHER[one.screw.name]
        yield Bought("fasteners", 1, "washer", f"{one.screw.name}, {outer:g} x {thick:g} mm", one.washer, LARGE)


def as_csv(lines: Iterable[Bought]) -> str:
    """Return lines of the bill as CSV text (RFC 4180): one heading, one line each."""
    text = StringIO()
    writer = csv.DictWriter(text, COLUMNS)
    writer.writeheader()
    writer.writerows(columns(line) | {"wagons": ", ".join(line.wagons)} for line in lines)
    return text.getvalue()
