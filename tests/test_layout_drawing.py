"""The layout drawing, read back by Pillow: boxes of the right colour stand where the plan has them."""

import re

import numpy as np
import pytest
from conftest import described
from loops import SEEING
from matplotlib.patches import Circle, Rectangle
from msgspec.structs import replace
from PIL import Image

from partgen.describe.printer_tables import Printer
from partgen.dynamics.load_states import unladen
from partgen.plan.train import resolve
from partgen.report import layout_drawing
from partgen.report.layout_drawing import COLOURS, draw

BANK = "battery = true\n[module.hot]\nlength = 30\nwidth = 20\nheight = 12\nmass = 9\nheat = 1\n"


@pytest.fixture(scope="module")
def plan():
    one, = resolve(described(module=BANK, wagon="modules = ['box', 'hot']\nwires = [['box', 'hot']]")).wagons
    return one


def extent(pixels, colour):
    """From where to where pixels of a colour reach: left, right, top, bottom."""
    wanted = np.array([int(colour[k:k + 2], 16) for k in (1, 3, 5)])
    rows, columns = np.nonzero((np.abs(pixels - wanted) <= 2).all(axis=2))
    return columns.min(), columns.max() + 1, rows.min(), rows.max() + 1


def test_boxes_stand_where_the_plan_has_them(plan, tmp_path):
    draw(plan, Printer(), tmp_path / "one.png")
    pixels = np.asarray(Image.open(tmp_path / "one.png").convert("RGB")).astype(int)
    above = pixels[150:len(pixels) * 55 // 100]         # below the legend, above the view from the side
    found = {placed.name: extent(above, COLOURS["battery" if placed.module.battery else "warm"])
             for placed in plan.layout.placed}
    box, hot = plan.layout.placed
    scale = (found["box"][1] - found["box"][0]) / box.length
    for placed in (box, hot):
        left, right, top, bottom = found[placed.name]
        assert right - left == pytest.approx(scale * placed.length, abs=4)       # an outline of 2 px on each side
        assert bottom - top == pytest.approx(scale * placed.width, abs=4)
    middles = {name: ((left + right) / 2, (top + bottom) / 2) for name, (left, right, top, bottom) in found.items()}
    assert middles["box"][0] - middles["hot"][0] == pytest.approx(scale * (box.x - hot.x), abs=3)
    assert middles["hot"][1] - middles["box"][1] == pytest.approx(scale * (box.y - hot.y), abs=3)


def test_a_drawing_says_what_it_shows_and_its_bytes_repeat(plan, tmp_path):
    for name in ("a.svg", "b.svg", "a.png", "b.png"):
        draw(plan, Printer(), tmp_path / name)
    text = (tmp_path / "a.svg").read_text()
    assert (tmp_path / "a.svg").read_bytes() == (tmp_path / "b.svg").read_bytes()
    assert (tmp_path / "a.png").read_bytes() == (tmp_path / "b.png").read_bytes()
    said = " ".join(re.findall(r"<!--(.*?)-->", text, re.DOTALL))
    run = abs(plan.layout.placed[0].x - plan.layout.placed[1].x) + abs(plan.layout.placed[0].y)
    for word in ("one: where each module goes", "axle", "front", f"{plan.length:.1f} mm", "centre of gravity",
                 "Proven best", f"box to hot {run:.0f} mm"):
        assert word in said


@pytest.fixture
def views(monkeypatch, tmp_path):
    """Give a function that draws a plan's layout and hands over its view from the side and from above."""
    def look(plan):
        kept = []
        monkeypatch.setattr(layout_drawing, "save", lambda figure, _path: kept.extend(figure.axes))
        draw(plan, Printer(), tmp_path / "none.png")
        return kept[1:]
    return look


def rectangles(axes, colour):
    """Left, bottom, width and height of every rectangle of a colour."""
    wanted = [int(colour[k:k + 2], 16) / 255 for k in (1, 3, 5)]
    return [patch.get_bbox().bounds for patch in axes.patches
            if isinstance(patch, Rectangle) and np.allclose(patch.get_facecolor()[:3], wanted)]


def test_the_side_view_stands_on_the_rails(plan, views):
    box, hot = plan.layout.placed
    plan = replace(plan, layout=replace(plan.layout, placed=(box, replace(hot, z=2.5))))     # as if it lay on something
    beside, above = views(plan)
    for placed in plan.layout.placed:
        colour = COLOURS["battery" if placed.module.battery else "warm"]
        x, z, length, height = rectangles(beside, colour)[0]
        assert (x, length) == pytest.approx((placed.x - placed.length / 2, placed.length))
        assert (z, height) == pytest.approx((plan.floor_z + placed.z, placed.height))
        assert rectangles(above, colour)[0][1] == pytest.approx(placed.y - placed.width / 2)
    wall, lid = rectangles(beside, layout_drawing.WALL)
    assert wall == pytest.approx((-plan.length / 2, plan.body.bottom, plan.length, plan.body.top - plan.body.bottom))
    assert lid == pytest.approx((-plan.lid.length / 2, plan.lid.bottom, plan.lid.length,
                                 plan.lid.top - plan.lid.bottom))
    wheels = [patch for patch in beside.patches if isinstance(patch, Circle)]
    assert sorted(wheel.center[0] for wheel in wheels) == pytest.approx(sorted(plan.gear.axles))
    assert {round(wheel.center[1] - wheel.radius, 6) for wheel in wheels} == {0.0}, "they run on the rails"


def test_centres_of_gravity_are_marked_without_the_load(views):
    """Modules by hand; of the whole wagon, from its load states' parts with every seat empty."""
    plan, = resolve(described(module=BANK, wagon="modules = ['box', 'hot']\ncups = ['tea']\nwidth = 70")).wagons
    marked = [{line.get_marker(): line.get_xydata()[0] for line in axes.lines if line.get_markersize() == 8}
              for axes in views(plan)]
    whole = sum(placed.module.mass for placed in plan.layout.placed)
    x, y, z = (sum(placed.module.mass * place for placed, place in zip(plan.layout.placed, places, strict=True)) / whole
               for places in zip(*((placed.x, placed.y, plan.floor_z + placed.z + placed.height / 2)
                                   for placed in plan.layout.placed), strict=True))
    assert marked[0]["o"] == pytest.approx((x, z)) and marked[1]["o"] == pytest.approx((x, y))
    rows = unladen(plan, Printer()).bare
    x, y, z = rows[:, 0] @ rows[:, 1:] / rows[:, 0].sum()
    assert marked[0]["D"] == pytest.approx((x, z)) and marked[1]["D"] == pytest.approx((x, y))


def test_what_hangs_below_is_named_on_its_leads_way_and_no_mark_hides_a_figure(views):
    plan, = resolve(described(module=SEEING["module"], wagon="modules = ['box']")).wagons
    beside, above = views(plan)
    lead, = plan.layout.leads
    assert {text.get_text(): text.xy for text in above.texts}["box\nbelow"] == (lead.x, lead.y)
    marks = [line for axes in (beside, above) for line in axes.lines if line.get_markersize() == 8]
    assert [mark.get_markerfacecolor() for mark in marks] == ["none"] * 4
