"""How high liquids climb on a ride: against scipy's integration of every mode, plain sums over joints, and rides felt
second by second; at the speeds between those that the package looks at, too."""

import math
from itertools import pairwise

import numpy as np
import pytest
from conftest import DEMO, described
from felt import curve_history, felt
from hypothesis import given, settings
from hypothesis import strategies as st
from loops import LOOP
from scipy.integrate import solve_ivp
from teas import TEAS, teas
from trains import random_description

from partgen.checks.drinks import spill_curve, spill_stop
from partgen.describe.load import load, loads
from partgen.dynamics import laps
from partgen.dynamics import ride as rides
from partgen.dynamics.journey import Ramps, runs, stops_of, zones
from partgen.dynamics.laps import rises, room_of
from partgen.dynamics.liquids import liquid_of, liquids_of, on_curves
from partgen.dynamics.markers import places_of
from partgen.dynamics.ramps import ramps_of, unit_swing
from partgen.dynamics.search import ridden
from partgen.dynamics.survey import path_of
from partgen.formulas.response import curve_crests
from partgen.plan.train import resolve

G = 9806.65
SNAKE = """plan = [{go = 'straight', length = 400}, {go = 'left', radius = 320, angle = 60},
{go = 'right', radius = 320, angle = 60}, {go = 'straight', length = 170}, {go = 'left', radius = 320, angle = 45}]"""
TWO_RADII = """plan = [{go = 'right', radius = 341, angle = 71}, {go = 'straight', length = 157},
{go = 'left', radius = 689, angle = 33}, {go = 'right', radius = 341, angle = 52}]"""


def tea_on(track):
    """The tea of two cups on a track, and its train."""
    train = resolve(described(track=track, wagon=TEAS))
    return liquid_of("tea", train.description.cup["tea"]), train


# ---- at one speed: every mode integrated by scipy

def integrated(liquid, times, accelerations, after=2.0):
    """Return the highest rise of all modes, each integrated by scipy from one breakpoint to the next."""
    omegas, dampings, shares = liquid.modes
    count, state, top = len(omegas), np.zeros(2 * len(omegas)), 0.0
    times, accelerations = np.append(times, times[-1] + after), np.append(accelerations, accelerations[-1])

    def rates(t, y):
        push = np.interp(t, times, accelerations)
        return np.concatenate([y[count:], omegas**2 * (push - y[:count]) - 2 * dampings * omegas * y[count:]])

    for begin, end in pairwise(times):
        if end <= begin:
            continue
        begin, end = begin + 1e-9, end - 1e-9       # to the inside of where it jumps
        at = np.linspace(begin, end, max(int(150 * (end - begin)), 30))
        done = solve_ivp(rates, (begin, end), state, t_eval=at, rtol=1e-7, atol=1e-7)
        state, top = done.y[:, -1], max(top, np.abs(shares @ done.y[:count]).max())
    return top


@pytest.mark.parametrize("speed, track, viscosity", [(150.0, SNAKE, 0.0), (400.0, SNAKE, 0.0), (273.0, TWO_RADII, 0.0),
                                                     (273.0, TWO_RADII, 400.0)])
def test_crest_at_a_speed_is_hardly_over_what_scipy_integrates(speed, track, viscosity):
    at = described(track=track, wagon=TEAS).cup["tea"].model_copy(update={"viscosity": viscosity})
    liquid, path = liquid_of("tea", at), path_of(tea_on(track)[1].description.track)
    lengths, bends = [p.length for p in path.pieces], [p.curvature for p in path.pieces]
    truth = integrated(liquid, *curve_history(speed, lengths, bends))
    (crest,), (swings,) = curve_crests([speed], lengths, bends, *liquid.modes)
    assert truth <= crest <= (1.25 if not viscosity else 1.6) * truth       # all modes cresting together: a bound
    # what swings on beyond the last joint can be no more; the crest stands it on the lean of the sharpest curve at most
    sharpest = 1 / path.min_radius
    assert swings <= crest <= swings + liquid.radius / G * speed**2 * sharpest * (1 + 1e-12)


def test_many_speeds_at_once_are_each_as_by_itself():
    liquid, train = tea_on(TWO_RADII)
    pieces = path_of(train.description.track).pieces
    course = [p.length for p in pieces], [p.curvature for p in pieces]
    speeds = np.array([91.0, 187.3, 402.7])
    each = np.transpose([np.ravel(curve_crests([v], *course, *liquid.modes)) for v in speeds])
    for found, alone in zip(curve_crests(speeds, *course, *liquid.modes), each, strict=True):
        assert found == pytest.approx(alone, rel=1e-12)


# ---- at any speed up to the running one

@pytest.mark.parametrize(("lengths", "hands"), [
    ((502.65,), (1,)), ((120.0,), (-1,)), ((502.65, 502.65), (1, -1)), ((251.3, 330.0), (-1, 1))])
def test_no_speed_up_to_the_running_one_climbs_higher(lengths, hands):
    # the first undamped mode alone, 0.837 of the rise: each joint a step, u = a (1 - cos) added up by hand for many
    # speeds, lone and reverse curves
    track = ", ".join(f"{{go = '{'left' if hand > 0 else 'right'}', radius = 320, angle = {math.degrees(way / 320)}}}"
                      for way, hand in zip(lengths, hands, strict=True))
    liquid, train = tea_on(f"plan = [{track}]")
    omega, found = liquid.modes[0][0], on_curves(liquid, train.description.track, 380.0)
    highest = 0.0
    for v in np.linspace(120.0, 380.0, 700):
        steps = np.diff([0, *hands, 0]) / 320 * v**2
        joints = np.concatenate([[0], np.cumsum(lengths)]) / v
        t = np.linspace(0, joints[-1] + 0.5, 3000)
        swing = sum(step * (1 - np.cos(omega * (t - at))) * (t > at) for step, at in zip(steps, joints, strict=True))
        highest = max(highest, 0.837 * np.abs(swing).max() * liquid.radius / G)
    assert 0.7 * found.crest < highest <= found.crest


@settings(max_examples=25)
@given(st.floats(60.0, 700.0), st.floats(1.0, 1.5))
def test_faster_is_never_safer_and_no_speed_between_is_missed_by_much(speed, more):
    liquid, train = tea_on(LOOP)
    track, path = train.description.track, path_of(train.description.track)
    pieces = path.pieces * 2
    course = [p.length for p in pieces], [p.curvature for p in pieces]
    found = on_curves(liquid, track, speed)
    faster = on_curves(liquid, track, more * speed)
    assert found.crest <= 1.03 * faster.crest and found.factor <= 1.03 * faster.factor
    speeds = speed * np.random.default_rng(7).uniform(0.3, 1.0, 400)
    crests, swings = curve_crests([*speeds, speed], *course, *liquid.modes)
    assert crests[-1] <= found.crest and swings[-1] <= found.swings, "at the very speed it is exact"
    assert crests.max() <= 1.06 * found.crest and swings.max() <= 1.06 * found.swings
    steady = liquid.radius / G / path.min_radius * speeds**2
    assert 1 <= (crests[:-1] / steady).max() <= 1.06 * found.factor


def test_a_curve_to_the_right_raises_it_as_one_to_the_left_does():
    liquid, train = tea_on(TWO_RADII)
    mirrored = TWO_RADII.replace("left", "hither").replace("right", "left").replace("hither", "right")
    _, other = tea_on(mirrored)
    found = on_curves(liquid, train.description.track, 305.0)
    assert found == on_curves(liquid, other.description.track, 305.0)
    # a long curve lifts it to twice its steady rise as it begins; nothing comes in under that
    assert found.crest >= 2 * liquid.radius / G * 305.0**2 / 341


def test_curves_sharper_than_asked_about_are_eased():
    liquid, train = tea_on(TWO_RADII)
    eased = TWO_RADII.replace("radius = 341, angle = 71", f"radius = 689, angle = {71 * 341 / 689}").replace(
        "radius = 341, angle = 52", f"radius = 689, angle = {52 * 341 / 689}")
    _, other = tea_on(eased)
    track = train.description.track
    assert on_curves(liquid, track, 305.0, 689.0).crest == pytest.approx(
        on_curves(liquid, other.description.track, 305.0).crest, rel=1e-9)
    assert on_curves(liquid, track, 305.0, 341.0) == on_curves(liquid, track, 305.0)
    straight = resolve(described(track="plan = [{go = 'straight', length = 900}]", wagon=TEAS))
    assert on_curves(liquid, straight.description.track, 305.0).crest == 0


# ---- curves, starts and stops together

def ridden_through(train, ramps):
    """Return the runs of a train at its wished speed, started and stopped by `ramps`."""
    track, ride = train.description.track, train.description.ride
    path = path_of(track)
    limited = zones(path, places_of(train)[-1], {}, ride.speed)
    return path, runs(path, stops_of(path, track.stop), limited, Ramps(*ramps, 0.04))


@pytest.mark.parametrize("seed", range(24))
def test_no_ride_felt_second_by_second_climbs_higher(seed):
    train = resolve(loads(random_description(seed, cups=True, modules=False)))
    ramps = ramps_of(train)
    path, planned = ridden_through(train, ramps)
    for liquid in liquids_of(train):
        highest = max(liquid.peak(*felt(path, run, behind)) for run in planned[:3] for behind in places_of(train)[:2])
        found = rises(train, liquid)
        assert highest <= found.ramps * (1 + 1e-3)
        assert found.curves <= found.ramps <= found.curves + found.start + found.stop


def test_a_stop_after_a_curve_carries_the_curves_swing():
    """A quarter of a circle ends as the stop begins: what its entry has left swinging is lengthwise by then, and adds
    to what the stop raises; what its end leaves lies across."""
    quarter, behind, braking = 340 * math.pi / 2, places_of(teas())[0], 350 * 0.6 / 2
    track = ("plan = [{go = 'straight', length = 900}, {go = 'left', radius = 340, angle = 90}, {go = 'straight', "
             "length = 1500}]\n" f"stop = [{{name = 'here', station = {900 + quarter + behind + braking + 25:.1f}}}]")
    liquid, train = tea_on(track)
    highest = found = alone = 0.0
    for speed in np.linspace(330.0, 360.0, 31):
        faster = ridden(train, speed=float(speed), stop_time=0.6, start_time=2.0)
        path, planned = ridden_through(faster, ramps_of(faster))
        highest = max(highest, liquid.peak(*felt(path, planned[0], behind)))
        risen = rises(faster, liquid)
        found, alone = max(found, risen.ramps), max(alone, risen.curves, risen.stop)
    assert highest > 1.1 * alone, "neither curve nor stop tells it by itself"
    assert 0.6 * found < highest <= found


def test_demo_rises_as_its_parts_do():
    train = resolve(load(DEMO))
    start, stop = ramps_of(train)
    for liquid in liquids_of(train):
        found, on = rises(train, liquid), on_curves(liquid, train.description.track, 250.0)
        assert found.left == pytest.approx(250 * unit_swing(liquid, start)[1])
        assert found.curves == pytest.approx(on.crest + found.left)
        assert found.ramps == pytest.approx(max(on.crest + 250 * unit_swing(liquid, start)[0],
                                                found.curves + 250 * unit_swing(liquid, stop)[0]))
        steady = liquid.radius / G
        factors = [unit_swing(liquid, ramp)[0] / (steady * ramp.hardest) for ramp in (start, stop)]
        assert found.factor == pytest.approx(max(1.0, *factors))


def test_findings_tell_how_high_it_climbs_the_wall():
    train = teas(ride={"speed": 283.0, "floor_tilt": 1.1, "reserve": 4.2, "stop_time": 1.4, "start_time": 2.3})
    liquid = liquid_of("tea", train.description.cup["tea"])
    found = rises(train, liquid)
    for finding, rise in ((next(spill_curve(train)), found.curves), (next(spill_stop(train)), found.ramps)):
        # a tilted plane meets a wall that leans outwards by 7 in 60 (the profile): z = y/(1 - (y/R) 7/60)
        level = rise + liquid.radius * math.tan(math.radians(1.1))
        assert finding.value == pytest.approx(level / (1 - level / liquid.radius * 7 / 60), rel=1e-9)
        assert finding.limit == pytest.approx(60 - 2.5 - 40 - 4.2)
        assert (finding.value <= finding.limit) == (rise <= room_of(train, liquid))


def test_shaped_ramp_tells_the_time_that_it_takes():
    train = teas(ride={"speed": 283.0, "ramp": "shaped", "stop_time": 0.23, "start_time": 1.93})
    for finding, ramp in zip(list(spill_stop(train))[1:], ramps_of(train), strict=True):
        assert finding.subject.ramp == ("start" if finding.limit == 1.93 else "stop")
        assert float(ramp.done(finding.value)) == pytest.approx(1.0) and float(ramp.done(0.97 * finding.value)) < 1
        assert finding.verdict == ("pass" if finding.limit == 1.93 else "fail")


def test_check_and_ride_tell_one_climb_and_stop_counting_at_one_height(monkeypatch):
    train = teas()
    [found] = spill_stop(teas(ride={"speed": 3000.0, "stop_time": 0.1}))
    assert found.value == 10 * 57.5, "ten times its rim's height over the inner floor"
    for rims in (0.05, 0.02):
        monkeypatch.setattr(laps, "MOST", rims)
        [found], [cup] = spill_stop(train), rides.resolve(train).cups
        assert found.value == cup.climbs == rims * cup.liquid.rim
