"""Crossings at grade: which passages lie on one, what their gaps do, where a train may stand; against shapely
and sums by hand."""

import json
from math import pi, radians, sin, sqrt, tan

import numpy as np
import pytest
import shapely
from conftest import bare, described
from eights import eight
from plans import cures
from trains import mirrored, random_description

from partgen.checks.on_plan import run as checked
from partgen.describe.load import loads
from partgen.dynamics import ride as rides
from partgen.dynamics.at_grade import crossed, drop, highest_step
from partgen.dynamics.clear_of import nearest_standing, reach_of, standing_room, tail_room, zone
from partgen.dynamics.jolts import gaps_of
from partgen.dynamics.markers import places_of
from partgen.dynamics.survey import path_of
from partgen.errors import DescriptionError
from partgen.finding import up
from partgen.formulas.jolts import gap_drop
from partgen.motion.crossing import crossings, fouled
from partgen.motion.path import Path, arc, straight
from partgen.plan.body.sensor_holder import DOWN, OVER_GROUND
from partgen.plan.train import resolve
from partgen.remedies.options import options
from partgen.report.along import other_way
from partgen.report.sheets.plan_drawing import laid_out, note

EYE = "[module.eye]\nlength = 20\nwidth = 12\nheight = 8\nmass = 3\n" \
    "looks_out = [{side = 'bottom', width = 6, height = 6}]"

SEEING = {"module": EYE, "wagon": "modules = ['box', 'eye']\nsensor_gap = 5"}


def train_of(plan, **lines):
    return resolve(described(track=plan, **lines))


def judged(train, check):
    """Return the findings of a check by subject, each the worst one."""
    found = {}
    for one in sorted((one for one in checked(train, only={check})), key=lambda one: one.verdict != "fail"):
        found.setdefault(str(one.subject), one)
    return found


# ---- the plan

@pytest.mark.parametrize("angle", [90.0, 60.0, 30.0])
def test_a_figure_of_eight_closes_crosses_and_is_timed(angle):
    """Two loops of (180 + angle) of radius 320, four legs of 320 cot(angle / 2), the crossing's halves in them."""
    train = train_of(eight(angle, length=200.0, gap=4.5 / sin(radians(angle))), wagon="modules = ['box']")
    track, path = train.description.track, path_of(train.description.track)
    leg, loop = 320 / tan(radians(angle) / 2), 320 * radians(180 + angle)
    assert path.length == pytest.approx(4 * leg + 2 * loop) and path.closing_error() == pytest.approx((0, 0), abs=1e-9)
    first, second = crossed(track)
    assert (first.station, second.station) == pytest.approx((leg, 3 * leg + loop))
    assert (first.other, second.other) == (second.station, first.station)
    line = shapely.LineString(path.point(np.linspace(0, path.length, 4001)))
    assert not line.is_simple, "shapely finds that the line crosses itself"
    ways = [shapely.LineString(path.point(np.array([one.station - 90, one.station + 90]))) for one in (first, second)]
    met = shapely.intersection(*ways)
    assert path.point([first.station])[0] == pytest.approx((met.x, met.y), abs=1e-6)
    assert {one.verdict for one in checked(train, only={"track-plan", "passing", "wheel-play"})} == {"pass"}
    ride = rides.resolve(train)
    assert ride.lap == pytest.approx(path.length) and ride.time > path.length / train.description.ride.speed


def test_a_crossing_that_no_piece_lies_at_is_refused_at_each_passage():
    """The same plan with straights in its crossings' stead, at one passage and at both."""
    plan = eight()
    piece = "{go = 'crossing', length = 120.0, angle = 90.0, gap = 4.5}"
    for times in (1, 2):
        without = train_of(plan.replace(piece, "{go = 'straight', length = 120}", times))
        found = judged(without, "track-plan")["at grade"]
        assert (found.verdict, found.value) == ("fail", 1) and "at 320 and 2468 mm, at 90.0 deg" in found.reason
    assert judged(train_of(plan), "track-plan")["at grade"].verdict == "pass"


def test_a_crossing_met_off_its_middle_or_at_another_angle_is_refused_and_mended():
    """30 mm farther on one leg and as much less on the next: the middles lie 30 mm apart; 70 deg told for 90."""
    found = judged(train_of(eight(off=30.0)), "track-plan")["crossing at 350 mm"]
    assert found.value == pytest.approx(30) and "lie 30.0 mm apart" in found.reason
    # 5 pieces on: 1.5 mm times the square root of five
    assert found.limit == pytest.approx(1.5 * sqrt(5))
    train = train_of(eight(told=70))
    found = judged(train, "track-plan")["crossing at 320 mm"]
    assert (found.unit, found.value) == ("deg", pytest.approx(20)) and "set angle to 90.0 deg" in found.reason
    assert [(("track", "plan", 1, "angle"), 90.0), (("track", "plan", 5, "angle"), 90.0)] in map(
        list, options(found, train))
    one = eight().replace("gap = 4.5", "gap = 4", 1)
    assert "gap differ" in judged(train_of(one), "track-plan")["crossing at 320 mm"].reason


@pytest.mark.parametrize("piece, field, words", [
    ("{go = 'crossing', length = 120, angle = 90}", "track.plan[1].gap", "a crossing needs its gap, in mm"),
    ("{go = 'crossing', length = 120, angle = 120, gap = 4}", "track.plan[1].angle", "10 to 90 deg"),
    ("{go = 'crossing', length = 120, angle = 90, gap = 4, radius = 400}", "track.plan[1].radius", "does not go with"),
    ("{go = 'straight', length = 120, gap = 4}", "track.plan[1].gap", "set go to crossing"),
    # 37.5 mm / sin 15 deg = 144.9 mm; half the gauge / sin 30 deg = 37.5 mm
    ("{go = 'crossing', length = 120, angle = 15, gap = 4}", "track.plan[1].length", "over 145 mm long"),
    ("{go = 'crossing', length = 120, angle = 30, gap = 38}", "track.plan[1].gap", "under 37.5 mm"),
])
def test_faults_of_a_crossing(piece, field, words):
    with pytest.raises(DescriptionError) as raised:
        described(track=f"plan = [{piece}]")
    assert field in str(raised.value) and words in str(raised.value)


def test_a_second_track_beside_a_crossing_is_a_fault():
    with pytest.raises(DescriptionError, match="which the second track would cross too"):
        described(track=f"{eight()}\nspacing = 120")


# ---- what passes over it

def test_flanges_pass_the_flangeways_or_not():
    """A gap of 5 mm at 45 deg is a flangeway of 3.54 mm; gauge 37.5 + 0.2 mm, backs 31.2 mm apart: 2 x 3.54 - 6.5."""
    gap, angle = 5.0, 45.0
    train = train_of(eight(angle, gap=gap))
    found = [one for one in checked(train, only={"wheel-play"})]
    track, wheels = train.description.track, train.wagons[0].wheelset
    by_hand = 2 * gap * sin(radians(angle)) - (track.gauge + track.gauge_tolerance - wheels.back_to_back)
    assert found[1].value == pytest.approx(by_hand) and found[1].verdict == "pass"
    tight = [one for one in checked(train_of(eight(angle, gap=4.6)), only={"wheel-play"})][1]
    assert tight.verdict == "fail" and "3.25 mm wide" in tight.reason


def test_what_hangs_low_clears_the_other_ways_rails_but_flanges_do_not_have_to():
    plain, over = (judged(train_of(plan, coupler="height = 9"), "under-clearance")["one"] for plan in ("", eight()))
    assert over.value < plain.value + 4 and "flange" not in over.reason
    low = min(low for low, _ in train_of(eight(), coupler="height = 9").wagons[0].hanging)
    flange = -train_of("").wagons[0].wheelset.flange_depth + 4.0
    assert over.value == pytest.approx(min(low, flange))


def test_a_sensor_set_lowest_clears_the_other_ways_rails():
    """Rails 4 mm high: over a crossing the sensor has that much less room under it."""
    lines = SEEING
    plain, over = (train_of(plan, **lines) for plan in ("", eight()))
    hung, again = plain.wagons[0].hung[0], over.wagons[0].hung[0]
    assert again.down == pytest.approx(min(DOWN, again.bottom - OVER_GROUND)) and again.down < hung.down
    assert any(one.verdict == "fail" for one in checked(
        train_of(eight(), **lines | {"wagon": "modules = ['box', 'eye']\nsensor_gap = 1"}), only={"sensor-gap"}))


# ---- its gaps

def test_how_deep_a_wheel_drops():
    """A tread of radius 5 over a gap of 8 mm sinks 2 mm: the triangle of 3, 4 and 5. A floor 0.4 mm under the flange
    stops it there, one 0.3 mm above the flange's edge lifts it."""
    assert gap_drop(5.0, 8.0) == pytest.approx(2.0) and gap_drop(5.0, 30.0) == 5.0
    assert gap_drop(5.0, 8.0, 0.4) == pytest.approx(0.4) and gap_drop(5.0, 8.0, -0.3) == pytest.approx(0.3)
    # by shapely: a disc of 8.5 mm lowered on two edges 5 mm apart
    disc, low = shapely.Point(0, 8.5).buffer(8.5, 512), 0.0
    edges = shapely.MultiPoint([(-2.5, 0), (2.5, 0)])
    for step in (0.1, 0.01, 0.001):
        while not shapely.affinity.translate(disc, 0, -low - step).intersects(edges):
            low += step
    assert low == pytest.approx(float(gap_drop(8.5, 5.0)), abs=0.003)
    train = train_of(eight(gap=5.0, more=", flangeway = 2"))
    one, wheels = crossed(train.description.track)[0], train.wagons[0].wheelset
    assert drop(one, wheels) == pytest.approx(min(float(gap_drop(wheels.tread_radius, 5.0)),
                                                  abs(2 - wheels.flange_depth)))
    assert highest_step(train, train.wagons[0]) == max(train.description.joint_step, drop(one, wheels))


def test_a_deeper_gap_makes_drinks_climb_higher_and_none_none():
    smooth = {"ride": "[ride]\njoint_step = 0", "wagon": "cups = ['tea']"}
    climbs = [next(one for one in checked(train_of(eight(gap=gap), **smooth), only={"spill-curve"})).value
              for gap in (1.0, 4.0, 6.0)]
    bare_plan = eight().replace("go = 'crossing'", "go = 'straight'").replace(", angle = 90.0, gap = 4.5", "")
    still = next(iter(checked(train_of(bare_plan, **smooth), only={"spill-curve"}))).value
    assert still < climbs[0] < climbs[1] < climbs[2] and climbs[0] - still < 0.5
    track = train_of(eight(), **smooth)
    gaps, = gaps_of(track)
    assert (gaps.count, gaps.gap, gaps.closed) == (2, 4.5, True)
    assert gaps.spacing == pytest.approx(2 * 320 + 320 * 1.5 * pi)


# ---- its own tail, and stops

@pytest.mark.parametrize("angle", [90, 60, 25])
def test_how_far_from_a_crossing_two_ways_are_in_each_others_way(angle):
    """Straight ways: strips 2 b wide overlap b cot(angle / 2) along each; curved ones by shapely's strips."""
    level = Path([straight(1000), arc(300, 180 + angle, "left"), straight(3000)])
    leg = 300 / tan(radians(angle) / 2)
    here, other = 1000 - leg, 1000 + 300 * radians(180 + angle) + leg
    for way in fouled(level, here, other, 30.0):
        assert 0 <= way - 30 / tan(radians(angle) / 2) <= 1.6
    bent = Path([straight(300), arc(300, 180, "left"), arc(150, 120, "left"), straight(60), arc(200, 60, "right"),
                 straight(200)])
    met, = crossings(bent)
    line = shapely.LineString(bent.point(np.linspace(met.second - 400, met.second + 400, 2001))).buffer(30, 64)
    before, beyond = fouled(bent, met.first, met.second, 30.0)
    for sign, way in ((-1, before), (1, beyond)):
        point, ahead = bent.frame(met.first + sign * np.arange(0, 400, 0.25))
        rungs = [shapely.LineString([(z.real, z.imag) for z in (p + 30j * a, p - 30j * a)]).intersects(line)
                 for p, a in zip(point, ahead, strict=True)]
        assert 0 <= way - 0.25 * rungs.index(False) <= 1.6


@pytest.mark.parametrize("radius", [200.0, 320.0])
def test_a_train_clears_its_own_crossing_in_time_by_shapely(radius):
    """The strip of a train whose front stands just before the crossing: it is clear of its own way ahead, over the
    crossing, and is not where its end is farther back by the room that is told and some millimetres."""
    train = train_of(f"{eight(60.0, radius)}\nmin_radius = 200", wagon="cups = ['tea']")
    track, path, half = train.description.track, path_of(train.description.track), reach_of(train)
    first, second = crossed(track)
    length = places_of(train)[-1]

    def strip(front, back):
        return shapely.LineString(path.point(np.linspace(back, front, 600))).buffer(half, cap_style="flat")
    for one, again in ((first, second.station), (second, first.station + path.length)):
        front = again - (second.station - zone(train, second)[0] if one is first else
                         first.station - zone(train, first)[0])
        room = tail_room(train, one)
        assert room == pytest.approx(front - length - zone(train, one)[1])
        crossing = strip(again + 2 * half, again - 3 * half)
        assert room > 0 and not strip(front - 3 * half, front - length - room + 1).intersects(crossing)
        assert strip(front - 3 * half, front - length - room - 5).intersects(crossing)


def test_a_train_as_long_as_a_loop_meets_itself():
    """Loops of 200 mm: 2 x 200 + 200 x 1.5 pi = 1342 mm from passage to passage; wagons of 150 mm until it is full."""
    wagons = "".join(f"\n[[wagon]]\nname = 'n{k}'\nwheelbase = 64\nlength = 150\nmodules = ['box']\n" for k in range(9))
    train = train_of(f"min_radius = 200\n{eight(90, 200.0)}", wagon="modules = ['box']\nlength = 150" + wagons)
    found = judged(train, "passing")["crossing at 200 mm"]
    low = zone(train, crossed(train.description.track)[1])[0]
    high = zone(train, crossed(train.description.track)[0])[1]
    assert found.verdict == "fail" and found.limit == 3.0
    assert found.value == pytest.approx(low - high - places_of(train)[-1]) and found.value < 0
    assert f"its end is {up(-found.value)} mm short of being clear" in found.reason


def test_a_stop_on_a_crossing_is_refused_and_moved_off_it():
    stop = "\nstop = [{ name = 'reading table', station = 400 }, { name = 'door', station = 1500 }]"
    train = train_of(eight() + stop, wagon="cups = ['tea']")
    found = judged(train, "track-plan")
    told = found["stop reading table"]
    length, (low, high) = places_of(train)[-1], zone(train, crossed(train.description.track)[0])
    # its front 400 mm along, its end as much behind as it is long: the crossing at 320 mm lies under it
    assert told.verdict == "fail" and told.value == pytest.approx(max(low - 400, 400 - length - high))
    better = nearest_standing(train, 400.0)
    assert better in (int(low), int(high + length) + 1) and standing_room(train, better) >= 0
    assert f"set the stop's station to {better:.0f} mm" in told.reason and found["stop door"].verdict == "pass"
    assert {("track.stop[1].station", better)} in map(set, cures(train, "track-plan"))


def test_a_crossing_whose_other_way_is_nobodys_bars_it_too():
    """Its zone is b cot(angle / 2) either side, the other way taken to run on straight; nothing meets its own tail."""
    plan = ("plan = [{go='straight', length=900}, {go='crossing', length=120, angle=60, gap=5}, "
            "{go='straight', length=900}]")
    train = train_of(plan, wagon="cups = ['tea']")
    one, = crossed(train.description.track)
    assert one.other is None and not judged(train, "passing")
    low, high = zone(train, one)
    assert (high - low) / 2 == pytest.approx(reach_of(train) / tan(radians(30)))
    stopped = train_of(plan + "\nstop = [{ name = 'desk', station = 980 }]", wagon="cups = ['tea']")
    assert judged(stopped, "track-plan")["stop desk"].verdict == "fail"
    assert judged(stopped, "track-plan")["stop end"].verdict == "pass"


def test_a_marker_on_a_crossing_is_told_and_how_to_move_it():
    for station in range(330, 900, 10):
        stop = f"\nstop = [{{ name = 'desk', station = {station} }}]"
        ride = rides.resolve(train_of(eight() + stop, **SEEING))
        marker = ride.markers[0]
        over = [one for one in ride.faults if "would lie on the crossing" in one]
        # the tile, its rim and ramps of 8 mm at either end, against 60 mm to either side of 320 mm
        lies = marker.begins + marker.length + 8 > 260 and marker.begins - 8 < 380
        assert bool(over) == lies
        if over:
            by, way = float(over[0].split("move the stop ")[1].split()[0]), over[0].rsplit(" ", 1)[1]
            moved = stop.replace(str(station), str(station + (by if way == "on" else -by)))
            assert not any("would lie" in one for one in rides.resolve(train_of(eight() + moved, **SEEING)).faults)
            assert not any("would lie" in one for one in rides.resolve(train_of(eight() + stop)).faults), "no sensor"
            break
    else:
        raise AssertionError("no stop puts its marker on the crossing")


# ---- any train

@pytest.mark.parametrize("seed", range(6))
def test_random_figures_of_eight_close_cross_and_ride(seed):
    text = random_description(seed, crossing=True)
    train, other = (resolve(loads(one)) for one in (text, mirrored(text)))
    found = judged(train, "track-plan")
    fixed = [one for who, one in found.items() if not who.startswith("stop ")]
    assert {one.verdict for one in fixed} == {"pass"} and len(crossed(train.description.track)) == 2
    assert rides.resolve(train).time > 0
    for one in crossed(train.description.track):
        assert zone(train, one)[0] < one.station < zone(train, one)[1]
    rooms, again = (sorted(tail_room(one, passage) for passage in crossed(one.description.track))
                    for one in (train, other))
    assert again == pytest.approx(rooms, abs=0.1 + reach_of(train) / 10), "the mirrored plan leaves as much"


def test_drawings_name_a_crossing_and_draw_the_way_that_is_nobodys():
    """Two pieces of the box are one: nine and not ten. The other way's rails lie a gauge apart, at its angle."""
    train = train_of(eight())
    plan = laid_out(train, ())
    said = [text for label, _ in plan.labels for text, _, _ in label.lines]
    assert {"2, 7", "crossing 90° 120"} <= set(said) and "9 pieces, 1 crossing run over twice" in note(plan, train)
    alone = train_of("plan = [{go='straight', length=500}, {go='crossing', length=130, angle=60, gap=5}]")
    line = path_of(alone.description.track)
    assert not list(other_way(train.description.track, path_of(train.description.track)))
    (left, right), = other_way(alone.description.track, line)
    rails = [shapely.LineString([(z.real, z.imag) for z in rail]) for rail in (left, right)]
    assert rails[0].distance(rails[1]) == pytest.approx(37.5) and rails[0].length == pytest.approx(130)
    assert abs(np.degrees(np.angle(left[1] - left[0]))) == pytest.approx(60)
    assert (left.mean() + right.mean()) / 2 == pytest.approx(565)


def test_check_tells_a_crossing_from_a_file(run, tmp_path):
    file = tmp_path / "eight.toml"
    file.write_text(bare(track=eight(told=60), wagon="modules = ['box']"))
    result = run("check", file, "--json")
    failed = {f["subject"]: f for f in json.loads(result.stdout)["findings"] if f["verdict"] == "fail"}
    assert result.exit_code == 1 and failed["crossing at 320 mm"]["about"] == {"track_plan": "crossing at 320 mm"}
