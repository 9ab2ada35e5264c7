"""The ride card and the plots of swinging liquids: what stands on them, where, and that their bytes repeat."""

import json
import re

import numpy as np
import pytest
import shapely
from conftest import DEMO
from loops import SEEING, planned
from matplotlib.lines import Line2D
from matplotlib.patches import StepPatch
from matplotlib.text import Text
from msgspec.structs import replace

from partgen.checks.hangs import hangs_on_defaults
from partgen.cli.ride_tables import show
from partgen.describe.load import BY_DEFAULT, load, loads
from partgen.dynamics import ride as rides
from partgen.export.firmware import ride_json
from partgen.finding import up
from partgen.paper import cautions as paper
from partgen.paper.cautions import Caution, cautions
from partgen.plan import train as trains
from partgen.report import plots, ride_card, sheet
from partgen.report.sheet import BRASS

CROWDED = {
    'title = "Reading-room tea line"': 'title = "Die große Lesesaal-Linie mit $Tee$ und 50 % Espresso"',
    "speed = 250": "speed = 420\ntip_safety = 3", "floor_tilt = 0.5": "floor_tilt = 1.5",
    "[cup.tea]": '[cup.paper]\nuse = "paper-cup"\n[cup.tumbler]\nuse = "small-tumbler"\n[cup.tea]',
    'cups = ["tea", "tea"]': 'cups = ["tea", "paper"]',
    'cups = ["espresso", "espresso"]': 'cups = ["espresso", "tumbler"]',
    "closed = true": "closed = false"}


def ride_of(text):
    return rides.resolve(trains.resolve(loads(text)))


@pytest.fixture(scope="module")
def demo_ride():
    return rides.resolve(trains.resolve(load(DEMO)))


@pytest.fixture(scope="module")
def crowded_ride():
    text = DEMO.read_text(encoding="utf-8")
    for old, new in CROWDED.items():
        assert old in text
        text = text.replace(old, new)
    stops = ", ".join(f'{{ name = "stop at table number {k}", station = {500 * k} }}' for k in range(1, 12))
    return ride_of(re.sub(r"\nstop = \[.*?\n\]", f"\nstop = [{stops}]", text, flags=re.DOTALL))


@pytest.fixture
def drawn(monkeypatch):
    """Give a function that draws a card and hands over its figure's texts with their boxes [mm], and its lines."""
    def look(ride):
        def keep(figure, *_paths):
            found = {}
            renderer = figure.canvas.get_renderer()
            figure.draw(renderer)
            scale = 25.4 / figure.dpi
            texts = [t for t in figure.findobj(Text) if t.get_text().strip() and t.get_visible()]
            found["texts"] = [(t.get_text(), np.array(t.get_window_extent(renderer).extents) * scale) for t in texts
                              if t.axes is None or t.axes.axison or t in t.axes.texts]
            found["lines"] = figure.findobj(Line2D)
            return found
        pages = []
        monkeypatch.setattr(ride_card, "save", lambda figure, *paths: pages.append(keep(figure, *paths)))
        ride_card.draw(ride)
        return pages[0] | {"pages": [page["texts"] for page in pages]}
    return look


def test_card_of_a_train_cut_short_tells_of_it_as_it_rolls(demo_ride, drawn):
    """Sensor, controller and power bank ride on wagons that are left out: nothing is said as if they were there."""
    short = demo_ride.train.kept(("cups",))
    said = " ".join(" ".join(text for text, _ in drawn(rides.resolve(short))["texts"]).split())
    assert re.search("If what drives the train rides on controls[^.]*, left out: till then brake evenly", said)
    assert "with cups alone" in said and " min on " not in said and "firmware/ride.h" not in said
    assert "mm long" not in said and "rides on controls, which is left out" in said and "brake 1" in said
    whole = " ".join(text for text, _ in drawn(demo_ride)["texts"])
    assert " min on a battery of 2000 mAh" in whole and "alone" not in whole and "left out" not in whole
    longer = " ".join(text for text, _ in drawn(rides.resolve(demo_ride.train.kept(("cups", "controls"))))["texts"])
    assert "mm long" in longer and "sensor is on controls" in " ".join(longer.split())


def test_card_of_a_train_without_a_sensor_speaks_of_no_marker(drawn):
    """It tells how far before each stop to brake by hand; dry cells are not charged."""
    cells = 'length = 50\nwidth = 30\nheight = 15\nmass = 50\nbattery = true\ndry = true'
    for module, supply, on in (("", "", "a battery of 2000 mAh at 3.7 V"), ("", "capacity = 1800", "one charge"),
                               (f"[module.cells]\n{cells}", "capacity = 1800", "one set of cells")):
        inside = "modules = ['box', 'cells']" if module else "modules = ['box']"
        ride = planned(track="plan = [{go = 'straight', length = 3000}]", module=module, wagon=inside,
                       ride=f"[supply]\n{supply}")
        said = " ".join(" ".join(text for text, _ in drawn(ride)["texts"]).split())
        assert "marker" not in said and f"brake {ride.markers[0].ahead:.0f} mm before" in said
        assert f"min on {on} (" in said


def test_card_says_what_the_plan_found(demo_ride, drawn):
    said = " ".join(text for text, _ in drawn(demo_ride)["texts"])
    assert demo_ride.train.description.title in said and "250" in said and "mm/s" in said
    for marker in demo_ride.markers:
        assert marker.stop in said and f"{marker.ahead + demo_ride.sensor.behind:.0f} mm before" in said
    for cup in demo_ride.cups:
        assert cup.liquid.label in said and f"{cup.mark:g}" in said and f"{cup.highest_mark:g}" in said
    fall = demo_ride.ramps.fall
    assert f"{fall.time:.2f} s, {fall.way(250, 0):.0f} mm" in said
    for caution in ("Small strong magnets", "Batteries", "Hot drinks", "Before guests come"):
        assert caution in said


@pytest.fixture(scope="module")
def mixed_ride():
    """Ten radii, four kinds of cup with long labels."""
    plan = "".join(f"{{go='left',radius={330 + 30 * k},angle=20}},{{go='right',radius={345 + 30 * k},angle=20}},"
                   "{go='straight',length=500}," for k in range(5))
    stops = ",".join(f"{{name='s{k}',station={600 + 400 * k}}}" for k in range(7))
    return planned(track=f"plan = [{plan}]\nstop = [{stops}]", **mugs(4))


@pytest.fixture(scope="module")
def many_cups():
    """Twenty kinds of cup of one label."""
    return planned(track="plan = [{go='left',radius=330,angle=20},{go='straight',length=3000}]", **mugs(20))


def mugs(count):
    """Return tables of so many kinds of cup, two on each wagon."""
    cups = "".join(f"[cup.kind{k}]\nuse = 'espresso-cup'\nlabel = 'a large mug of blue stoneware'\n"
                   f"fill = {20 + k / 2}\n" for k in range(count))
    wagons = "".join(f"[[wagon]]\nname = 'w{k}'\nwheelbase = 70\ncups = ['kind{k}', 'kind{k + 1}']\n"
                     for k in range(0, count, 2))
    return {"cup": cups, "wagon": wagons}


@pytest.fixture(scope="module")
def careful_ride():
    """All cautions that there are at once: printed wheels, both lights, dry cells beside others, ballast, hot cups."""
    cells = "length = 50\nwidth = 30\nheight = 15\nmass = 50\nbattery = true"
    return planned(track="plan = [{go = 'straight', length = 9000}]", wheelset="printed = true", cup="hot = true",
                   module=f"[module.cells]\n{cells}\ndry = true\n[module.bank]\n{cells}", wagon=(
                       "modules = ['box', 'cells']\nlights = 'lamps'\nballast = 10\ncups = ['tea', 'tea']\n[[wagon]]\n"
                       "name = 'two'\nwheelbase = 70\nmodules = ['bank']\nlights = 'strip'"))


def test_cautions_without_room_stand_whole_on_a_second_page(careful_ride, demo_ride, drawn):
    """Every caution, word by word, each in letters no smaller than on the first page; that one names them all."""
    said, pages = cautions(careful_ride), drawn(careful_ride)["pages"]
    assert len(said) == len({name for name, value in vars(paper).items() if name.startswith("_") and
                             getattr(value, "__annotations__", {}).get("return") == Caution}) + 1
    first, second = (told(page) for page in pages)
    # two columns of lines: every line of each caution is there
    assert all(title in first and title in second for title, _ in said)
    lines = [text for text, _ in pages[1]]
    for _, text in said:
        start = next(place for place, line in enumerate(lines) if text.startswith(line) and len(line) > 20)
        assert " ".join(lines[start:]).startswith(text)
    assert len(drawn(demo_ride)["pages"]) == 1 and "second page" not in told(drawn(demo_ride)["texts"])


@pytest.mark.parametrize("which", ["demo_ride", "crowded_ride", "mixed_ride", "many_cups", "careful_ride"])
def test_everything_lies_on_the_page_and_words_apart(which, drawn, request):
    for texts in drawn(request.getfixturevalue(which))["pages"]:
        _apart(texts)


def _apart(texts):
    boxes = np.array([box for _, box in texts])
    assert (boxes[:, :2] > 3).all() and (boxes[:, 2] < 207).all() and (boxes[:, 3] < 294).all()
    for number, (text, box) in enumerate(texts):
        for other, beside in texts[number + 1:]:
            across = np.minimum(box[2:], beside[2:]) - np.maximum(box[:2], beside[:2])
            # letters' boxes hold their room for accents and tails: a hair of each may meet
            assert across.min() < 0.9, f"{text!r} lies on {other!r}"


@pytest.mark.parametrize("which", ["mixed_ride", "many_cups"])
def test_no_cup_is_left_out(which, drawn, request):
    """Of each the end of its name, its fill mark and the one that is never to be passed, in this order."""
    ride = request.getfixturevalue(which)
    texts = [text for text, _ in drawn(ride)["texts"]]
    assert len(ride.cups) in (4, 20)
    for cup in ride.cups:
        here, = [place for place, text in enumerate(texts)
                 if text.endswith(f"{cup.liquid.name})") and not text.startswith("how high")]
        marks = [f"{float(mark):g}" for mark in (up(cup.level_mark), up(cup.highest_mark))]
        marks = marks if cup.level else ["no drink"]
        assert marks == texts[here + 1:here + 1 + len(marks)] if len(ride.cups) > 4 else set(marks) <= set(texts)


def test_markers_are_drawn_where_the_plan_has_them(demo_ride, drawn):
    line = shapely.LineString(demo_ride.path.point(np.linspace(0, demo_ride.path.length, 20_000)))
    bars = [one for one in drawn(demo_ride)["lines"] if one.get_color() == BRASS and one.get_linewidth() == 4]
    assert len(bars) == len(demo_ride.markers)
    for bar, marker in zip(bars, demo_ride.markers, strict=True):
        middle = shapely.Point(np.mean(bar.get_xydata(), axis=0))
        assert line.distance(middle) < 0.01 and line.project(middle) == pytest.approx(marker.begins, abs=0.1)


def test_bytes_repeat_and_hold_no_date(demo_ride, tmp_path):
    for name in ("one", "two"):
        ride_card.draw(demo_ride, tmp_path / f"{name}.png", tmp_path / f"{name}.pdf")
        plots.draw_swings(demo_ride, "tea", tmp_path / f"{name}-tea.svg")
    for suffix, start in ((".png", b"\x89PNG"), (".pdf", b"%PDF"), ("-tea.svg", b"<?xml")):
        data = (tmp_path / f"one{suffix}").read_bytes()
        assert data == (tmp_path / f"two{suffix}").read_bytes() and data.startswith(start)
        assert b"CreationDate" not in data and b"<dc:date>" not in data


def test_plot_shows_the_rise_of_each_stop(demo_ride, monkeypatch):
    kept = []
    monkeypatch.setattr(plots, "save", lambda figure, *_: kept.extend(figure.axes[0].lines))
    plots.draw_swings(demo_ride, "espresso")
    for swing in demo_ride.swings[:3]:
        curve = next(line for line in kept if str(line.get_label()).startswith(plots.SAID[swing.kind]))
        peak = np.abs(curve.get_ydata()).max()
        assert peak == pytest.approx(swing.liquid.peak(*swing.profile), rel=0.06)     # after the stop a bound
        assert curve.get_ydata()[np.argmin(np.abs(curve.get_xdata() - swing.time / 2))] > 0     # thrown forward


def test_stairs_are_what_the_controller_holds(demo_ride):
    """The drawn stairs against the table of the controller's constants."""
    with sheet.plot(92, 33) as (_, axes):
        plots.draw_ramp(axes, demo_ride, 240.0)
        stairs, = [patch for patch in axes.patches if isinstance(patch, StepPatch)]
        line = axes.lines[-1].get_xydata()
    values, edges, _ = stairs.get_data()
    told = json.loads(ride_json(demo_ride, "0" * 64))
    table = [share for share, in told["tables"]["stop_ramp"]["rows"]]
    assert values == pytest.approx([240 * (1 - share) for share in table], abs=0.02)
    held = told["constants"]["step_samples"]["value"] * told["constants"]["sample_time"]["value"]
    assert np.diff(edges) == pytest.approx(held)
    assert line[0] == pytest.approx((0, 240)) and line[-1] == pytest.approx((demo_ride.ramps.fall.time, 0), abs=1e-9)
    # the way under the curve is the stop's, by the trapezium rule
    assert np.trapezoid(line[:, 1], line[:, 0]) == pytest.approx(demo_ride.ramps.fall.way(240.0, 0), rel=1e-3)


def test_what_has_no_room_on_the_card_is_pointed_to(crowded_ride, demo_ride, drawn):
    said = " ".join(text for text, _ in drawn(crowded_ride)["texts"])
    assert len(crowded_ride.markers) == 12 and "8 more: see firmware/ride.json" in said
    assert "more" not in " ".join(text for text, _ in drawn(demo_ride)["texts"] if "see firmware" in text)
    curves = tuple(replace(demo_ride.curves[0], radius=320.0 + 17 * k) for k in range(7))
    said = " ".join(text for text, _ in drawn(replace(demo_ride, curves=curves))["texts"])
    assert "3 more radii: see firmware/ride.json" in said and "on radius 371" in said and "on radius 388" not in said


# ---- one answer, wherever it stands

BEND = "plan = [{ go = 'left', radius = 320, angle = 90 }, { go = 'straight', length = 500 },\n" \
       "        { go = 'left', radius = 320, angle = 90 }]"


def told(texts):
    return " ".join(" ".join(text for text, _ in texts).split())


@pytest.mark.parametrize("speed", [60.06, 251.76, 500.06])
def test_a_speed_is_told_rounded_down_wherever_it_stands(speed, drawn, capsys):
    """A gentle straight line is run as fast as wished: card, terminal and constants tell no more than that."""
    ride = planned(track="plan = [{ go = 'straight', length = 9000 }]", wagon="cups = ['tea']",
                   ride=f"[ride]\nspeed = {speed}\nramp = 'shaped'\nstop_time = 6\nstart_time = 6")
    assert ride.speed == speed and not ride.faults
    whole, tenths = int(speed), int(10 * speed) / 10
    card = told(drawn(ride)["texts"])
    show(ride)
    said = capsys.readouterr().out
    assert f"from {whole} mm/s to standstill" in card and f"up to {whole} mm/s" in said
    assert f"stopping from {whole} mm/s" in said and f"0 to {whole} " in said
    for text in (card, said):
        assert not {str(whole + 1), f"{speed:g}"} & set(text.split())
    constants = json.loads(ride_json(ride, "0" * 64))
    [marker] = constants["tables"]["markers"]["rows"]
    assert [constants["constants"]["speed"]["value"], marker[3]] == [tenths] * 2
    assert {row[1] for row in constants["tables"]["run_1"]["rows"]} == {tenths}


def test_stops_are_told_of_the_fastest_that_is_begun(gentle, drawn):
    """One stop of this loop is begun at less than half of the other's speed."""
    assert min(marker.speed for marker in gentle.markers) < gentle.brakes_from / 2
    assert f"from {int(gentle.brakes_from)} mm/s to standstill" in told(drawn(gentle)["texts"])


def test_climbs_are_those_of_the_speed_that_the_train_stops_from(drawn, capsys):
    """The swings' own braking summed up, by the card's bars: where the bend is too tight for the speed that is
    described, no stop begins at it."""
    ride = planned(track=BEND, wagon="cups = ['tea']", ride="[ride]\nspeed = 800.06\nramp = 'shaped'")
    assert ride.brakes_from == max(marker.speed for marker in ride.markers) < 700
    for swing in ride.swings:
        times, rates = swing.profile
        assert -np.trapezoid(rates, times) == pytest.approx(ride.brakes_from)
    card, whole = told(drawn(ride)["texts"]), int(ride.brakes_from)
    assert f"from {whole} mm/s to standstill" in card
    show(ride)
    assert f"stopping from {whole} mm/s" in capsys.readouterr().out
    kinds = {swing.kind: swing.climb for swing in ride.swings}
    assert all(f"{kinds[kind]:.1f} mm" in card for kind in ("shaped", "even", "cut"))


def test_a_marker_is_as_long_on_the_card_as_in_the_plan_and_the_constants(drawn, capsys):
    """Three readings 0.02 s apart at 500.06 mm/s take 30.004 mm: a tile is longer, by no more than a whole mm."""
    ride = planned(track="plan = [{ go = 'straight', length = 9000 }]",
                   ride="[ride]\nspeed = 500.06\nstop_time = 6\nstart_time = 6", **SEEING)
    assert ride.train.trackside.marker.length == 31
    assert "31 mm long" in told(drawn(ride)["texts"])
    show(ride)
    assert re.search(r"^end +\d+ +\d+ +31 ", capsys.readouterr().out, re.MULTILINE)
    assert json.loads(ride_json(ride, "0" * 64))["tables"]["markers"]["rows"][0][1] == 31


def test_card_says_that_a_gauge_for_a_cup_described_too_full_stands_too_high(demo_ride, drawn):
    """A cup that spills however little is in it gets no mark at all."""
    [cup, *others] = demo_ride.cups
    for level, deep in ((20.5, "20.5 mm deep"), (0.0, "no drink")):
        texts = drawn(replace(demo_ride, cups=(replace(cup, level=level, safe=level), *others)))["texts"]
        assert deep in told(texts) and "less than described, do not fill by a gauge" in told(texts)
        assert [text for text, _ in texts].count(f"{cup.liquid.rim - level:g}") == (2 if level else 0)
    assert "less than described" not in told(drawn(demo_ride)["texts"])


def test_card_marks_what_hangs_on_values_that_nobody_gave(demo_ride, drawn):
    """As the table of `ride` does; the demo leaves out how heavy its drinks are, and how its laps scatter."""
    assert all({key, "ride.speed_scatter"} <= set(hangs_on_defaults(demo_ride.train.description, figure))
               for figure, key in (("speeds", "cup.tea.density"), ("fills", "cup.tea.viscosity")))
    said = [text for text, _ in drawn(demo_ride)["texts"]]
    assert {"How fast *", "How full *", f"* {BY_DEFAULT}"} <= set(said)
    assert said.count(f"* {BY_DEFAULT}") == 2


def test_a_fullest_mark_is_never_rounded_towards_the_rim(demo_ride, drawn, capsys):
    """17.54 mm of free wall are told as 17.6 by terminal and card: 17.5 would be too high."""
    [cup, *others] = demo_ride.cups
    deep = cup.liquid.rim - 17.54
    ride = replace(demo_ride, cups=(replace(cup, level=deep, safe=deep), *others))
    show(ride)
    [row] = [line for line in capsys.readouterr().out.split("fullest")[1].splitlines()
             if line.startswith(cup.liquid.label)][:1]
    assert re.split(r"  +", row)[2] == "17.6"
    assert [text for text, _ in drawn(ride)["texts"]].count("17.6") == 2
