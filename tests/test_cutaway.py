"""The cut-open wagon: a label points at what is seen of its module, judged by rays through the other one's mesh."""

import numpy as np
import pytest
import trimesh
from msgspec.structs import replace

from partgen.plan.train import resolve
from partgen.report.cutaway import _label

EYE = np.array([-100.0, -400.0, 300.0])


@pytest.mark.parametrize("before, hidden", [
    ({"y": 60.0, "length": 90.0}, False),                   # behind it
    ({"y": -30.0, "length": 30.0}, False),                  # before its middle only
    ({"y": -30.0, "length": 180.0}, True),                  # before all of it
])
def test_a_label_points_at_what_is_seen_of_a_module(demo, before, hidden):
    plan = next(plan for plan in resolve(demo).wagons if plan.name == "controls")
    low, tall = (replace(placed, x=0.0, z=0.0) for placed in plan.layout.placed[:2])
    low = replace(low, y=10.0, length=80.0, width=20.0, height=8.0)
    tall = replace(tall, x=-12.0, width=10.0, height=80.0, **before)
    name, spot = _label(replace(plan, layout=replace(plan.layout, placed=(low, tall))), low, EYE, 60.0)
    assert name == (f"{low.name}, behind" if hidden else low.name)
    lifted = np.array(tall.box).T + (0.0, 0.0, plan.floor_z)
    assert trimesh.creation.box(bounds=lifted).ray.intersects_any([spot], [EYE - spot])[0] == hidden
    assert spot[2] == pytest.approx(plan.floor_z + low.height) and abs(spot[0]) <= low.length / 2


@pytest.mark.parametrize("aside, hidden", [(8.0, False), (-100.0, True)])
def test_what_is_left_of_the_lid_hides_too(demo, aside, hidden):
    plan = next(plan for plan in resolve(demo).wagons if plan.name == "controls")
    alone = replace(plan, layout=replace(plan.layout, placed=plan.layout.placed[:1]))
    name, spot = _label(alone, alone.layout.placed[0], EYE, aside)
    assert name.endswith(", behind") == hidden
    lid = trimesh.creation.box(bounds=[(-plan.lid.length / 2, aside, plan.lid.bottom),
                                       (plan.lid.length / 2, plan.lid.width / 2, plan.lid.top)])
    assert lid.ray.intersects_any([spot], [EYE - spot])[0] == hidden
