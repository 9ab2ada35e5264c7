"""The bill of materials: everything bought, with its standard, size and number, and the tools to have at hand."""

import csv
import re
from collections.abc import Iterable, Iterator, Sequence
from io import StringIO
from math import ceil
from typing import Any

from msgspec.structs import replace

from partgen.identity import LOCOMOTIVE
from partgen.paper import running
from partgen.paper.assembly import steps
from partgen.paper.filaments import filament_for
from partgen.paper.wiring import cut_list
from partgen.parts import mounted, record_of
from partgen.parts.record import Bought
from partgen.plan.fasteners import Fastener, fasteners
from partgen.plan.item import Beside
from partgen.plan.pivot import LARGE, WASHER
from partgen.plan.printed import printed_mass
from partgen.plan.train import TrainPlan
from partgen.plan.wagon import WagonPlan

COLUMNS = ("count", "what", "standard", "size", "wagons", "use")
TOOLS = "tools"
SHELVES = ("wheels", "ballast", "fasteners", "magnets", "electronics", "sheets", "mounts", "glue", "filament", "cups",
           TOOLS)
"""The order of the bill; what is kept elsewhere comes last."""
NUMBER = re.compile(r"[+-]?\d+([.,]\d+)?")
FORMULA = re.compile("(^|[,;|\t\r\n\"'])(?= *[=+@\t\r\n\uff1d\uff0b\uff0d\uff20-])")
"""Where a cell begins, also for a program that parts cells by another sign, that would be taken for a formula."""


def bill(train: TrainPlan) -> tuple[Bought, ...]:
    """Return the bill of a whole train, equal things of all wagons on one line; tools, each once, at its end."""
    found: dict[tuple[str, str, str, bool], list[tuple[str, Bought]]] = {}
    lists = [*((plan.name, bought(plan)) for plan in train.printed), (LOCOMOTIVE, running.bought(train)),
             *((wagon, iter([thing])) for wagon, thing in cut_list(train))]
    for name, things in lists:
        for thing in things:
            found.setdefault((thing.what, thing.standard, thing.size, bool(thing.cargo)), []).append((name, thing))
    lines = (replace(several[0][1], count=sum(thing.count for _, thing in several),
                     cargo=tuple(who for _, thing in several for who in thing.cargo),
                     wagons=tuple(dict.fromkeys(name for name, _ in several)),
                     use="; ".join(dict.fromkeys(thing.use for _, thing in several))) for several in found.values())
    return (*lines, *_filament(train), *(Bought(TOOLS, 1, tool, "", "to have at hand") for tool in tools(train)))


def _filament(train: TrainPlan) -> Iterator[Bought]:
    """Yield the filament that all parts take, by colour: whole plates, without what a slicing program adds."""
    printer, grams = train.description.printer, dict[str, float]()
    for item in (item for plan in train.printed for item in plan.items):
        colour = filament_for(record_of(item.part).colour, printer.spools)
        grams[colour] = grams.get(colour, 0.0) + printed_mass(item.plan, printer) * item.count
    for colour, mass in grams.items():
        yield Bought("filament", 1, f"{printer.material} filament, {colour.replace('-', ' ')} or as you like",
                     f"about {ceil(mass / 10) * 10} g", "all printed parts of that colour",
                     wagons=tuple(plan.name for plan in train.printed))


def tools(train: TrainPlan) -> tuple[str, ...]:
    """Return every tool once: keys for the screws by size, then what the steps name, as they come; one thing or another
    only where neither is there anyway."""
    told = steps(train)
    keys = sorted({screw.key for step in told for screw in step.screws})
    named = dict.fromkeys((*keys, *(tool for step in told for tool in step.tools)))
    return tuple(tool for tool in named if not any(one in named for one in tool.split(" or ") if one != tool))


def columns(line: Bought) -> dict[str, Any]:
    """Return a line of the bill as data."""
    return {name: getattr(line, name) for name in COLUMNS}


def bought(plan: WagonPlan | Beside) -> Iterator[Bought]:
    """Yield everything that one wagon or the track takes besides printed parts, shelf by shelf."""
    things = [thing for part in mounted(plan) for thing in part.bought(plan)]
    things += _fasteners(fasteners(plan))
    yield from sorted(things, key=lambda thing: SHELVES.index(thing.shelf) if thing.shelf in SHELVES else len(SHELVES))


def _fasteners(screws: Sequence[Fastener]) -> Iterator[Bought]:
    """Yield every screw, then their nuts and washers."""
    for one in screws:
        yield Bought("fasteners", 1, one.called, one.size, one.what, one.standard)
    for one in (one for one in screws if one.nut):
        yield Bought("fasteners", 1, "nut", one.screw.name, one.nut, "ISO 4032")
    for one in (one for one in screws if one.washer):
        outer, thick = WASHER[one.screw.name]
        yield Bought("fasteners", 1, "washer", f"{one.screw.name}, {outer:g} x {thick:g} mm", one.washer,
                     LARGE if one.screw.thread >= 3 else "")


def as_csv(lines: Iterable[Bought]) -> str:
    """Return lines of the bill as CSV text (RFC 4180): one heading, one line each; no cell is a formula."""
    text = StringIO()
    writer = csv.DictWriter(text, COLUMNS, quoting=csv.QUOTE_NONNUMERIC)
    writer.writeheader()
    for line in lines:
        row = columns(line) | {"wagons": ", ".join(line.wagons)}
        writer.writerow({name: _cell(value) if isinstance(value, str) else value for name, value in row.items()})
    return text.getvalue()


def _cell(text: str) -> str:
    """Return a cell's text, with an apostrophe before what a spreadsheet would take for a formula and run, whichever
    sign it parts cells by; a plain number stays. (OWASP, "CSV Injection".)"""
    return text if NUMBER.fullmatch(text) else FORMULA.sub(r"\1'", text)
