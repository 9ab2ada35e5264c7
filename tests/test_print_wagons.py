"""Real parts: everything in the demo prints as planned, and so does whatever a plan lets through."""

import pytest
from hypothesis import HealthCheck, assume, given, settings
from hypothesis import strategies as st

from partgen.checks.printed import PRINT_CHECKS, printed
from partgen.describe.load import loads
from partgen.plan.train import resolve
from partgen.printing.pose import advise
from partgen.printing.posed import alike
from partgen.printing.walls import EmbreeScene, narrowest_slot, thinnest_wall
from partgen.solids.built import Built

pytestmark = pytest.mark.slow


def built(train) -> Built:
    """Shape and mesh every part of a train once."""
    from partgen import parts
    from partgen.solids.mesh import mesh_of
    done, meshes = {}, {}
    for plan in train.printed:
        for item in plan.items:
            key = item.part, item.plan
            done[key] = done.get(key) or mesh_of(parts.build(*key))
            meshes[plan.name, item.name] = done[key]
    return Built(train, meshes, {})


@pytest.fixture(scope="module")
def demo_built(demo):
    return built(resolve(demo))


def test_every_demo_part_passes_every_print_check(demo_built):
    found = list(printed(demo_built))
    assert len(found) == len(PRINT_CHECKS) * len(demo_built.meshes)
    assert [(f.check, f.subject, f.reason) for f in found if f.verdict != "pass"] == []


def test_every_demo_part_lies_as_it_should(demo_built):
    found = list(advise(demo_built))
    assert all(said.planned.prints for said in found)
    assert [said.text for said in found if said.better and not said.kept] == []


@pytest.mark.skipif(EmbreeScene is None, reason="no embreex here")
def test_both_ray_casters_judge_the_demo_alike(demo_built):
    for posed, item, _ in alike(demo_built):
        if item.part in ("coupler", "lid", "axle-holder"):
            wall, other = (thinnest_wall(posed, engine).thick for engine in ("embree", "manifold"))
            assert wall == pytest.approx(other, abs=0.002)
            slot, other = (narrowest_slot(posed, engine)[0] for engine in ("embree", "manifold"))
            assert slot == pytest.approx(other, abs=0.002)


ANY = """
title = "Any"
[track]
use = "{gauge}"
min_radius = 600
clearance = [{{ high = 400, half_width = 150 }}]
[wheelset.standard]
use = "{gauge}"
[coupler]
height = {height}
magnet_diameter = {magnet}
layout = "{layout}"
[printer]
use = "bed-300"
nozzle = {nozzle}
line_width = {line}
layer = {layer}
{fits}
[module.box]
length = {long}
width = 24
height = 18
mass = 40
{box}
[cup.tea]
profile = [[0, {foot}], [{tall}, {brim}]]
mass = 120
wall = 2
fill = 20
[[wagon]]
name = "one"
wheelbase = {wheelbase}
{bogies}
travel = {travel}
wall = {wall}
sides = "{sides}"
screw = "{screw}"
modules = {modules}
cups = {cups}
"""
GAUGES = {"toy-37.5": (13, 6, 64, 34), "gauge-16.5": (9, 4, 45, 22), "gauge-22.5": (11, 5, 50, 26),
          "gauge-32": (15, 6, 70, 34), "gauge-45": (20, 8, 90, 46)}
"""Coupler height, magnet diameter, wheelbase of two axles and of a bogie [mm] by gauge."""
BOXES = ("", "heat = 1", 'plugs = ["front"]\nplug_room = 12', 'plugs = ["left", "top"]\nplug_room = 8')


@st.composite
def trains(draw):
    """A one-wagon train, from small and fine to large and coarse, as text of a description."""
    gauge = draw(st.sampled_from(sorted(GAUGES)))
    height, magnet, wheelbase, short = GAUGES[gauge]
    bogies = draw(st.integers(0, 3)) == 0
    spacing = short + draw(st.integers(60, 140))
    line = draw(st.sampled_from([0.22, 0.4, 0.45, 0.6, 0.75]))
    foot = draw(st.integers(24, 60))
    layer = max(0.06, round(line * draw(st.sampled_from([0.25, 0.45, 0.7])), 3))
    return ANY.format(
        gauge=gauge, height=height, magnet=magnet, layout=draw(st.sampled_from(["pair", "single"])),
        line=line, nozzle=round(line / 1.1, 3), layer=layer, long=draw(st.integers(20, 80)), foot=foot,
        brim=foot + draw(st.integers(-6, 30)), tall=draw(st.integers(40, 180)),
        fits="\n".join(f"{name} = {draw(st.integers(low, high)) / 100}" for name, low, high in (
            ("bore_offset", -10, 40), ("peg_offset", -10, 30), ("shrink", 0, 150), ("snap_share", 84, 96))),
        box=draw(st.sampled_from(BOXES)), bogies=f"pivot_spacing = {spacing}" if bogies else "",
        wheelbase=short if bogies else wheelbase + draw(st.integers(0, 30)), travel=draw(st.integers(0, 100)) / 10,
        wall=round(draw(st.floats(max(0.8, 2 * line), 3.5)), 2) + 0.005, sides=draw(st.sampled_from(
            ["planked", "panelled", "plain"])),
        screw=draw(st.sampled_from(["M2", "M2.5", "M3"])), modules=["box"] * draw(st.integers(0, 2)),
        cups=["tea"] * draw(st.integers(0, 2)))


@given(text=trains())
@settings(deadline=None, max_examples=4, derandomize=True, suppress_health_check=list(HealthCheck))
def test_what_the_plan_lets_through_prints(text):
    """Refusals of the plan are the only way out: the checks on paper ask nothing of a part's shape."""
    train = resolve(loads(text))
    assume(not any(plan.wanting for plan in train.wagons))
    failing = [(f.check, f.subject, f.reason) for f in printed(built(train)) if f.verdict == "fail"]
    assert failing == []
