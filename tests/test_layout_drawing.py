"""The layout drawing, read back by Pillow: boxes of the right colour stand where the plan has them."""

import re

import numpy as np
import pytest
from conftest import described
from PIL import Image

from partgen.plan.train import resolve
from partgen.report.layout_drawing import COLOURS, draw

BANK = "battery = true\n[module.hot]\nlength = 30\nwidth = 20\nheight = 12\nmass = 9\nwarm = true\n"


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
    draw(plan, "PLA", tmp_path / "one.png")
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
        draw(plan, "PLA", tmp_path / name)
    text = (tmp_path / "a.svg").read_text()
    assert (tmp_path / "a.svg").read_bytes() == (tmp_path / "b.svg").read_bytes()
    assert (tmp_path / "a.png").read_bytes() == (tmp_path / "b.png").read_bytes()
    said = " ".join(re.findall(r"<!--(.*?)-->", text, re.DOTALL))
    run = abs(plan.layout.placed[0].x - plan.layout.placed[1].x) + abs(plan.layout.placed[0].y)
    for word in ("one: where each module goes", "axle", "front", f"{plan.length:.1f} mm", "centre of gravity",
                 "Proven best", f"box to hot {run:.0f} mm"):
        assert word in said
