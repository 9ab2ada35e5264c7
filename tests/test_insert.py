"""Clip-in inserts: sound parts that sit in the seat, click, let the slimmer cup in, and can be pinched out."""

from functools import cache
from math import pi

import numpy as np
import pytest
from conftest import described
from msgspec.structs import replace
from shapely.geometry import Point
from test_parts_body import overlap, slice_at

from partgen import parts
from partgen.checks.on_plan import run
from partgen.checks.on_solids import SOLID_CHECKS
from partgen.checks.snap import snap_force
from partgen.checks.wishes import wanting
from partgen.describe.printer_tables import Printer
from partgen.describe.turned import diameter_at
from partgen.dynamics import load_states as states
from partgen.finding import worst
from partgen.paper.assembly import steps
from partgen.paper.bill import bill
from partgen.parts.cradle import _beaded
from partgen.plan.train import resolve
from partgen.solids.built import Built
from partgen.solids.mesh import mesh_of

slow = pytest.mark.slow
CUPS = """
[cup.mug]
profile = [[0, 60], [80, 78]]
mass = 150
wall = 3
[cup.shot]
profile = [[0, 34], [50, 42]]
mass = 60
wall = 2.5
fill = 30
[cup.beaker]
profile = [[0, 56], [90, 70]]
mass = 20
wall = 0.5
[cup.pail]
profile = [[0, 80], [60, 90]]
mass = 90
"""


@cache
def test_step_names_each_ring_s_cup_and_the_seats_that_take_it():
    train = resolve(described(module=CUPS, wagon="cups = ['mug', 'mug', 'tea']\ninserts = ['shot']"))
    plan, = train.wagons
    said, = (step.text for step in steps(train) if step.title == "one: cradle and cups")
    assert {ring.seat for ring, _ in plan.inserts} == {"mug", "tea"}
    for ring, cup in plan.inserts:
        where = {"mug": "any seat of ", "tea": "the seat of "}[ring.seat]
        assert f"for {cup.label} a ring into {where}" in said and "slimmer" not in said


def wagon(inserts=("shot", "tea", "beaker")):
    return resolve(described(module=CUPS, wagon=f"cups = ['mug', 'mug']\ninserts = {list(inserts)}")).wagons[0]


@cache
def ring(number):
    item = [item for item in wagon().items if item.part == "insert"][number]
    return item, item.plan, mesh_of(parts.build("insert", item.plan))


@cache
def cradle():
    return mesh_of(parts.build("cradle", wagon().cradle))


RINGS = pytest.mark.parametrize("number", range(3), ids=["shot", "tea", "beaker"])


def test_each_further_cup_gets_a_ring_for_each_seat_and_none_stands_in_the_wagon():
    items = [item for item in wagon().items if item.part == "insert"]
    assert [item.name for item in items] == ["insert-shot-in-mug", "insert-tea-in-mug", "insert-beaker-in-mug"]
    assert all(item.loose and item.count == 2 for item in items)
    assert [plan.hollow for plan, _ in wagon().inserts] == [True, True, False]
    assert "insert" not in {load.name for load in states.loads(wagon(), Printer())}


def test_a_cup_too_wide_for_every_seat_is_refused_by_how_much():
    finding, = [f for f in wanting(wagon(("pail",))) if f.verdict == "fail"]
    # the pail's foot of 80 mm and 1 mm clearance against the mug's seat of 61 mm, drawn 0.35 mm smaller
    assert finding.value == pytest.approx((61 - 0.35 - 81) / 2, abs=0.4) and "too wide where" in finding.reason


def test_an_insert_too_low_is_refused_by_its_height():
    """0.8 of its cup's 16 mm; its bead stands 0.6 up the mug's seat and needs a mm over its upper slope."""
    low = "[cup.low]\nprofile = [[0, 40], [16, 50]]\nmass = 50\nfill = 8\n"
    plan = resolve(described(module=CUPS + low, wagon="cups = ['mug', 'mug']\ninserts = ['low']")).wagons[0]
    finding, = [f for f in wanting(plan) if f.verdict == "fail"]
    assert finding.value == pytest.approx(0.8 * 16) and finding.limit > 0.6 * plan.cups[0][0].height


def test_load_states_know_the_slim_cups_and_their_rings():
    of = states.lading(wagon(), Printer())
    assert set(of.words[0]) == {
        "", "empty mug", "full mug", "empty shot", "full shot", "empty tea", "full tea", "empty beaker", "full beaker"}
    shot = of.choices[0, of.words[0].index("full shot")]
    plan = wagon().inserts[0][0]
    # by hand: ring of PLA, 60 g of cup, 30 mm of water in a cone of 29.4 to 34.2 mm
    water = pi / 12 * 30 * (29.4**2 + 29.4 * 34.2 + 34.2**2) / 1000
    assert shot[:, 0].sum() == pytest.approx(plan.volume * 1.24e-3 + 60 + water, rel=1e-3)


def test_cups_in_rings_are_judged_as_any():
    train = resolve(described(module=CUPS, wagon="cups = ['mug']\ninserts = ['shot']"))
    subjects = {str(finding.subject) for finding in run(train, only={"cup-hold", "spill-curve", "spill-stop"})}
    assert {"one/shot in mug", "one/shot", "one/mug"} <= subjects


@slow
@RINGS
def test_ring_is_one_sound_solid_of_the_planned_size(number):
    _, plan, mesh = ring(number)
    assert mesh.is_watertight and mesh.body_count == 1 and mesh.volume > 0
    assert mesh.volume == pytest.approx(plan.volume, rel=0.05)
    assert mesh.bounds[1][2] == pytest.approx(plan.height, abs=1e-3)
    assert mesh.bounds[1][1] == pytest.approx(plan.ear_reach, abs=0.05)


@slow
@RINGS
def test_ring_prints_and_its_seat_too(number):
    """All checks on meshes but those of whole wagons, as a build asks them."""
    item, _, mesh = ring(number)
    plan = wagon()
    kept = tuple(one for one in plan.items if one.name in (item.name, "cradle"))
    train = resolve(described(module=CUPS, wagon="cups = ['mug', 'mug']"))
    slim = Built(type(train)(train.description, (_only(plan, kept),)),
                 {(plan.name, item.name): mesh, (plan.name, "cradle"): cradle()},
                 {(plan.name, item.name): mesh.volume, (plan.name, "cradle"): cradle().volume})
    wrong = [finding for name, check in SOLID_CHECKS.items() if "throw" not in name
             for finding in check(slim) if finding.verdict == "fail"]
    assert worst(wrong) == "pass", wrong


def _only(plan, items):
    return replace(plan, items=items)


@slow
@RINGS
def test_ring_sits_in_the_seat_and_clicks(number):
    item, plan, mesh = ring(number)
    place = item.places[0]
    seated = mesh.copy().apply_translation((place.x, place.y, place.z))
    assert overlap(seated, cradle()) < 0.02
    # as both are printed, 0.2 mm nearer in diameter by what bores and pegs spread
    widest = max(diameter for _, diameter in plan.outer)
    lifted = mesh.copy().apply_scale((1 + 0.2 / widest, 1 + 0.2 / widest, 1)).apply_translation(
        (place.x, place.y, place.z + 1.0))
    assert overlap(lifted, cradle()) > 2.0, "the bead is behind the groove's edge"
    # pinched together by the bead's depth it comes out: scaled about its axis it is free at every height
    pinched = mesh.copy().apply_scale((1 - 1.1 / widest, 1 - 1.1 / widest, 1.0))
    for lift in (1.0, 4.0, 9.0):
        assert overlap(pinched.copy().apply_translation((place.x, place.y, place.z + lift)), cradle()) < 0.02
    assert plan.slit > 2 * pi * 0.5, "the slit closes by the bead's way round"


@slow
@RINGS
def test_slim_cup_goes_in_from_above_and_sits_close(number):
    _, plan, mesh = ring(number)
    cup = dict((insert.cup, cup) for insert, cup in wagon().inserts)[plan.cup]
    heights = np.linspace(0.6, plan.height - 0.8, 12)
    radius = np.maximum.accumulate(np.interp(np.linspace(0, plan.height, 400), *np.array(cup.profile).T) / 2)
    for height in heights:
        gap = min(shape.distance(Point(0, 0)) for shape in slice_at(mesh, height))
        need = np.interp(height, np.linspace(0, plan.height, 400), radius)
        assert 0.45 <= gap - need <= 0.62


@pytest.mark.parametrize("lean", [0.0, 0.3, 0.6])
def test_a_beads_underside_is_no_flatter_where_its_wall_leans_out(lean):
    """45 degrees from upright at most, which prints without supports (common practice, no source)."""
    wall = [(0.0, 40.0), (20.0, 40.0 + 40 * lean)]
    below, (h0, d0), (h1, d1), (h2, d2), _ = _beaded(wall, 10.0, 0.6)
    assert (d1 - d0) / 2 / (h1 - h0) <= 1 + 1e-9 and d1 == pytest.approx(diameter_at(wall, 10.0) + 1.2)
    assert below == wall[0] and d2 == pytest.approx(diameter_at(wall, h2))


def test_a_hand_takes_every_ring_out_and_the_step_says_how():
    """A pinch gives 40 N (a page of ergonomic force guidelines). Pinched ears take the bead out of the
    groove; without them it is pulled: friction 0.7 on 45 degrees makes (0.7 + 1)/(1 - 0.7) of what presses it together,
    all round 2 pi of it."""
    train = resolve(described(module=CUPS, wagon="cups = ['mug', 'mug']\ninserts = ['shot']"))
    plan, = train.wagons
    ring = plan.inserts[0][0]
    assert ring.ear and ring.release == ring.pinch <= 40 < ring.retention
    bare = replace(ring, ear=0.0)
    assert bare.release == pytest.approx(2 * pi * ring.pinch * 1.7 / 0.3)
    said = next(step.text for step in steps(train) if step.title.endswith("cradle and cups"))
    assert f"pinch its two ears together, which takes {ring.pinch:.0f} N" in said
    barely = replace(plan, inserts=((bare, plan.inserts[0][1]),),
                     items=tuple(replace(item, plan=bare) if item.plan == ring else item for item in plan.items))
    found = [one for one in snap_force(replace(train, wagons=(barely,))) if "insert" in str(one.subject)]
    assert [one.verdict for one in found] == ["fail", "pass"] and "take out by hand" in found[0].reason
    low = CUPS.replace("[50, 42]", "[24, 42]").replace("fill = 30", "fill = 8")
    stiff = resolve(described(module=low, wagon="cups = ['mug', 'mug']\ninserts = ['shot']")).wagons[0].inserts[0][0]
    assert not stiff.ear and stiff.release == pytest.approx(40) and stiff.retention > 5, "too low for ears"
    mug, shot = (next(line for line in bill(train) if name in line.use) for name in ("on top", "in a ring"))
    assert (mug.count, shot.count) == (2, 2) and shot.what == plan.inserts[0][1].label and "instead of mug" in shot.use
