"""The report: one page that a browser opens from disk, without network or scripts."""

from collections.abc import Mapping, Sequence
from typing import Any

from jinja2 import Environment, PackageLoader

from partgen import __version__
from partgen.checks.hangs import listed
from partgen.describe.description import Description
from partgen.dynamics.load_states import notable
from partgen.dynamics.ride import RidePlan
from partgen.finding import Finding, figure
from partgen.paper.assembly import told
from partgen.paper.cautions import cautions
from partgen.paper.filenames import step_stem
from partgen.parts.record import Bought, Step
from partgen.printing.pose import Advice
from partgen.solids.built import Built

Record = Mapping[str, Any]


def page(built: Built, ride: RidePlan, findings: Sequence[Finding], files: Sequence[Record], missing: Sequence[str],
         printing: Record, bought: Sequence[Bought], advised: Sequence[Advice]) -> str:
    """Return the report of a built train as HTML text; file paths in it are relative to its own folder.

    `ride` is the train's; `printing` is what the print takes and in which order, as the manifest has it; `bought` are
    lines of the bill of materials, `advised` what the search said of each part's print pose.
    """
    description = built.train.description
    shelf = Environment(loader=PackageLoader("partgen.report", "templates"), autoescape=True,
                        trim_blocks=True, lstrip_blocks=True)
    shelf.filters |= {"clock": clock, "figure": figure, "whole": lambda one: f"{round(one)}"}
    return shelf.get_template("report.html").render(
        version=__version__, description=description, findings=findings, files=files, missing=missing,
        printing=printing, bought=bought, advised=advised, assembly=_assembly(ride, files),
        wagons=[(plan, notable(plan, description.printer)) for plan in built.train.wagons],
        defaults=usual(description), cautions=cautions(ride))


def _assembly(ride: RidePlan, files: Sequence[Record]) -> list[tuple[Step, str | None]]:
    """Return each step of the assembly with the path of its picture, None where there is none."""
    there = {record["path"] for record in files}
    paths = ((step, f"pictures/{step_stem(number)}.png") for number, step in enumerate(told(ride), 1))
    return [(step, path if path in there else None) for step, path in paths]


def usual(description: Description) -> list[tuple[str, str]]:
    """Return what nobody gave, table by table as (tables, values in words), those alike in one row; what is then simply
    not there is left out."""
    of: dict[str, list[str]] = {}
    for path, value in listed(description):
        table, _, name = path.rpartition(".")
        several = value if isinstance(value, tuple) else (value,)
        said = ("not known" if one is None else "yes" if one is True else f"{one:g}" if isinstance(one, float)
                else str(one) for one in several)
        of.setdefault(table, []).append(f"{name} {' '.join(said)}")
    rows: dict[str, list[str]] = {}
    for table, values in of.items():
        rows.setdefault(", ".join(values), []).append(table)
    return [(", ".join(tables), values) for values, tables in rows.items()]


def clock(seconds: float) -> str:
    """Return a time [s] as hours and minutes."""
    minutes = round(seconds / 60)
    return f"{minutes // 60} h {minutes % 60:02d} min" if minutes >= 60 else f"{minutes} min"
