"""What the checks of a plan find wrong, each kind by an example that must fail, with the numbers in its words; and
what the engine changes agrees with what the example needs."""

import re
from math import asin, ceil, degrees, sqrt

import pytest
from msgspec.structs import replace
from plans import MODULES, cured, train_of

from partgen.checks.modules import module_fit
from partgen.checks.on_plan import run
from partgen.checks.wheels import wheel_room

BOX = dict(length=60.0, width=30.0, height=18.0, mass=40)


def failing(train, words):
    """Return the failing findings of a train whose reason has these words."""
    return [f for f in run(train) if f.verdict == "fail" and re.search(words, f.reason)]


def number(finding, words):
    """Return the number that stands for `#` in these words of a reason."""
    return float(re.search(words.replace("#", r"(-?[\d.]+)"), finding.reason)[1])


def up(value, places=1):
    """Return how a number is said that must not be missed."""
    return ceil(value * 10**places - 1e-6) / 10**places


# ---- wheels

def test_play_between_wheels_and_rails():
    """Gauge 37.5, wheels 32.1 mm apart with flanges of 2.6 mm: 0.2 mm of play; a hundredth of the gauge is asked."""
    wheels = {"standard": {"use": "toy-37.5", "back_to_back": 32.1}}
    finding, = failing(train_of({}, wheelset=wheels), "0.20 mm of play to wheels 32.1 mm apart")
    assert (finding.value, finding.limit) == pytest.approx((37.5 - 32.1 - 5.2, 0.375))
    told = cured(train_of({}, wheelset=wheels), "wheel-play")
    assert 0 <= 32.1 - 0.175 - told["wheelset.standard.back_to_back"] < 0.05


def test_axles_that_meet():
    """Bars longer than holders and the wheels of 20.4 mm; of 4 mm of travel teeth leave 3. Then larger wheels."""
    train = train_of({"wheelbase": 26.3, "travel": 4.0})
    long = train.wagons[0].gear.bar.length
    finding, = failing(train, "other axle")
    assert 23 < long < 24 and finding.value == pytest.approx(26.3 - 6 - long) and finding.limit == 0.8
    told = cured(train, "wheel-room")
    assert told["wagon[1].wheelbase"] == up(26.3 + 0.8 - finding.value) and 0 <= told["wagon[1].travel"] < 3
    big = {"standard": {"use": "toy-37.5", "tread_diameter": 26.6, "flange_diameter": 30.0}}
    train = train_of({"wheelbase": 32.3, "travel": 4.0}, wheelset=big)
    finding, = failing(train, "other axle")
    assert finding.value == pytest.approx(32.3 - 6 - 30.0)
    assert cured(train, "wheel-room")["wagon[1].wheelbase"] == pytest.approx(30 + 6 + 0.8)


def test_clamp_bars_that_meet():
    """Bars are longer than their holders: hexagons for nuts of 5.5 mm over corners, and three lines round them."""
    ball = {"use": "toy-37.5", "ends": "bearing", "bearing_outer": 10.0, "bearing_width": 4.0, "axle_diameter": 3.0}
    train = train_of({"wheelbase": 30.3, "travel": 0.0}, wheelset={"standard": ball})
    gear = train.wagons[0].gear
    assert 29.5 < gear.bar.length < 30.3 and 2 * gear.holder.half_length < 30.3 - 0.8
    finding, = failing(train, "other axle")
    assert finding.value == pytest.approx(30.3 - gear.bar.length)
    told = cured(train, "wheel-room")["wagon[1].wheelbase"]
    assert told == up(gear.bar.length + 0.8)


def moved(train, **gear):
    plan, = train.wagons
    return replace(train, wagons=(replace(plan, gear=replace(plan.gear, **gear)),))


def test_a_frame_too_low_and_a_seat_too_near_are_seen():
    """Frames 0.5 mm over the flanges, or axles that slide 3 mm further than there is room for."""
    train = train_of({})
    plan, = train.wagons
    low, = wheel_room(moved(train, frame_bottom=plan.gear.wheel_top + 0.5))
    assert (low.verdict, low.value) == ("fail", pytest.approx(0.5)) and "of the frame" in low.reason
    far, = wheel_room(moved(train, travel=plan.gear.travel + 3.0))
    ahead = plan.frame.seats[0].x - plan.coupling.guard_outer - 32 - plan.gear.travel - 3.0
    assert far.value == pytest.approx(ahead - plan.gear.holder.half_length + 0.8)
    assert "of the coupler seat" in far.reason
    held, = wheel_room(train)
    assert held.verdict == "pass" and held.reason == ""


def test_wheels_wider_than_the_guard_are_held_to_the_seat_themselves():
    """Guard of 7.7 mm radius between wheels 14.6 mm apart: their flanges pass beside the guard, the holder does not."""
    big = {"standard": {"use": "toy-37.5", "back_to_back": 31.2, "tread_diameter": 34.0, "flange_diameter": 38.0}}
    wide, narrow = train_of({}, wheelset=big), train_of({}, wheelset=big)
    plan, = wide.wagons
    assert plan.coupling.guard_outer < plan.wheelset.back_to_back / 2
    free, = wheel_room(wide)
    tight = plan.wheelset.model_copy(update={"back_to_back": 2 * plan.coupling.guard_outer - 0.1})
    met, = wheel_room(replace(narrow, wagons=(replace(plan, wheelset=tight),)))
    ahead = plan.frame.seats[0].x - plan.coupling.guard_outer - plan.base / 2 - plan.gear.travel
    assert met.value == pytest.approx(min(ahead - 19.0, ahead - plan.gear.holder.half_length + 0.8,
                                          plan.gear.frame_bottom - plan.gear.wheel_top))
    assert met.value < free.value


@pytest.mark.parametrize("what", ["drawbar", "coupler seat"])
def test_bogies_that_meet_the_coupler(what):
    """A coupler seat set nearer than full swing leaves it; a drawbar whose head comes back nearer."""
    train = train_of({"wheelbase": 36.0, "pivot_spacing": 118.5})
    plan, = train.wagons
    if what == "drawbar":
        plan = replace(plan, coupling=replace(plan.coupling, head_back=plan.coupling.head_back - 9.0))
        expected = plan.frame.seats[0].x - plan.base / 2 + plan.coupling.head_back - plan.gear.room.reach
    else:
        plan = replace(plan, coupling=replace(plan.coupling, guard_outer=plan.coupling.guard_outer + 6.0))
        expected = plan.gear.room.gap(plan.frame.seats[0].x - plan.base / 2, plan.coupling.guard_outer)
    finding, = wheel_room(replace(train, wagons=(plan,)))
    assert (finding.verdict, finding.value) == ("fail", pytest.approx(expected)) and f"of the {what}" in finding.reason


def test_attack_angle_by_the_chord():
    """sin of the angle is half the wheelbase over the radius."""
    train = train_of({"wheelbase": 96.0}, track={"use": "toy-37.5", "min_radius": 210.0})
    finding, = [f for f in run(train) if f.check == "attack-angle"]
    assert (finding.verdict, finding.limit) == ("fail", 12.0)
    assert finding.value == pytest.approx(degrees(asin(48 / 210)))
    assert 0 <= 2 * 210 * 0.20791 - cured(train, "attack-angle")["wagon[1].wheelbase"] < 0.11       # sin 12 deg


def test_flanges_over_sleepers():
    """Flanges of 1.7 mm on rails 2.0 mm high; 0.5 mm are asked."""
    train = train_of({}, track={"use": "toy-37.5", "rail_height": 2.0})
    finding, = failing(train, "flange comes within 0.30 mm")
    assert (finding.value, finding.limit) == pytest.approx((2.0 - 1.7, 0.5))
    told = cured(train, "under-clearance")
    assert told["track.rail_height"] == pytest.approx(2.2)
    assert told["wheelset.standard.flange_diameter"] == pytest.approx(20.4 - 2 * 0.2)


# ---- modules

def test_what_lies_too_deep_under_its_window():
    """A dial 13 mm high on 1 mm of tape beside a module of 44 mm: read from 15 mm below the deck at most."""
    tall = MODULES | {"tower": dict(length=25.0, width=25.0, height=44.0, mass=20, turns=[])}
    finding, = failing(train_of({"modules": ["dial", "tower"]}, module=tall), "looks up from")
    inside = 44 + 1 + 5.0
    assert finding.value == pytest.approx(inside + 2.4 - 1.0 - 13, abs=0.06) and finding.limit == 15.0
    assert number(finding, "deck, # mm deeper") == up(finding.value - 15.0)
    told = cured(train_of({"modules": ["dial", "tower"]}, module=tall), "module-fit", "looks up from")
    assert told["module.dial.height"] == pytest.approx(13 + finding.value - 15.0, abs=0.11)


def test_a_window_too_near_the_rim_or_a_clip():
    """A pane's recess pushed towards each wall in turn, and under a clip's socket."""
    train = train_of({"modules": ["dial", "tray"], "width": 71.5})
    plan, = train.wagons
    pane, = plan.lid.panes
    rim, foot = plan.lid.rim, plan.lid.rim.wall + 0.6
    for wall, axis, sign in (("front", 0, 1), ("back", 0, -1), ("left", 1, 1), ("right", 1, -1)):
        side, half = ((rim.length, pane.recess.length), (rim.width, pane.recess.width))[axis]
        at = sign * (side / 2 - foot - half / 2 - 0.3)
        place = {"x": at, "y": 0.0} if axis == 0 else {"x": 30.0, "y": at}
        lid = replace(plan.lid, panes=(replace(pane, recess=replace(pane.recess, **place)),),
                      clips=replace(plan.lid.clips, sockets=()))
        finding = next(f for f in module_fit(replace(train, wagons=(replace(plan, lid=lid),))) if "window" in f.reason)
        assert (finding.value, finding.limit) == pytest.approx((0.3, 0.8)) and f"near the {wall} rim" in finding.reason
        assert "0.5 mm too near" in finding.reason
    (x0, x1), (y0, y1) = plan.lid.clips.blocks[0]
    lid = replace(plan.lid, panes=(replace(pane, recess=replace(pane.recess, x=(x0 + x1) / 2, y=(y0 + y1) / 2)),))
    finding = next(f for f in module_fit(replace(train, wagons=(replace(plan, lid=lid),))) if "window" in f.reason)
    assert finding.value < 0 and ("clip's socket" in finding.reason or "rim" in finding.reason)


def test_no_way_in_for_the_wires_of_a_light_strip():
    train = train_of({"modules": ["tray"], "lights": "strip"})
    plan, = train.wagons
    lid = replace(plan.lid, strip=replace(plan.lid.strip, free=1.4))
    finding = next(f for f in module_fit(replace(train, wagons=(replace(plan, lid=lid),))) if "way in" in f.reason)
    assert (finding.verdict, finding.value, finding.limit) == ("fail", 1.4, 2.0)
    assert str(finding.subject) == "one/light strip"
    assert number(finding, "# mm are missing beside one") == up(0.6)
    assert all(f.verdict == "pass" for f in module_fit(train))


def test_modules_on_top_of_one_that_must_come_out():
    """Three chips on one cell: two more to lift off than one may have to."""
    train = train_of({"modules": ["cell", "chip", "chip2", "chip3"], "levels": 2}, module={
        "cell": BOX | {"carries": True, "length": 130.0, "width": 44.0},
        **{name: MODULES["chip"] for name in ("chip", "chip2", "chip3")}})
    finding, = failing(train, "must come out before cell")
    assert (finding.value, finding.limit) == (3, 1) and "2 more than" in finding.reason
    assert cured(train, "reach")["wagon[1].levels"] == 1
    for name in ("chip", "chip2", "chip3"):
        assert name in finding.reason


def test_a_window_under_cups():
    finding, = failing(train_of({"modules": ["dial"], "cups": ["tea"]}), "looks up through the lid")
    assert (finding.check, finding.value) == ("drip-path", 1) and "under 1 seat" in finding.reason
    assert not [f for f in run(train_of({"modules": ["dial"]})) if f.check == "drip-path"]


def test_warm_modules_without_a_slot_are_told_so():
    """Openings take the whole side before the warm module: slots find no room."""
    train = train_of({"modules": ["board", "cell", "tray"], "width": 57.0})
    plan, = train.wagons
    bare = replace(plan, body=replace(plan.body, fittings=replace(plan.body.fittings, vents=())))
    boards = tuple(replace(one, module=one.module.model_copy(update={"heat": 1.0})) for one in bare.layout.placed)
    hot = replace(bare, layout=replace(bare.layout, placed=boards * 4))
    finding = next(f for f in run(replace(train, wagons=(hot,)), only={"warm-module"}))
    assert finding.verdict == "fail" and finding.value == 0.0 and "no slot finds room" in finding.reason
    assert f"are {finding.limit:.0f} mm2 short" in finding.reason


# ---- nameplates

def test_a_wall_too_thin_to_sink_letters_into():
    """Two lines of 0.45 mm stay, 0.3 mm of relief are asked."""
    train = train_of({"wall": 1.1, "plate": "TEA"})
    finding, = failing(train, "sink letters into")
    assert (finding.value, finding.limit) == pytest.approx((0.2, 0.3))
    assert "a wall of 1.10 mm leaves 0.20 mm" in finding.reason
    told = cured(train, "name-plate")
    assert (told["wagon[1].wall"], told["printer.line_width"]) == (1.2, 0.4)


# ---- what cannot be as wished

WISHES = {
    "cups": ({"length": 120.0, "cups": ["mug", "mug"]}, {}, "module-fit", "the cups need a body # mm long", "length"),
    "width": ({"width": 29.0}, {}, "module-fit", "need a body # mm wide", "width"),
    "width of a load": ({"width": 60.0, "cups": ["mug"]}, {}, "module-fit", "need a body # mm wide", "width"),
}


@pytest.mark.parametrize("kind", WISHES)
def test_a_body_too_small_is_told_its_size(kind):
    wish, tables, check, words, field = WISHES[kind]
    finding, = failing(train_of(wish, **tables), words.replace("#", r"[\d.]+"))
    need = number(finding, words)
    assert finding.check == check and finding.limit == 0.0
    assert need == pytest.approx(wish[field] - finding.value, abs=0.11) and need >= wish[field] - finding.value - 1e-6
    assert not failing(train_of(wish | {field: need}, **tables), words.split("#")[0])
    assert failing(train_of(wish | {field: need - 0.15}, **tables), words.split("#")[0])


def test_a_pivot_screw_over_the_rails():
    """Magnets of 8 mm with walls, 0.3 mm, a washer of 0.8 mm and a head of 3 mm below: 1 mm over the rail is asked."""
    low = {"use": "magnet-8x3", "height": 8.0}
    finding, = failing(train_of({}, coupler=low), "pivot screw would hang")
    thick = train_of({}, coupler=low).wagons[0].coupling.front.thickness
    assert (finding.check, finding.limit) == ("coupler-height", 1.0)
    assert finding.value == pytest.approx(8.0 - thick / 2 - 0.3 - 0.8 - 3.0)
    assert f"hang {finding.value:.1f} mm" in finding.reason
    assert cured(train_of({}, coupler=low), "coupler-height")["coupler.height"] == up(9.0 - finding.value)


def test_spigots_too_thin_for_wide_lines():
    """An M2 washer of 5 mm laps 0.4 mm on either side: lines of 0.9 mm leave no wall round the core."""
    wide = {"use": "bed-300", "line_width": 0.9, "nozzle": 0.8, "layer": 0.3}
    finding, = failing(train_of({"screw": "M2"}, printer=wide), "spigots a wall")
    assert (finding.check, finding.limit) == ("wall", 1.8) and finding.value < 1.8
    assert f"a wall of {finding.value:.2f} mm" in finding.reason and finding.reason.startswith("M2 screws")
    told = cured(train_of({"screw": "M2"}, printer=wide), "wall")
    # finer lines make a thinner spigot too, until both meet
    assert finding.value / 2 - 0.05 <= told["printer.line_width"] <= 0.9 and told["wagon[1].screw"] == "M3"


def test_wheels_too_close_for_a_holder_or_a_bogie():
    """M3: a hole of 3.55 mm, two walls of 1.6 mm, 0.4 mm to either wheel; a bogie's pin is wider."""
    close = {"standard": {"tread_diameter": 17.0, "flange_diameter": 20.4, "flange_thickness": 1.6, "width": 6.0,
                          "back_to_back": 7.2, "axle_diameter": 3.0}}
    narrow = {"gauge": 11.0, "min_radius": 320.0}
    finding, = failing(train_of({}, wheelset=close, track=narrow), "no axle holder with M3 screws")
    assert (finding.check, finding.value) == ("wheel-room", 7.2)
    assert finding.limit == pytest.approx(3.55 + 4.0, abs=0.01)
    assert number(finding, "wheels # mm apart") == 7.2 and number(finding, "it takes # mm") == up(finding.limit)


# ---- the track

def test_throws_say_how_far_where_and_what_would_help():
    """At 40 mm of free width; the reach itself is held to exact geometry in test_envelope."""
    tight = {"use": "toy-37.5", "clearance": [{"low": 0, "high": 200, "half_width": 33.0}]}
    for check, side in (("inner-throw", "inside"), ("outer-throw", "outside")):
        wish = {"length": 243.0, "width": 57.0, "wheelbase": 96.0 if side == "inside" else 58.0}
        finding, = [f for f in run(train_of(wish, track=tight)) if f.check == check]
        assert finding.verdict == "fail" and finding.limit == 33.0
        excess = number(finding, "# mm more than is free")
        assert excess == up(finding.value - 33.0) and f"reaches {finding.value:.1f} mm to the {side}" in finding.reason
        where = re.search(r"at (\d+) mm, piece (\d)", finding.reason)
        assert 300 <= int(where[1]) <= 300 + 2 * 503 and where[2] in "234"      # two quarters after a straight
        wider = {"use": "toy-37.5", "clearance": [{"low": 0, "high": 200, "half_width": 33.0 + excess}]}
        again, = [f for f in run(train_of(wish, track=wider)) if f.check == check]
        assert again.verdict == "pass"


def test_what_stands_beside_the_track_and_a_second_track():
    lamp = {"name": "lamp", "station": 700.0, "side": "left", "distance": 27.0, "length": 40.0}
    track = {"use": "toy-37.5", "obstacle": [lamp], "spacing": 61.0}
    train = train_of({"width": 57.0}, track=track)
    finding = next(f for f in run(train) if f.check == "obstacle")
    assert finding.verdict == "fail" and finding.limit == 27.0 and str(finding.subject).startswith("lamp + ")
    assert f"comes {finding.value - 1.0:.1f} mm to the left" in finding.reason
    away = cured(train, "obstacle")["track.obstacle[1].distance"]
    assert away == up(finding.value)
    near, = [f for f in run(train) if f.check == "passing"]
    assert (near.verdict, near.limit) == ("fail", 3.0) and f"come within {near.value:.1f} mm at" in near.reason
    # the second track's curves become other curves: some tenths more
    assert 0 <= cured(train, "passing")["track.spacing"] - (61.0 + 3.0 - near.value) <= 0.4


def test_a_plan_that_lies_on_itself_or_does_not_close():
    """A second lap of a circle lies on the first; a lap with 12 mm more ends as far from its start, seven joints give
    1.5 mm times the square root of seven."""
    twice = {"use": "toy-37.5", "plan": [{"go": "straight", "length": 300.0},
                                         {"go": "left", "radius": 320.0, "angle": 60.0, "times": 9}]}
    train = train_of({}, track=twice)
    finding, = failing(train, "lies on that at")
    broad = train.description.track.gauge + 2 * train.description.track.rail_head + 1.0
    assert number(finding, "the # mm that a track takes") == up(broad) and finding.limit == 0 and finding.value >= 1
    once = twice | {"plan": [twice["plan"][0], twice["plan"][1] | {"times": 5}]}
    assert not failing(train_of({}, track=once), "lies on that at")
    gap = {"use": "toy-37.5", "closed": True, "plan": [
        {"go": "left", "radius": 320.0, "angle": 60.0, "times": 6}, {"go": "straight", "length": 12.0}]}
    finding, = failing(train_of({}, track=gap), "from its start")
    assert (finding.value, finding.limit) == pytest.approx((12.0, 1.5 * sqrt(7)))
    assert "ends 12.0 mm from its start and turned by 0.0 deg" in finding.reason
