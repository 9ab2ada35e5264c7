"""Plans of one wagon from plain tables, and wagons drawn at random, for tests of the plan alone: no CAD kernel."""

import json
from pathlib import Path

from hypothesis import assume
from hypothesis import strategies as st
from shapely import box
from trains.dice import toml

from partgen.describe.load import loads
from partgen.errors import DescriptionError
from partgen.plan.train import TrainPlan, resolve
from partgen.plan.wagon import WagonPlan
from partgen.remedies.search import treated
from partgen.remedies.workbench import Workbench

MODULES = {
    "tray": dict(length=31, width=19.4, height=10, mass=10),
    "board": dict(length=52, width=30.6, height=12, mass=20, mount="bosses", hole=2.7, heat=1,
                  holes=[[22, 11.5], [22, -11.5], [-20.5, 11.5], [-22, -9]]),
    "cell": dict(length=58, width=25.2, height=20, mass=60, mount="strap", carries=True),
    "chip": dict(length=24, width=17.5, height=7, mass=5, plugs=["front"], plug_room=6, lies_on_top=True),
    "port": dict(length=20, width=14, height=9, mass=5, mount="tape", plugs=["right"], plug_room=5,
                 looks_out=[dict(side="left", width=13, height=6, aside=1.5, rise=-0.8)]),
    "eye": dict(length=32, width=14, height=8, mass=4, mount="tape",
                looks_out=[dict(side="bottom", width=10, height=8, rise=9, aside=1)]),
    "lens": dict(length=30, width=16, height=6, mass=5, mount="tape", head=[12, 8, 10],
                 looks_out=[dict(side="bottom", width=5, height=6)]),
    "dial": dict(length=41, width=29, height=13, mass=9, mount="tape",
                 looks_out=[dict(side="top", width=19, height=25, aside=1.5, rise=-2)]),
}
CUPS = {
    "tea": dict(profile=[[0, 44], [60, 58]], mass=120, wall=2.5, fill=40),
    "mug": dict(profile=[[0, 61], [12, 66], [83, 78]], mass=150, wall=3, fill=55),
    "shot": dict(profile=[[0, 34], [50, 42]], mass=60, wall=2.5, fill=30),
}


def train_of(wagon: dict, **tables) -> TrainPlan:
    """Return the plan of a train of one wagon; every table is added to the defaults of its kind."""
    data = {"title": "Plans", "track": {"use": "toy-37.5", "clearance": [
                {"low": 0, "high": 30, "half_width": 90}, {"low": 30, "high": 200, "half_width": 95}]},
            "wheelset": {"standard": {"use": "toy-37.5", "flange_angle": 90}}, "coupler": {"use": "magnet-6x3"},
            "printer": {"use": "bed-300"}, "module": MODULES, "cup": CUPS}
    data = {kind: table | tables[kind] if kind in tables else table for kind, table in data.items()}
    return resolve(loads(toml(data | {"wagon": [{"name": "one", "wheelbase": 64} | wagon]})))


def plan_of(wagon: dict, **tables) -> WagonPlan:
    """Return the plan of that train's wagon."""
    return train_of(wagon, **tables).wagons[0]


def cured(train: TrainPlan, check: str, words: str = "") -> dict[str, object]:
    """Return by its path what to set, of every remedy of one edit that the engine tries on the finding, with such
    `words` in its reason, of a check that a train fails; each clears it and fails nothing that held."""
    return {path: value for (path, value), *more in reversed(cures(train, check, words)) if not more}


def cures(train: TrainPlan, check: str, words: str = "") -> list[tuple[tuple[str, object], ...]]:
    """Return the edits of every such remedy, of one edit or more."""
    bench = Workbench(train.description.model_dump(exclude_none=True), Path())
    finding = next(one for one in bench.found(()) or () if one.check == check and one.verdict == "fail"
                   and words in one.reason)
    return [remedy.edits for remedy in treated(bench, finding, most=99).remedies]


@st.composite
def wagons(draw, modules=((), ("tray",)), cups=((),)):
    """Tables of a wagon, two-axle or on bogies, wider or longer than it must be or not, and of a printer."""
    on_bogies = draw(st.booleans())
    wish = {"wheelbase": draw(st.sampled_from([36.0, 43.5] if on_bogies else [58.0, 77.5, 96.0])),
            "pivot_spacing": draw(st.sampled_from([92.0, 118.5, 161.0])) if on_bogies else None,
            "travel": draw(st.sampled_from([0.0, 2.5, 7.0])), "screw": draw(st.sampled_from(["M2", "M2.5", "M3"])),
            "wall": draw(st.sampled_from([1.9, 2.6])), "sides": draw(st.sampled_from(["planked", "panelled", "plain"])),
            "length": draw(st.sampled_from([None, None, 187.0, 243.0])),
            "width": draw(st.sampled_from([None, 57.0, 71.5, 88.0])),
            "modules": list(draw(st.sampled_from(modules))), "cups": list(draw(st.sampled_from(cups)))}
    printer = draw(st.sampled_from([{}, {"line_width": 0.6, "nozzle": 0.5},
                                    {"line_width": 0.9, "nozzle": 0.8, "bore_offset": 0.22}]))
    return {key: value for key, value in wish.items() if value not in (None, [])}, printer


def made(drawn) -> WagonPlan:
    """Return the plan of drawn tables; what cannot be is no example."""
    wish, printer = drawn
    try:
        plan = plan_of(wish, printer=printer)
    except DescriptionError:
        plan = None
    assume(plan is not None and not plan.wanting)
    return plan


def lines_of(drawn) -> float:
    """Return the width [mm] of a printed line in drawn tables."""
    return drawn[1].get("line_width", 0.45)


def flat(spans):
    """Return (low, high) along x and y, and whatever follows, as a shapely rectangle."""
    (x0, x1), (y0, y1) = spans[:2]
    return box(x0, y0, x1, y1)


def steps_of(path: str) -> tuple[str | int, ...]:
    """Read a path as the JSON has it: keys, and places counted from 1."""
    steps: list[str | int] = []
    rest = path
    while rest:
        if rest[0] == "[":
            number, _, rest = rest[1:].partition("]")
            steps.append(int(number) - 1)
        elif rest[0] == '"':
            name, end = json.JSONDecoder().raw_decode(rest)
            steps.append(name)
            rest = rest[end:]
        else:
            cut = min((rest.find(mark) for mark in ".[" if mark in rest), default=len(rest))
            steps.append(rest[:cut])
            rest = rest[cut:]
        rest = rest.removeprefix(".")
    return tuple(steps)
