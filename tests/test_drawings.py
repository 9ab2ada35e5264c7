"""Drawings: their scale, read back from the SVG; what is printed against the description; words apart; same bytes."""

import re
from xml.etree import ElementTree

import numpy as np
import pytest
import shapely
from conftest import DEMO, described
from hypothesis import given
from hypothesis import strategies as st
from matplotlib.text import Text
from msgspec.structs import replace
from trains import random_description

from partgen.describe.load import load, loads
from partgen.dynamics.ride import course
from partgen.paper.sizes import sizes
from partgen.plan.train import resolve
from partgen.report.sheets import drawings, plan_drawing, wagon_drawing
from partgen.report.sheets.dimension import SIDES, UPRIGHT, Dimension, figure, stood
from partgen.report.sheets.drafting import PAPERS, SCALES, Format, Titles, drawn_sheet

POINT = 25.4 / 72       # mm: the unit of an SVG of ours
OPEN = """
plan = [{ go = "straight", length = 400 }, { go = "left", radius = 340, angle = 22.5, times = 4 },
        { go = "right", radius = 500, angle = 11.25 }, { go = "straight", length = 123.4, times = 3 }]
stop = [{ name = "door", station = 500 }]
obstacle = [{ name = "shelf", station = 200, length = 260, side = "right", distance = 71 }]
spacing = 90
"""


@pytest.fixture(scope="module")
def demo_train():
    return resolve(load(DEMO))


@pytest.fixture(scope="module")
def demo_markers(demo_train):
    return course(demo_train).markers


@pytest.fixture(scope="module")
def written(demo_train, demo_markers, tmp_path_factory):
    """The demo's drawings: their folder, and what is told of each by its path."""
    folder = tmp_path_factory.mktemp("drawings")
    told = drawings.draw_all(demo_train, lambda: demo_markers, folder)
    return folder, {one["path"]: one for one in told}


def none():
    return ()


def lines_of(path):
    """By the id of each group of an SVG its first line's points, y upwards [mm]."""
    tree = ElementTree.parse(path)
    high = float(tree.getroot().get("viewBox").split()[3])
    found = {}
    for group in tree.iter("{http://www.w3.org/2000/svg}g"):
        drawn = group.find("{http://www.w3.org/2000/svg}path")
        if drawn is not None and drawn.get("d"):
            points = np.array([float(one) for one in re.findall(r"-?[\d.]+", drawn.get("d"))])
            if points.size % 2 == 0:
                found.setdefault(group.get("id"), (points.reshape(-1, 2) * (1, -1) + (0, high)) * POINT)
    return found


def size(points):
    return np.ptp(points, axis=0)


# ---- scale


def test_views_of_a_wagon_are_true_to_scale(demo_train, written):
    """Against sizes of the plan, and a bar that is measured on the paper."""
    folder, told = written
    for plan in demo_train.wagons:
        record, drawn = told[f"{plan.name}.svg"], lines_of(folder / f"{plan.name}.svg")
        part, whole = map(float, record["scale"].split(":"))
        scale = part / whole
        assert scale in SCALES
        high = plan.body.top - plan.body.bottom
        assert size(drawn["side body"]) / scale == pytest.approx((plan.length, high), abs=1e-3)
        assert size(drawn["end body"]) / scale == pytest.approx((plan.width, high), abs=1e-3)
        assert size(drawn["top body"]) / scale == pytest.approx((plan.length, plan.width), abs=1e-3)
        assert size(drawn["side tread"]) / scale == pytest.approx([plan.wheelset.tread_diameter] * 2, abs=1e-3)
        assert size(drawn["bar"]) == pytest.approx((50, 0), abs=1e-3)
        # folded: the views stand right below and right beside the first one
        assert drawn["side body"][:, 0].min() == pytest.approx(drawn["top body"][:, 0].min(), abs=1e-3)
        assert drawn["side body"][:, 1].min() == pytest.approx(drawn["end body"][:, 1].min(), abs=1e-3)
        assert drawn["top body"][:, 1].max() < drawn["side body"][:, 1].min()
        assert drawn["end body"][:, 0].min() > drawn["side body"][:, 0].max()


def test_what_hangs_over_the_track_is_seen_from_behind_and_nothing_hangs_lower_than_is_said(demo_train, written):
    """The tray of the track sensor, against where the plan puts that part; below it there is no part but wheels."""
    plan, (folder, told) = demo_train.wagons[0], written
    item = next(item for item in plan.items if item.part == "sensor-holder")
    part, whole = map(float, told["controls.svg"]["scale"].split(":"))
    drawn = {name: (points * whole / part) for name, points in lines_of(folder / "controls.svg").items()}
    tray, body = drawn["end tray"][:, 1], drawn["end body"][:, 1]
    assert body.min() - tray.min() == pytest.approx(plan.body.bottom - item.places[0].z, abs=1e-2)
    assert size(drawn["end tray"])[0] == pytest.approx(2 * item.plan.half_y, abs=1e-2)
    said = next(one for one in wagon_drawing.sized(plan, sizes(demo_train)[0], demo_train.description.track)["end"]
                .dimensions if one.word == "lowest over rail")
    assert said.value == item.places[0].z < min(low for low, _ in plan.hanging)


def test_papers_are_those_of_iso_216(written):
    """A4 is 210 by 297 mm and A3 297 by 420 mm: ISO 216."""
    folder, told = written
    assert PAPERS == {"A4": (297.0, 210.0), "A3": (420.0, 297.0)}
    for name, record in told.items():
        if name.endswith(".svg"):
            box = ElementTree.parse(folder / name).getroot().get("viewBox").split()
            assert [float(one) * POINT for one in box[2:]] == pytest.approx(PAPERS[record["paper"]], abs=1e-3)


def test_scales_are_those_of_iso_5455():
    """50:1, 20:1, 10:1, 5:1, 2:1, 1:1, and 1 to 2, 5, 10, 20 and so on to 10,000 (ISO 5455, from memory)."""
    assert [Format("A4", scale).ratio for scale in SCALES] == [
        "50:1", "20:1", "10:1", "5:1", "2:1", "1:1", "1:2", "1:5", "1:10", "1:20", "1:50", "1:100", "1:200", "1:500",
        "1:1000", "1:2000", "1:5000", "1:10000"]


def test_rails_of_the_plan_are_a_gauge_apart_to_scale(demo_train, written):
    folder, told = written
    part, whole = map(float, told["track.svg"]["scale"].split(":"))
    drawn = lines_of(folder / "track.svg")
    left, right = (shapely.LineString(drawn[f"{side} rail"]) for side in ("left", "right"))
    for share in (0.1, 0.37, 0.8):
        apart = right.distance(left.interpolate(share, normalized=True))
        assert apart * whole / part == pytest.approx(demo_train.description.track.gauge, abs=0.1)
    mean = (left.length + right.length) / 2 * whole / part
    assert mean == pytest.approx(sum(one.length for one in plan_drawing.path_of(demo_train.description.track).pieces),
                                 rel=1e-3)


# ---- what is printed


def expected(train, plan):
    """By view and word what a dimension must say, from the description and from whole outlines."""
    track, wagon, gap = train.description.track, plan.wagon, train.description.coupler.gap
    heights = {kind: max(one.high for one in plan.outlines if (one.part == "cup") is kind or kind)
               for kind in (False, True)}
    base = wagon.pivot_spacing or wagon.wheelbase
    found = {("side", "wheelbase"): wagon.wheelbase, ("side", "pivot spacing"): wagon.pivot_spacing,
             ("side", "overhang"): plan.body.size[0] / 2 - base / 2, ("side", "body"): plan.body.size[0],
             # coupled face to face, bodies stand a gap apart
             ("side", "over couplers"): plan.body.size[0] + gap, ("side", "under body"): plan.frame.top,
             ("side", "coupler"): train.description.coupler.height, ("side", "over rail"): heights[False],
             ("side", "with cups"): heights[True], ("side", "deck"): plan.deck_z,
             ("side", "sensor"): {figure(one.face) for one in plan.hung},
             ("end", "gauge"): track.gauge, ("end", "back to back"): plan.wheelset.back_to_back,
             ("end", "tread"): plan.wheelset.tread_diameter, ("end", "body"): plan.body.size[1],
             ("top", "drawbar"): plan.coupling.inset + gap / 2,
             ("top", "seat"): {figure(abs(at)) for seat, _ in plan.cups for at in (seat.x, seat.y)}}
    if plan.lid:
        sides = {figure(side) for side in plan.lid.size[:2]}
        found |= {("top", "lid"): sides}
    lowest = min(*(height for height, _ in plan.hanging), *(one.bottom for one in plan.hung))
    return found | {("end", f"lowest {'over' if lowest >= 0 else 'under'} rail"): abs(lowest)}


@pytest.mark.parametrize("seed", range(5))
def test_every_dimension_says_what_the_plan_has_and_what_is_drawn(seed):
    train = resolve(loads(random_description(seed, near="limits" if seed % 3 else "middle", modules=seed == 1)))
    track = train.description.track
    for plan, one in zip(train.wagons, sizes(train), strict=True):
        wanted = expected(train, plan)
        for view, sized in wagon_drawing.sized(plan, one, track).items():
            for dimension in sized.dimensions:
                value = wanted[view, dimension.word]
                assert dimension.figure.removeprefix("⌀") in (value if isinstance(value, set) else {figure(value)})
                low, high = sorted(dimension.ends)
                assert high - low == pytest.approx(dimension.value, abs=1e-9), dimension


def texts_of(sheet):
    """Every text of a sheet with its box [mm]."""
    with drawn_sheet(sheet.form, Titles("A line of any name", sheet.name, 1, 9, "all figures invented",
                                        sheet.folded)) as (drawn, axes):
        sheet.draw(drawn, axes)
        drawn.set_dpi(288)
        renderer = drawn.canvas.get_renderer()
        drawn.draw(renderer)
        return [(text.get_text(), np.array(text.get_window_extent(renderer).extents) * 25.4 / drawn.dpi)
                for text in drawn.findobj(Text) if text.get_text().strip() and text.get_visible()
                and (text.axes is None or text.axes.axison or text in text.axes.texts)]


def apart(texts, form):
    """Assert that all lies in the frame, and no two texts on each other."""
    left, low, right, high = form.frame
    for number, (text, box) in enumerate(texts):
        assert box[0] > left and box[1] > low and box[2] < right and box[3] < high, f"{text!r} leaves the frame"
        for other, beside in texts[number + 1:]:
            across = np.minimum(box[2:], beside[2:]) - np.maximum(box[:2], beside[:2])
            # letters' boxes hold their room for accents and tails: a hair of each may meet
            assert across.min() < 0.9, f"{text!r} lies on {other!r}"


@pytest.mark.parametrize("seed", range(20, 24))
def test_words_lie_apart_and_within_the_frame(seed):
    """Wagons and plans of random trains; in layouts modules may be smaller than any letter."""
    train = resolve(loads(random_description(seed, modules=False)))
    for sheet in drawings.sheets(train, none):
        if not sheet.stem.endswith("-layout"):
            apart(texts_of(sheet), sheet.form)


def test_words_of_the_demo_lie_apart_on_every_sheet(demo_train, demo_markers):
    found = {}
    for sheet in drawings.sheets(demo_train, lambda: demo_markers):
        found[sheet.stem] = texts_of(sheet)
        if not sheet.stem.endswith("-layout"):
            apart(found[sheet.stem], sheet.form)
    said = [text for text, _ in found["track"]]
    assert said.count("marker") == 3 and {"tea kitchen", "window seats", "long table", "start"} <= set(said)
    assert any(text.startswith("bank\n") for text, _ in found["pantry-layout"])
    printed = {text for text, _ in found["cups"]}
    for view in wagon_drawing.sized(demo_train.wagons[1], sizes(demo_train)[1], demo_train.description.track).values():
        assert {one.figure for one in view.dimensions} | {one.word for one in view.dimensions} <= printed


# ---- which line a dimension stands on


@given(st.lists(st.tuples(st.floats(-80, 80), st.floats(3, 120)), min_size=1, max_size=7))
def test_no_dimension_lies_on_another_and_the_longer_stands_outside(drawn):
    rows = stood([Dimension("word", long, "below", (start, start + long), (0.0, 0.0)) for start, long in drawn], 0.5)
    for number, one in enumerate(rows):
        assert one.span[0] >= one.taken[0] and one.span[1] <= one.taken[1]
        for other in rows[number + 1:]:
            over = min(one.taken[1], other.taken[1]) - max(one.taken[0], other.taken[0])
            if over > 0.02:
                inner, outer = sorted((one, other), key=lambda row: row.span[1] - row.span[0])
                assert outer.level > inner.level


def test_dimensions_end_to_end_share_a_line():
    """A chain of three with room for their words stands on one line, the whole outside it (ISO 129-1, from memory)."""
    chain = [Dimension("a", 60, "below", (start, start + 60), (0, 0)) for start in (0, 60, 120)]
    rows = stood([*chain, Dimension("all", 180, "below", (0, 180), (0, 0))], 1.0)
    assert [(one.what.word, one.level) for one in rows] == [("a", 0)] * 3 + [("all", 1)]
    assert set(UPRIGHT) < set(SIDES)


# ---- pieces of track


def numbered(train, markers=()):
    plan = plan_drawing.laid_out(train, markers)
    return plan, [tuple(text for text, _, _ in label.lines) for label, _ in plan.labels
                  if label.lines[0][0].isdigit()]


def test_pieces_are_numbered_in_the_order_of_the_file():
    """One that lies several times has a number each time, as checks count them."""
    train = resolve(described(track=OPEN))
    plan, labels = numbered(train)
    said = []
    for piece in train.description.track.plan:
        figures = f"{piece.length:g}" if piece.length else f"R{piece.radius:g} {piece.angle:g}°"
        said += [figures] * piece.times
    assert labels == [(str(number), figures) for number, figures in enumerate(said, 1)] and not plan.missing
    texts = [text for text, _ in texts_of(list(drawings.sheets(train, none))[-1])]
    assert {"door", "stop at 500", "shelf", "start"} <= set(texts)


def test_a_label_stands_at_its_piece(demo_train):
    """Nearer to the middle of its own piece than to any other's, or led to it by a line."""
    plan, _ = numbered(demo_train)
    line = plan_drawing.path_of(demo_train.description.track)
    middles = plan.paper(line.frame((line.bounds[:-1] + line.bounds[1:]) / 2)[0])
    count = 0
    for label, found in plan.labels:
        if label.lines[0][0].isdigit():
            count += 1
            number = int(label.lines[0][0])
            assert found.leader or np.argmin(abs(middles - found.middle)) == number - 1
            assert abs(label.wish.place - middles[number - 1]) < 1e-6
    assert count == len(line.pieces) == 17


def test_grey_and_dashes_on_the_plan_are_told():
    """Where no sentence of the note is left out it keeps within the room that is left for it."""
    two, one = (resolve(described(track=lines)) for lines in (OPEN, ""))
    plan = numbered(two)[0]
    said = plan_drawing.note(replace(plan, missing=99), two)
    assert "locomotive grey" in said and "second track" in said
    assert "second track" not in plan_drawing.note(numbered(one)[0], one)
    lines = drawings.wrap(said + drawings.WITHOUT, drawings.LETTERS_A_LINE)
    assert drawings.LINE * len(lines) <= plan_drawing.NOTE


def test_what_has_no_room_is_told():
    """Four hundred short pieces wound up on one sheet: those without room for words are counted beside the plan."""
    track = "plan = [" + "{ go = 'left', radius = 330, angle = 3, times = 30 }, { go = 'right', radius = 330, " \
        "angle = 3, times = 30 }," * 1 + "{ go = 'straight', length = 4000, times = 5 }]"
    train = resolve(described(track=track))
    plan, labels = numbered(train)
    assert plan.missing and f"all their words: {plan.missing}." in plan_drawing.note(plan, train)
    apart(texts_of(list(drawings.sheets(train, none))[-1]), plan.form)
    assert len(labels) + plan.missing >= 65
