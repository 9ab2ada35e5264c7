"""Lamps get wires, an end on each, what holds and what feeds them; a battery without a wire gets its lead; what goes in
from outside comes from there in its picture."""

from functools import cache

import numpy as np
import pytest
from conftest import described
from msgspec.structs import replace

from partgen.paper.assembly import steps
from partgen.paper.bill import bill, tools
from partgen.parts.steps.electronics import laid
from partgen.plan.leads import fed, meeting, pairs
from partgen.plan.mass import loads
from partgen.plan.train import resolve
from partgen.report.album import step_scene
from partgen.report.props import module
from partgen.report.views import exploded
from partgen.report.wagon_props import _fuses, _lamps

CELLS = """
[module.cells]
length = 40
width = 20
height = 14
mass = 40
battery = true
[module.switch]
length = 20
width = 14
height = 12
mass = 6
mount = "panel"
looks_out = [{ side = "front", width = 12, height = 8, panel = 2 }]
"""


@cache
def train(wagon="modules = ['cells']\nlights = 'lamps'"):
    return resolve(described(wagon=wagon, module=CELLS))


def test_every_lamp_has_its_pair_from_its_hole_to_the_battery():
    plan, = train().wagons
    lamps, found = plan.body.fittings.lamps, [pair for pair in pairs(plan) if pair.start == "each lamp"]
    assert len(found) == len(lamps) > 0 and {pair.goal for pair in found} == {"cells, behind its fuse"}
    cells, half = plan.layout.placed[0], plan.body.inside[1] / 2
    for pair, (x, wall) in zip(found, lamps, strict=True):
        # along, across and down from the hole's inner mouth, and what lets it come out with the battery
        way = abs(x - cells.x) + abs((half if wall == "left" else -half) - cells.y)
        way += abs(plan.body.fittings.lamp_level - cells.z - cells.height / 2)
        assert pair.length == pytest.approx(way + 40)
    wires = [line for line in bill(train()) if line.what == "pair of thin wires" and "each lamp" in line.use]
    assert sum(line.count for line in wires) == len(lamps) and all("red and black" in line.size for line in wires)
    counts = {line.what: line.count for line in bill(train())}
    # red and black of each lamp's pair, of the battery's up to the terminals and of that on from there; the fuse
    assert counts["end of a lead"] == 4 * (len(lamps) + 2) + 2
    assert "behind each lamp" in " ".join(line.use for line in bill(train()))
    weighed = [load for load in loads(plan, train().description.printer) if load.name == "pair of thin wires"]
    assert {load.kind for load in weighed} == {"wiring"} and len(weighed) == len(lamps) + 2


def test_steps_solder_before_they_push_in_and_the_fuse_comes_last():
    said = next(step.text for step in steps(train()) if step.title.endswith("electronics"))
    order = [said.index(word) for word in ("Solder a red", "Push the lamps", "drop of glue", "cells",
                                           "Lead the lamps' wires to cells", "from cells to the lights' terminals",
                                           "from the lights' terminals out", "Put the fuse into the lead from cells "
                                           "to the lights' terminals", "Try the light")]
    assert order == sorted(order) and "the fuse itself last" in said
    assert {"soldering iron", "wire strippers"} <= set(tools(train()))
    joined = resolve(described(wagon="modules = ['cells', 'box']\nwires = [['cells', 'box']]", module=CELLS))
    assert not any(pairs(joined.wagons[0])), "a described wire is a battery's lead"


PORT = CELLS + """
[module.port]
length = 18
width = 16
height = 9
mass = 3
charges = true
"""


def test_what_only_charges_a_battery_is_not_fed_by_it():
    """A charging lead gets no fuse and goes into no terminal: it would lead the battery's own current back into it."""
    plan, = resolve(described(wagon="modules = ['cells', 'port']\nwires = [['cells', 'port']]", module=PORT)).wagons
    assert [(pair.start, pair.goal) for pair in pairs(plan)] == [("cells", "what it feeds")]
    assert "Put the fuse into the lead from cells to what it feeds" in laid(plan)
    wired = "modules = ['cells', 'port', 'switch']\nlights = 'lamps'\nwires = [['cells', 'port'], ['cells', 'switch']]"
    plan, = resolve(described(wagon=wired, module=PORT)).wagons
    lamps = len(plan.body.fittings.lamps)
    assert fed(plan, "cells") == ("switch",) and meeting(plan) == lamps + 2
    assert [pair.goal for pair in pairs(plan) if pair.start == "cells"] == ["the lights' terminals"]
    assert "Lead a wire from cells to port, the lights' terminals to switch" in laid(plan), "behind the fuse"


def test_pictures_show_lamps_and_fuse_and_the_switch_comes_from_outside():
    lit = train("modules = ['cells', 'switch']\nlights = 'lamps'")
    plan, = lit.wagons
    step = next(step for step in steps(lit) if step.title.endswith("electronics"))
    things = [*_lamps(plan), *_fuses(plan), *(module((one.length, one.width, one.height), one.name).moved(
        np.array([[1, 0, 0, one.x], [0, 1, 0, one.y], [0, 0, 1, plan.floor_z + one.z], [0, 0, 0, 1.0]]))
        for one in plan.layout.placed)]
    scene = step_scene(step, plan, things)
    assert {"fuse", "switch"} <= {text for text, _ in scene.labels}
    assert any(text.endswith("lamp") for text, _ in scene.labels)
    home, away = ({prop.name: prop.placed().mean(axis=0) for prop in props} for props in (things, scene.props))
    way = away["switch"] - home["switch"]
    wall = next(one.wall for one in plan.layout.cutouts if one.name == "switch")
    outward = {"front": (1, 0, 0), "back": (-1, 0, 0), "left": (0, 1, 0), "right": (0, -1, 0)}[wall]
    assert way / np.abs(way).max() == pytest.approx(outward, abs=1e-9)
    assert away["cells"][2] > home["cells"][2] and away["lamp"][2] > home["lamp"][2]
    # both name plates of a wagon go out, each to its own side
    pair = [replace(one, name="plate") for one in things[:2]]
    shown = exploded(pair, {"plate": 9.0}, {}, outside={"plate": 1}).props
    for one, moved in zip(pair, shown, strict=True):
        y = one.placed()[:, 1].mean()
        assert moved.placed()[:, 1].mean() - y == pytest.approx(9.0 if y > 0 else -9.0)
