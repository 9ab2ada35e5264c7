"""Light strips under the eaves: they go in, shine down, their wires find a way in, drips fall off outside of them.

Strips and wires are drawn here as blocks and bars of the sizes that are bought (8 x 3 mm, wires of 2 mm: common
practice, no source); overlaps are manifold3d's, slices shapely's, rays trimesh's.
"""

import re
from functools import cache

import numpy as np
import pytest
from conftest import described
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import Polygon
from test_parts_body import overlap, slice_at
from trimesh.creation import box, cylinder

from partgen import parts
from partgen.checks import on_plan as paper
from partgen.checks.meshes import open_edges
from partgen.checks.printed import PRINT_CHECKS
from partgen.describe.printer_tables import Printer
from partgen.dynamics import ride as rides
from partgen.errors import DescriptionError
from partgen.identity import PartId
from partgen.paper.assembly import steps
from partgen.paper.bill import bill
from partgen.paper.cautions import cautions
from partgen.plan.body.lid import DRIP
from partgen.plan.body.lid_clip import BLOCK, WINDOW
from partgen.plan.fastening import RIM
from partgen.plan.train import resolve
from partgen.printing.posed import Posed
from partgen.solids.built import lay
from partgen.solids.mesh import mesh_of

TOUCH = 0.02            # mm3
DISPLAY = ("[module.display]\nlength = 40\nwidth = 30\nheight = 12\nmass = 15\n"
           "looks_out = [{ side = 'top', width = 20, height = 30 }]\n")
WAGONS = {"plain": "modules = ['box']\n", "cups": "modules = ['box']\ncups = ['tea', 'tea']\n",
          "window": "modules = ['display', 'box']\nwidth = 48\n", "broad": "modules = ['box', 'box']\nwidth = 84\n"}
NAMES = pytest.mark.parametrize("name", WAGONS)


def train_of(wagon, lights="strip", **lines):
    return resolve(described(module=DISPLAY, wagon=f"{wagon}lights = '{lights}'\n", **lines))


@cache
def wagon(name):
    return train_of(WAGONS[name]).wagons[0]


@cache
def part(name, kind):
    return mesh_of(parts.build(kind, getattr(wagon(name), kind)))


def short(length, cups="[]"):
    """A wagon too short for most things, as a shunting truck on a narrow gauge is."""
    description = described(wagon=f"modules = ['box']\nlights = 'strip'\ncups = {cups}\n")
    truck = description.wagon[0].model_copy(update={"wheelbase": 20.0, "length": length, "width": 42.0})
    return resolve(description.model_copy(update={"wagon": (truck,)}))


def wires(train):
    return [f for f in paper.every(train) if f.check == "module-fit" and str(f.subject) == "one/light strip"]


# ---- on paper --------------------------------------------------------------------------------------------

@pytest.mark.parametrize("length, cups", [(38.0, "[]"), (38.0, "['tea']"), (43.5, "['tea']")])
def test_a_body_too_short_for_clips_and_wires_is_told_how_much_longer(length, cups):
    finding, = wires(short(length, cups))
    assert finding.verdict == "fail"
    missing = float(re.search(r"([\d.]+) mm are missing beside one", finding.reason)[1])
    assert wires(short(length + 4 * missing + 2.0, cups))[0].verdict == "pass"     # beside two, either way, in steps
    assert wires(short(length + 0.1, cups))[0].verdict == "fail"


def test_the_eaves_that_hold_the_strips_are_held_against_the_room_beside_the_track():
    """Half the lid's width, and as much again as any lid reaches in a curve, is what must be free."""
    def judged(lights, room):
        found = paper.run(train_of(WAGONS["plain"], lights, track=f"clearance = [{{high = 200, half_width = {room}}}]"))
        return next(f for f in found if f.check == "outer-throw")
    plain, lit = judged("none", 60), judged("strip", 60)
    wide, narrow = (train_of(WAGONS["plain"], lights).wagons[0].lid.width for lights in ("strip", "none"))
    broader = (wide - narrow) / 2
    assert 9.0 < broader < 10.0 and lit.value - plain.value == pytest.approx(broader, abs=0.4)
    assert judged("strip", lit.value - 0.1).verdict == "fail" and judged("none", lit.value - 0.1).verdict == "pass"


def test_valances_hang_lower_in_the_outline_than_the_plate():
    low, = [outline for outline in wagon("plain").outlines if outline.part == "lid"]
    lid = wagon("plain").lid
    assert low.low == pytest.approx(lid.bottom - 5.0) and np.ptp(np.array(low.points)[:, 1]) == pytest.approx(lid.width)


def test_lights_need_a_lid():
    with pytest.raises(DescriptionError, match="no lid"):
        train_of("cups = ['tea']\n")


def test_strips_are_bought_put_in_and_warned_of():
    train = train_of(WAGONS["plain"])
    line, = [line for line in bill(train) if line.what.startswith("light strip")]
    long = float(re.search(r"([\d.]+) mm long", line.size)[1])
    assert line.count == 2 and line.size.startswith("8 x 3 mm") and 0.85 < long / train.wagons[0].length < 1.0
    step, = [step for step in steps(train) if "light-strip" in step.new and "lid" not in step.new]
    assert f"{long:g} mm" in step.text and "gaps in the rim" in step.text
    assert "never from the mains" in dict(cautions(rides.resolve(train)))["Light strips"]
    plain = train_of(WAGONS["plain"], "none")
    assert not any(line.what.startswith("light strip") for line in bill(plain))
    assert "Light strips" not in dict(cautions(rides.resolve(plain)))


@settings(max_examples=60)
@given(st.sampled_from([None, *range(86, 240, 7)]), st.sampled_from([None, 46, 52, 66, 90]), st.floats(0.9, 4.0),
       st.sampled_from([(0.4, 0.45), (0.6, 0.7), (0.8, 0.9)]), st.floats(-0.2, 0.5), st.sampled_from(list(WAGONS)))
def test_every_strip_has_its_room_and_its_wires_a_way_clear_of_the_clips(length, width, wall, lines, offset, name):
    wishes = "".join(f"{key} = {value}\n" for key, value in (("length", length), ("width", width)) if value)
    wagon = re.sub("width.*\n", "", WAGONS[name]) + wishes + f"wall = {max(wall, 2 * lines[1])}\n"
    train = train_of(
        wagon, printer=f"nozzle = {lines[0]}\nline_width = {lines[1]}\nlayer = 0.2\nbore_offset = {offset}")
    plan, = train.wagons
    lid, strip = plan.lid, plan.lid.strip
    inner, outer = strip.middle - strip.groove / 2, strip.middle + strip.groove / 2
    assert inner - plan.width / 2 >= 0.5 and outer + strip.valance <= lid.width / 2 + 1e-6
    assert strip.groove - offset >= 8.5 and strip.length - strip.strip >= 2.0
    assert strip.valance >= max(2 * lines[1], lid.drip_inset + lid.drip_width), "the drip groove ends in the valance"
    assert RIM >= 3.0 - strip.depth + 1.0, "the valance hides the strip"
    assert lid.top - lid.bottom - strip.depth >= 2 * lines[1] - 1e-9
    assert strip.span / 2 <= plan.length / 2 and strip.inner - plan.width / 2 >= 0.3
    clear = True
    for x, side in strip.ways:
        clips = [s.x for s in lid.clips.sockets if s.yaw == (90 if side == "left" else -90)]
        half = BLOCK / 2 + lid.clips.clip.arm + WINDOW / 2 + 2.5
        ends = lid.boss if lid.screws else lid.rim.rounding
        clear &= all(abs(x - clip) >= half + 2.0 - 1e-6 for clip in clips)
        clear &= lid.rim.length / 2 - abs(x) >= ends + 2.5 + 2.0 - 1e-6
    assert clear == all(f.verdict == "pass" for f in wires(train))


# ---- built -----------------------------------------------------------------------------------------------

@pytest.mark.slow
@NAMES
def test_lid_and_body_are_sound_print_and_lie_free(name):
    plan = wagon(name)
    for kind in ("lid", "body"):
        mesh, item = part(name, kind), next(item for item in plan.items if item.part == kind)
        assert open_edges(mesh) == 0 and mesh.body_count == 1
        assert mesh.volume == pytest.approx(getattr(plan, kind).volume, rel=0.03)
        posed = Posed(PartId("one", kind), lay(item, mesh, Printer()), Printer())
        found = [check(posed) for check in PRINT_CHECKS.values()]
        assert [(f.check, f.reason) for f in found if f.verdict != "pass"] == []
    assert overlap(part(name, "lid"), part(name, "body")) < TOUCH
    assert tuple(np.ptp(part(name, "lid").bounds, axis=0)) == pytest.approx(plan.lid.size, abs=0.05)


@pytest.mark.slow
@NAMES
def test_a_bought_strip_goes_in_from_below_and_its_light_comes_out(name):
    plan, lid, body = wagon(name), part(name, "lid"), part(name, "body")
    strip = plan.lid.strip
    for side in (1, -1):
        def bar(rise, grow=0.0, side=side):
            return box((strip.strip, 8.0 + grow, 3.0)).apply_translation(
                (0, side * strip.middle, plan.lid.bottom + strip.depth - 1.5 - rise))
        assert all(overlap(bar(rise), lid) < TOUCH for rise in (0.01, 1.0, 4.0, 12.0))
        assert overlap(bar(0.01), body) < TOUCH and overlap(bar(-0.4), lid) > 100, "the plate holds it"
        assert overlap(bar(0.01, 1.4), lid) > 10, "the groove guides it"
        below = plan.lid.bottom + strip.depth - 3.1
        starts = [(x, side * (strip.middle + y), below) for x in np.linspace(-0.49, 0.49, 21) * strip.strip
                  for y in (-3, 0, 3)]
        down = np.tile((0.0, 0.0, -1.0), (len(starts), 1))
        assert not lid.ray.intersects_any(starts, down).any() and not body.ray.intersects_any(starts, down).any()
        # Towards the body, 30 degrees from straight down, it meets the side that it lights.
        slant = np.tile((0.0, -side * np.sin(np.pi / 6), -np.cos(np.pi / 6)), (len(starts), 1))
        assert body.ray.intersects_any(starts, slant).mean() > 0.6
        out = np.tile((0.0, side * 1.0, 0.0), (len(starts), 1))
        assert lid.ray.intersects_any(np.array(starts) + (0, 0, 0.6), out).all(), "the valance hides the lights"


@pytest.mark.slow
@NAMES
def test_wires_come_in_past_rim_and_wall(name):
    """Two wires of 2 mm side by side, under the plate through rim and wall, then down inside."""
    plan, lid, body = wagon(name), part(name, "lid"), part(name, "body")
    for x, wall in plan.lid.strip.ways:
        side = 1 if wall == "left" else -1
        for beside in (-1.05, 1.05):
            across = cylinder(1.0, 10.0, sections=32).apply_transform(
                [[1, 0, 0, 0], [0, 0, -1, 0], [0, 1, 0, 0], [0, 0, 0, 1]])
            across.apply_translation((x + beside, side * (plan.width / 2 - 1.0), plan.lid.bottom - 1.35))
            assert overlap(across, lid) < TOUCH and overlap(across, body) < TOUCH
            aside = [across.copy().apply_translation((step, 0, 0)) for step in (-5, 5)]
            assert all(overlap(wire, body) > 1 for wire in aside) and max(overlap(wire, lid) for wire in aside) > 1
            down = box((2.0, 2.0, 6.0)).apply_translation(
                (x + beside, side * (plan.lid.rim.width / 2 - 1.0), plan.lid.bottom - 3.4))
            assert overlap(down, lid) < TOUCH and overlap(down, body) < TOUCH


@pytest.mark.slow
@NAMES
def test_drips_leave_the_lid_outside_of_strips_and_body(name):
    """Along the sides the valance's edge is lowest and outermost, at the ends a groove runs under the eaves."""
    plan, lid = wagon(name), part(name, "lid")
    strip = plan.lid.strip
    hung = [ring for ring in slice_at(lid, plan.lid.bottom - 4.0)
            if ring.bounds[1] > plan.width / 2 or ring.bounds[3] < -plan.width / 2]
    assert len(hung) == 2 and sum(ring.area for ring in hung) > 2 * 0.8 * strip.span * strip.valance
    for ring in hung:
        assert max(abs(ring.bounds[1]), abs(ring.bounds[3])) == pytest.approx(plan.lid.width / 2, abs=0.02)
    level = plan.lid.bottom + DRIP / 2
    end = plan.lid.length / 2
    ends = Polygon([(end - 1.6, -1), (end, -1), (end, 1), (end - 1.6, 1)])
    cut = sum(ring.intersection(ends).area for ring in slice_at(lid, level))
    assert cut == pytest.approx(2 * (1.6 - 0.5 - 0.1), abs=0.35), "half a millimetre of groove at the ends, and a bevel"
