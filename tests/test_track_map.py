"""Maps of the track: what they say against the findings, what they draw against shapely."""

import re

import numpy as np
import pytest
import shapely
from conftest import DEMO
from matplotlib.text import Text

from partgen.checks import on_plan as paper
from partgen.describe.load import loads
from partgen.plan.train import resolve
from partgen.report import track_map

SHELF = ('\nobstacle = [{ name = "shelf", station = 700, length = 260, side = "right", distance = 71, low = 0, '
         'high = 90 }]')


def train_of(**changes):
    text = DEMO.read_text(encoding="utf-8")
    for old, new in changes.values():
        assert old in text
        text = text.replace(old, new, 1)
    return resolve(loads(text))


@pytest.fixture
def drawn(monkeypatch, tmp_path):
    """Give a function that draws a map and hands over its axes; nothing is written."""
    def look(draw, train):
        kept = []
        monkeypatch.setattr(track_map, "save", lambda figure, _path: kept.append(figure.axes[0]))
        said = draw(train, tmp_path / "map.png")
        return (kept[0] if kept else None), said
    return look


def said_on(axes):
    return "\n".join(text.get_text() for text in axes.findobj(Text))


def test_the_tightest_place_is_that_of_the_findings(drawn):
    train = train_of()
    axes, _ = drawn(track_map.draw_track, train)
    left = min(finding.limit - finding.value for finding in paper.run(train)
               if finding.check in ("inner-throw", "outer-throw"))
    name, number = re.search(r"tightest: (\w+), ([\d.]+) mm left", said_on(axes)).groups()
    assert float(number) == pytest.approx(left, abs=0.051)
    assert name in {plan.name for plan in train.wagons}


def test_rails_lie_a_gauge_apart_and_a_shelf_where_it_stands(drawn):
    train = train_of(shelf=("closed = true", "closed = true" + SHELF))
    axes, _ = drawn(track_map.draw_track, train)
    left, right = (shapely.LineString(line.get_xydata()) for line in axes.lines[:2])
    gauge = train.description.track.gauge
    for share in (0.1, 0.37, 0.8):
        assert right.distance(left.interpolate(share, normalized=True)) == pytest.approx(gauge, abs=0.05)
    centre = shapely.LineString(track_map.path_of(train.description.track).point(np.linspace(0, 1400, 3000)))
    shelf, = [shapely.Polygon(patch.get_xy()) for patch in axes.patches
              if np.allclose(patch.get_facecolor()[:3], [int("2b2a27"[k:k + 2], 16) / 255 for k in (0, 2, 4)])]
    assert centre.distance(shelf) == pytest.approx(71, abs=0.05)
    along = [centre.project(shapely.Point(xy)) for xy in shelf.exterior.coords]
    assert (min(along), max(along)) == pytest.approx((700, 960), abs=0.5)
    assert "shelf" in said_on(axes)


def test_the_nearest_pair_is_drawn_as_far_apart_as_the_finding_says(drawn):
    train = train_of()
    axes, shown = drawn(track_map.draw_nearest, train)
    least = min((finding for finding in paper.run(train) if finding.check == "body-gap"), key=lambda f: f.value)
    front, rear = (shapely.Polygon(patch.get_xy()) for patch in axes.patches)
    assert shown and front.distance(rear) == pytest.approx(least.value, abs=0.01)
    assert f"{least.subject}: {least.value:.1f} mm apart" in said_on(axes)


def test_no_pair_is_drawn_where_the_track_is_too_tight_for_every_one(drawn, monkeypatch):
    from msgspec.structs import replace
    train = train_of()
    stuck = [replace(one, rear=replace(one.rear, pivot=0.0)) for one in track_map.pairs(train)]
    monkeypatch.setattr(track_map, "pairs", lambda _train: stuck)
    assert drawn(track_map.draw_nearest, train) == (None, False)
