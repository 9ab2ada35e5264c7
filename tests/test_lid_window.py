"""A display looks up through the lid: its window is open, clear of rim and clips, its pane goes in; or it is refused.

The built lid is judged on slices and rays of its mesh (manifold3d, shapely, trimesh) and by blocks drawn here.
"""

import re
from functools import cache

import numpy as np
import pytest
from conftest import described
from hypothesis import given, settings
from hypothesis import strategies as st
from msgspec.structs import replace
from shapely import box as flat
from shapely import unary_union
from test_parts_body import overlap, slice_at
from trimesh.creation import box

from partgen import parts
from partgen.checks import on_plan as paper
from partgen.checks.meshes import open_edges
from partgen.checks.printed import PRINT_CHECKS
from partgen.describe.printer_tables import Printer
from partgen.identity import PartId
from partgen.paper.assembly import steps
from partgen.paper.bill import bill
from partgen.plan.train import resolve
from partgen.printing.posed import Posed
from partgen.solids.built import lay, stand
from partgen.solids.mesh import mesh_of

TOUCH = 0.02            # mm3
PROUD = 12.0            # mm, height of the display; 15 mm below the deck is the limit (common practice, no source)


def table(height=PROUD, length=38, width=30, wide=22, high=30, extra="", more=""):
    return (f"[module.display]\nlength = {length}\nwidth = {width}\nheight = {height}\nmass = 15\n{extra}\n"
            f"looks_out = [{{ side = 'top', width = {wide}, height = {high} }}{more}]\n")


def train_of(module, wagon="modules = ['display', 'box']\n"):
    return resolve(described(module=module, wagon=wagon))


def judged(train, check="module-fit"):
    return [f for f in paper.run(train) if f.check == check and f.verdict == "fail"]


# ---- refused, with a cure --------------------------------------------------------------------------------

def test_a_display_too_deep_is_told_by_how_much_and_the_block_named_helps():
    finding, = judged(train_of(table(height=6)))
    block = float(re.search(r"([\d.]+) mm deeper", finding.reason)[1])
    assert str(finding.subject) == "one/display" and finding.value == pytest.approx(18 - 6 + 8.4, abs=0.1)
    assert not judged(train_of(table(height=6 + block)))
    assert judged(train_of(table(height=6 + block - 0.2)))


def test_a_window_that_would_cut_into_the_rim_is_told_by_how_much():
    """It looks out of a wall and up, so the module stands at the wall and its display over the rim."""
    def of(wide, aside):
        return table(length=40, width=40, wide=wide, high=30, extra="turns = []",
                     more=", { side = 'left', width = 8, height = 6 }").replace(
                         "height = 30 }", f"height = 30, aside = {aside} }}")
    finding, = judged(train_of(of(30, 5)))
    assert "left rim" in finding.reason
    missing = float(re.search(r"comes ([\d.]+) mm too near", finding.reason)[1]) + 0.25   # and the half millimetre that
    # a pane's size is told in
    assert not judged(train_of(of(30 - missing, 5 - missing / 2)))
    assert judged(train_of(of(30 - missing + 0.8, 5 - missing / 2 + 0.4)))


def test_under_cups_the_lid_stays_closed_and_the_drip_path_says_what_to_change():
    train = train_of(table(), "modules = ['display']\ncups = ['tea']\n")
    finding, = judged(train, "drip-path")
    assert "display looks up through the lid under 1 seat" in finding.reason
    assert not train.wagons[0].lid.panes and not judged(train)
    assert train_of(table(), "modules = ['display']\n").wagons[0].lid.panes


# ---- any display -----------------------------------------------------------------------------------------

SIDES = st.integers(14, 70)


def blocks(latching):
    """The sockets as shapely boxes, from their places and the widths in the plan."""
    near, far = latching.socket
    half = latching.hole / 2 + latching.wall
    for socket in latching.sockets:
        c, s = np.cos(np.radians(socket.yaw)), np.sin(np.radians(socket.yaw))
        corners = np.array([(-near, -half), (-far, half)]) @ [[c, s], [-s, c]] + (socket.x, socket.y)
        yield flat(*corners.min(axis=0), *corners.max(axis=0))


@settings(max_examples=40)
@given(SIDES, SIDES, st.floats(0.2, 1.0), st.floats(0.2, 1.0), st.integers(-100, 100), st.integers(-100, 100),
       st.sampled_from([None, 120, 170]), st.sampled_from([None, 52, 70]),
       st.sampled_from(["['display']", "['display', 'box']"]), st.booleans())
def test_every_window_is_clear_of_rim_and_sockets_or_refused(length, width, wide, high, aside, rise, long, broad,
                                                              modules, at_wall):
    opening = [share * (side - 0.2) for share, side in ((wide, width), (high, length))]
    middle = [share / 100 * (side - size) / 2 for share, side, size in zip(
        (aside, rise), (width, length), opening, strict=True)]
    look = f"{{ side = 'top', width = {opening[0]}, height = {opening[1]}, aside = {middle[0]}, rise = {middle[1]} }}"
    wall = ", { side = 'left', width = 8, height = 6 }" if at_wall else ""
    module = (f"[module.display]\nlength = {length}\nwidth = {width}\nheight = 14\nmass = 15\n"
              f"looks_out = [{look}{wall}]\n")
    wishes = "".join(f"{key} = {value}\n" for key, value in (("length", long), ("width", broad)) if value)
    train = train_of(module, f"modules = {modules}\n{wishes}")
    plan, = train.wagons
    if plan.wanting:
        return
    pane, = plan.lid.panes
    foot = 2 * (plan.lid.rim.wall + 0.6)
    inner = flat(-(plan.lid.rim.length - foot) / 2, -(plan.lid.rim.width - foot) / 2,
                 (plan.lid.rim.length - foot) / 2, (plan.lid.rim.width - foot) / 2)
    (x0, x1), (y0, y1) = pane.recess.spans
    recess, seen = flat(x0, y0, x1, y1), plan.layout.cutouts[0]
    clear = inner.buffer(-0.79, join_style="mitre").contains(recess) and all(
        block.distance(recess) > 0.79 for block in blocks(plan.lid.clips))
    assert clear == (not judged(train))
    one, = pane.openings
    middle, half = np.array(seen.middle[:2]), np.array(seen.size[:2]) / 2
    shown = flat(*(middle - half), *(middle + half))
    hole = flat(one.x - one.length / 2, one.y - one.width / 2, one.x + one.length / 2, one.y + one.width / 2)
    assert hole.contains(shown) and recess.buffer(-2.4, join_style="mitre").contains(hole)
    if not at_wall and not long:
        assert all(block.distance(recess) > 0.79 for block in [inner.exterior]), "the packing keeps it off the rim"


def test_windows_near_each_other_share_a_pane_and_openings_that_nearly_touch_become_one():
    def panes(gap):
        """Two openings 10 mm long, `gap` apart along a module."""
        at = gap / 2 + 5
        second = f", {{ side = 'top', width = 8, height = 10, rise = {-at} }}"
        module = table(length=60, high=10, wide=12, more=second).replace(
            "height = 10 }", f"height = 10, rise = {at} }}", 1)
        return train_of(module).wagons[0].lid.panes
    assert [len(pane.openings) for pane in panes(1.0)] == [1]
    assert [len(pane.openings) for pane in panes(4.0)] == [2]
    assert [len(pane.openings) for pane in panes(20.0)] == [1, 1]
    assert len(panes(20.0)) == 2


# ---- built -----------------------------------------------------------------------------------------------

WIDE = "modules = ['display']\nwidth = 76\n"
BUILT = {"along": (table(), "modules = ['display', 'box']\n"),
         "at the end": (table(length=130, high=124, wide=22), WIDE),
         "two": (table(wide=16, more=", { side = 'top', width = 4, height = 6, aside = -12.5 }"),
                 "modules = ['display', 'box']\n")}
NAMES = pytest.mark.parametrize("name", BUILT)


@cache
def wagon(name):
    return train_of(*BUILT[name]).wagons[0]


@cache
def lid(name):
    return mesh_of(parts.build("lid", wagon(name).lid))


@pytest.mark.slow
@NAMES
def test_lid_with_a_window_is_one_closed_body_as_large_as_planned(name):
    mesh, plan = lid(name), wagon(name).lid
    assert open_edges(mesh) == 0 and mesh.body_count == 1 and mesh.is_winding_consistent
    assert mesh.volume == pytest.approx(plan.volume, rel=0.03)
    assert mesh.volume < mesh_of(parts.build("lid", _closed(plan))).volume - 300


def _closed(plan):
    return replace(plan, panes=())


@pytest.mark.slow
@NAMES
def test_a_ray_passes_the_window_and_what_looks_up_shows_whole(name):
    plan, mesh = wagon(name), lid(name)
    for cutout in plan.layout.cutouts:
        x, y, _ = cutout.middle
        assert not mesh.ray.intersects_any([(x, y, plan.lid.top + 20)], [(0, 0, -1)])[0]
        assert mesh.ray.intersects_any([(x + cutout.size[0] / 2 + 1, y, plan.lid.top + 20)], [(0, 0, -1)])[0]
        half = np.array(cutout.size[:2]) / 2 - 0.62     # its corners are rounded by 2 mm
        shown = flat(x - half[0], y - half[1], x + half[0], y + half[1])
        for height in np.linspace(plan.lid.bottom + 0.1, plan.lid.top - 0.1, 7):
            assert not unary_union(slice_at(mesh, height)).intersects(shown)


@pytest.mark.slow
@NAMES
def test_a_square_pane_goes_in_from_below_flush_and_no_larger_one(name):
    plan, mesh = wagon(name).lid, lid(name)
    for pane in plan.panes:
        def sheet(grow, rise, cut=pane.sheet):
            return box((cut.length + grow, cut.width + grow, 1.0)).apply_translation(
                (cut.x, cut.y, plan.bottom + 0.5 + rise))
        assert all(overlap(sheet(0.0, rise), mesh) < TOUCH for rise in (0.15, 0.0, -1.0, -8.0))
        assert overlap(sheet(2.0, 0.1), mesh) > 3 and overlap(sheet(0.0, 0.5), mesh) > 30, "nothing holds it"


@pytest.mark.slow
@NAMES
def test_windowed_lid_prints_without_supports_and_its_clips_sit_free(name):
    plan, mesh = wagon(name), lid(name)
    item = next(item for item in plan.items if item.part == "lid")
    posed = Posed(PartId("one", "lid"), lay(item, mesh, Printer()), Printer())
    assert [(f.check, f.reason) for f in (check(posed) for check in PRINT_CHECKS.values()) if f.verdict != "pass"] == []
    clip = mesh_of(parts.build("lid-clip", plan.lid.clips.clip))
    for place in next(item for item in plan.items if item.part == "lid-clip").places:
        held = clip.copy().apply_transform(stand(place))
        assert overlap(held, mesh) < TOUCH
        assert overlap(held, mesh_of(parts.build("body", plan.body))) < TOUCH


def test_the_clips_give_way_to_a_window():
    """A display that fills the end where a clip would sit: both go to the side walls, clear of it."""
    plain, shown = (train_of(*lines).wagons[0].lid.clips.sockets for lines in (
        (table().replace("side = 'top'", "side = 'front'").replace("width = 22, height = 30", "width = 9, height = 9"),
         WIDE),
        BUILT["at the end"]))
    assert [socket.yaw for socket in plain] == [0.0, 180.0] and [socket.yaw for socket in shown] == [90.0, -90.0]


def test_the_pane_is_on_the_bill_and_has_its_step():
    train = train_of(table())
    line, = [line for line in bill(train) if line.what.startswith("pane")]
    assert line.count == 1 and line.size == "35.5 x 27.5 x 1 mm"     # 30.4 and 22.4 mm of opening, 2.5 mm of ledge
    step, = [step for step in steps(train) if "pane" in step.new and "lid" not in step.new]
    assert "35.5 x 27.5 mm over display" in step.text and "glue" in step.text
