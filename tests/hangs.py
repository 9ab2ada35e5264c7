"""On which measured fields each check hangs, found out by moving one after the other; `checks/hangs.py` keeps it.

    python tests/hangs.py           print the table as it comes out now, of the demo, `known/` and SMALL trains

A field that a maker measures is moved by as much as one that nobody measured may well be off; what moves a value by
NOTED of its limit or more hangs on it.
"""

from collections import defaultdict
from itertools import chain
from pathlib import Path

from conftest import described

from partgen.checks.on_plan import run
from partgen.describe.field import Table, extra, limits
from partgen.describe.load import ASSUMED, load
from partgen.describe.track_tables import PlanPiece
from partgen.plan.train import resolve

SLICK = "[cup.slick]\nprofile = [[0, 40], [12, 58], [30, 60]]\nmass = 90\nwall = 2\nfriction = 0.1\nfill = 0"
SMALL = ({"wagon": "cups = ['tea', 'tea']\nmodules = ['box']"}, {"wagon": "cups = ['slick']", "cup": SLICK})
NOTED = 0.03            # of the limit
TENTH, HALF, LEAST = 0.1, 0.5, 0.1      # of a size; of what is guessed rather than taken with a caliper; mm
GUESSED = ("%", "deg", "mm/m", "N/N", "mm2/s")
WISHED = ("choose", "leave", "only where", "think of", "as set in", "in the slicing", "plain unless", "as outline",
          "as acceleration", "its length")      # how the measure of a field begins that is no fact
BUILT = {"looks_out", "plan", "stop", "obstacle", "slicing"}        # tables of what is given once it is there
FROM = {"flange_angle": 70.0, "breakaway": 0.09, "coupler_height": 14.5, "gradient": 1.5, "shrink": 0.3, "heat": 1.0,
        "bogie_wheelbase": 15.0, "standoff": 1.5}      # what is 0, or counts as something, where it is left out


def hanging(description):
    """Return {check: fields as "kind.field"} of a description, all tables of a kind moved together."""
    before, found = figures(description), defaultdict(set)
    for key in dict.fromkeys(fields(description)):
        for who, (value, limit) in figures(moved(description, key)).items():
            was, held = before.get(who, (value, limit))
            if max(abs(value - was), abs(limit - held)) >= NOTED * max(abs(held), abs(was), 1e-9):
                found[who[0]].add(key)
    return found


def figures(description):
    return {(one.check, str(one.subject)): (one.value, one.limit) for one in run(resolve(description))}


def fields(table, before=""):
    """Yield what a maker may measure and may leave out."""
    for name, field in type(table).model_fields.items():
        value, measure = getattr(table, name), extra(field, "measure")
        if before + name == "track.clearance" or before + name == "track.plan" and not value:
            yield before + name
        elif name not in BUILT and (isinstance(value, (Table, dict)) or value and isinstance(value, tuple)):
            for inner in within(value):
                if isinstance(inner, Table):
                    yield from fields(inner, f"{before}{name}.")
        elif not field.is_required() and measure and not measure.startswith(WISHED) and limits(field)[0] is not None \
                and (field.default is not None or name in ASSUMED):
            yield before + name


def within(value):
    return value.values() if isinstance(value, dict) else value if isinstance(value, tuple) else (value,)


def moved(table, key):
    """Return a table with one field moved, in every table of its kind."""
    name, _, rest = key.partition(".")
    value, field = getattr(table, name), type(table).model_fields[name]
    if rest:
        new = ({one: moved(inner, rest) for one, inner in value.items()} if isinstance(value, dict) else
               tuple(moved(inner, rest) for inner in value) if isinstance(value, tuple) else moved(value, rest))
    elif name == "clearance":
        new = tuple(band.model_copy(update={"half_width": (1 - TENTH) * band.half_width}) for band in value)
    elif name == "plan":
        half = (PlanPiece(go="straight", length=300.0), PlanPiece(go="left", radius=table.min_radius, angle=180.0))
        new = half + half
    else:
        unit, high = extra(field, "unit"), limits(field)[1]
        step = max((HALF if unit in GUESSED else TENTH) * (value or 0), LEAST if unit == "mm" else 0)
        new = FROM.get(name, value) if not value else value + 1 if isinstance(value, int) else value + step
        new = value - step if value and new > high else new
    return table.model_copy(update={name: new})


if __name__ == "__main__":
    here, every = Path(__file__).parent, defaultdict(set)
    files = here.parent / "presets" / "reading-room.toml", *sorted((here / "known").glob("*.toml"))
    for description in chain(map(load, files), (described(**lines) for lines in SMALL)):
        for check, keys in hanging(description).items():
            every[check] |= keys
    for check, keys in every.items():
        print(f'    "{check}": "{" ".join(sorted(keys))}",')
