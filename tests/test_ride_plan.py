"""The ride plan: against scipy's integration and quadrature, plain sums, and the static-stability relation."""

import json
import math
from itertools import pairwise

import numpy as np
import pytest
from conftest import DEMO, bare
from felt import felt
from hypothesis import given, settings
from hypothesis import strategies as st
from loops import CUPS, LOOP, loop
from scipy.integrate import quad, solve_ivp
from scipy.special import jnp_zeros

from partgen.describe.load import load, loads
from partgen.describe.track_tables import Stop
from partgen.dynamics import journey
from partgen.dynamics import ramps as ramp
from partgen.dynamics import ride as rides
from partgen.dynamics.curves import OnTrack
from partgen.dynamics.liquids import liquid_of
from partgen.dynamics.seating import Standing, slope
from partgen.dynamics.speeds import curve_speeds
from partgen.motion.path import Path, straight
from partgen.plan import train as trains
from partgen.plan.mass import centre
from partgen.plan.mass import loads as masses

# ---- what the liquid does, integrated by scipy over scipy's own roots


def swung(liquid, profile, after=3.0):
    """Peak during a stop and swing after it of the cup's modes: scipy's roots and solver, own sums."""
    times, accelerations = profile
    share = 2 / (jnp_zeros(1, 8)**2 - 1) * liquid.radius / 9806.65
    share[-1] += liquid.radius / 9806.65 - share.sum()
    square, peaks, state, begun = liquid.modes[0]**2, [], np.zeros(16), times[0]
    loss = 2 * liquid.modes[0] * liquid.modes[1]

    def motion(t, y):
        return np.concatenate([y[8:], square * (np.interp(t, times, accelerations) - y[:8]) - loss * y[8:]])

    for end in [*times[1:], times[-1] + after]:
        if end > begun:
            at = np.linspace(begun + 1e-9, end - 1e-9, 1500)
            done = solve_ivp(motion, (at[0], at[-1]), state, t_eval=at, rtol=1e-7, atol=1e-8)
            state = done.y[:, -1]
            peaks.append(np.abs(share @ done.y[:8]).max())
        begun = end
    return max(peaks[:-1]), peaks[-1]


def test_shaped_stop_of_the_demos_espresso_leaves_nothing_swinging():
    description = load(DEMO)
    espresso = liquid_of("espresso", description.cup["espresso"])
    shaped = ramp.shaped(400.0, 1.0, ((espresso, espresso.room(0.0, 3.0)),))
    assert shaped.time <= 1.0
    hardest = ramp.cut_deceleration(trains.resolve(description))
    kinds = {swing.kind: swing for swing in ramp.compare(shaped, ramp.even(1.0), 400.0, hardest, ((espresso, 0.0),))}
    found = {kind: swung(espresso, swing.profile) for kind, swing in kinds.items()}
    for kind, (peak, left) in found.items():
        assert kinds[kind].climb == pytest.approx(espresso.climbed(peak), rel=0.01)
        # what the package calls left is a bound: all modes at their crest together
        assert left <= kinds[kind].left * 1.001 and kinds[kind].left <= 1.6 * left + 0.01
    peak, left = found["shaped"]
    steady = espresso.radius * shaped.hardest * 400.0 / 9806.65
    assert left < 0.03 * steady and peak <= 1.05 * steady     # its second mode goes on
    for plain in ("even", "cut"):
        assert found[plain][0] > 1.2 * peak and found[plain][1] > 20 * left


def test_one_ramp_serves_cups_of_several_periods():
    description = load(DEMO)
    bowl = description.cup["tea"].model_copy(update={"profile": ((0.0, 70.0), (60.0, 96.0)), "fill": 40.0})
    liquids = tuple(liquid_of(str(k), cup) for k, cup in enumerate([description.cup["espresso"], bowl]))
    assert liquids[1].periods[0] > 1.2 * liquids[0].periods[0]
    shaped = ramp.shaped(400.0, 1.5, tuple((one, one.room(0.0, 3.0)) for one in liquids))
    assert len(shaped.phases) == 2
    for liquid in liquids:
        peak, left = swung(liquid, shaped.profile(400.0, 0.0))
        steady = liquid.radius * shaped.hardest * 400.0 / 9806.65
        assert left < 0.02 * steady and peak <= 1.05 * steady


def test_a_drink_that_the_curves_spill_counts_by_the_ramp_alone():
    """Also where their lean takes the very last of its room: without room it would have no say in the ramp's time."""
    description = load(DEMO)
    espresso = liquid_of("espresso", description.cup["espresso"])
    ride = description.ride.model_copy(update={"start_time": 0.5, "reserve": 15.0})
    firm = Standing(slope(ride), slope(ride), 1e9)
    room = espresso.room(firm.flat, ride.reserve)
    alone, even, spilt = (
        ramp.planned(ride, 0.0, (ramp.Riding(espresso, OnTrack(steady=share * room), firm),))[0] for share in (0, 1, 2))
    assert even.time == spilt.time == pytest.approx(alone.time, rel=0.01)       # that one minds the rest of a stop, too
    assert alone.time > 1.5 * ramp.shaped(ride.fastest, 0.5, ((espresso, 0.0),)).time


# ---- the profile


def test_profile_keeps_every_curves_speed(gentle):
    assert gentle.curves[0].speed < 0.8 * 400 and gentle.speed > 1.1 * gentle.curves[0].speed
    slow = gentle.curves[0].speed + 1e-6
    for one in gentle.runs:
        times = np.linspace(0, one.time, 4000)
        station, speed = one.at(times)
        assert speed.min() >= -1e-6 and speed.max() <= 400 + 1e-6
        # any part of the train on a curve, the straight question: is front, tail or what is between them on one
        for behind in np.linspace(0, gentle.length, 41):
            bent = gentle.path.curvature(station - behind) != 0
            assert speed[bent].max(initial=0.0) <= slow + 0.05    # samples that straddle the joint


def test_speed_integrates_to_the_stations(gentle):
    for one, marker in zip(gentle.runs, gentle.markers, strict=True):
        def speed(t, run=one):
            return float(run.at(t)[1])
        corners = np.cumsum([0, *(leg.time for leg in one.legs)])
        way = sum(quad(speed, low, high, epsabs=1e-6)[0] for low, high in pairwise(corners))
        assert way == pytest.approx(one.end - one.start, abs=0.01)
        braking = one.time - gentle.ramps.fall.time
        ramp_way = quad(speed, braking, one.time, epsabs=1e-6)[0]
        assert marker.way == pytest.approx(ramp_way, abs=0.01)
        there = (marker.begins + marker.ahead + gentle.sensor.behind - marker.station) % gentle.lap
        assert min(there, gentle.lap - there) == pytest.approx(0, abs=1e-6)
        assert marker.ahead == pytest.approx(ramp_way + marker.speed * 2 * 0.013, abs=0.01)


RAMPS = journey.Ramps(ramp.Ramp((0.0, 0.25, 0.75, 1.0), (0.0, 4 / 3, 4 / 3, 0.0), 1.0, (0.25,)),
                      ramp.Ramp((0.0, 0.3, 0.5, 0.8), (0.0, 2.0, 2.0, 0.0), 0.8, (0.3,)), 0.04)


@settings(max_examples=60)
@given(st.lists(st.tuples(st.floats(0.01, 600), st.floats(10, 900)), min_size=1, max_size=12), st.booleans())
def test_any_chain_of_limits_is_kept(pieces, closed):
    edges = np.concatenate([[0], np.cumsum([length for length, _ in pieces])])
    path = Path((straight(max(edges[-1], 45.0)),), closed)
    limited = [journey.Zone(low, high, limit) for (low, high), (_, limit) in zip(pairwise(edges), pieces, strict=True)]
    if edges[-1] < 45.0:
        limited.append(journey.Zone(edges[-1], 45.0, 500.0))
    for one in journey.runs(path, journey.stops_of(path, ()), limited, RAMPS):
        assert one.legs[0].before == 0 == one.legs[-1].after
        assert all(a.end == pytest.approx(b.start) and a.after == b.before for a, b in pairwise(one.legs))
        assert one.end - one.start == pytest.approx(path.length)
        station, speed = one.at(np.linspace(0, one.time, 3000))
        for zone in limited:
            inside = (station > zone.start + 1e-3) & (station < zone.end - 1e-3)
            assert speed[inside].max(initial=0.0) <= zone.limit * (1 + 1e-6) + 1e-3


@pytest.mark.parametrize(("track", "count"), [
    ("plan = [{ go = 'straight', length = 3000 }]\nstop = [{ name = 'a', station = 900 }]", 2),
    ("plan = [{ go = 'straight', length = 3000 }]\nstop = [{ name = 'a', station = 2990 }]", 1),
    ("plan = [{ go = 'left', radius = 900, angle = 90, times = 4 }]\nclosed = true", 1)])
def test_a_marker_is_printed_for_every_stop_that_the_ride_comes_to_as_long_as_it_says(track, count):
    """The open line's end is a stop too."""
    eye = "[module.eye]\nlength = 32\nwidth = 14\nheight = 8\nmass = 4\nmount = 'tape'\n" \
          "looks_out = [{ side = 'bottom', width = 10, height = 8 }]"
    train = trains.resolve(loads(bare(track=track, module=eye, wagon="modules = ['eye']")))
    ride = rides.resolve(train)
    tiles = [item for item in train.trackside.items if item.part == "marker"]
    assert len(ride.markers) == count
    assert sorted(marker.length for marker in ride.markers) == [
        item.plan.foil[0] for item in tiles for _ in item.places], "the first stop's, the longer one, comes last"


def test_stops_are_sorted_and_the_open_line_has_ends():
    line = Path((straight(3000.0),))
    named = loads(bare(track=LOOP)).track.stop
    assert journey.stops_of(line, named) == [("start", 0.0), ("tea */ kitchen", 900.0),
                                                ("Fensterplätze", 2900.0), ("end", 3000.0)]
    loop_line = Path((straight(1000.0),), True)
    assert journey.stops_of(loop_line, ()) == [("start", 0.0)]
    near = [Stop(name=name, station=station)
            for name, station in (("b", 40.0), ("a", 25.5), ("z", 991.0), ("y", 500.0))]
    # nearer than 20 mm to the one before, round the loop too, they are one; an open line keeps its ends in any case
    assert journey.stops_of(loop_line, near) == [("a", 25.5), ("y", 500.0), ("z", 991.0)]
    assert journey.stops_of(loop_line, [*near, Stop(name="first", station=3.0)]) == [
        ("first", 3.0), ("a", 25.5), ("y", 500.0)]
    assert journey.stops_of(Path((straight(13.0),)), ()) == [("start", 0.0), ("end", 13.0)]


def test_a_line_of_a_few_millimetres_is_planned():
    short = rides.resolve(trains.resolve(loads(bare(track="plan = [{go = 'straight', length = 13}]", wagon=CUPS))))
    assert 0 < short.speed < 250 and short.time > 0 and len(short.markers) == 1


def test_sensor_stands_where_its_eye_is(gentle):
    # locomotive 120 mm (default), gap 22 mm, then the wagon: to its middle, less how far ahead of it the eye is
    plan, = gentle.train.wagons
    one, = plan.hung
    assert gentle.sensor.wagon == "one"
    assert gentle.sensor.behind == pytest.approx(120 + 22 + plan.length / 2 - one.eye[0])
    assert loop().sensor.behind == 0.0 and loop().sensor.wagon == ""


# ---- curve speeds


def test_tip_speed_is_that_of_the_static_stability_factor():
    # v = sqrt(SSF g R), SSF = s/(2 h): NHTSA, rollover rules, chapter V; here with a safety of 2, floor level, no
    # scatter, and a stop so gentle that nothing pushes
    gentle = ("[ride]\nspeed_scatter = 0\ntip_safety = 2\nfloor_tilt = 0\njoint_step = 0\nstop_time = 20\n"
              "start_time = 20")
    train = trains.resolve(loads(bare(ride=gentle, track="plan = [{go = 'right', radius = 327, angle = 90}]")))
    plan = train.wagons[0]
    _, (_, aside, height) = centre(masses(plan, train.description.printer))
    spacing = 37.5 + train.description.track.rail_head
    factor = (spacing / 2 - abs(aside)) / height
    found, = curve_speeds(train)
    assert 0 <= math.sqrt(factor / 2 * 9806.65 * 327) - found.tip < 1       # whole mm/s
    assert found.radius == pytest.approx(327) and found.tips == "one"
    assert found.spill == math.inf and found.spills == "" and found.speed < min(found.tip, found.spill)


def test_gentler_curve_is_run_faster_and_the_names_tell_what_binds():
    track = ("plan = [{go = 'left', radius = 331, angle = 80}, {go = 'straight', length = 700}, "
             "{go = 'right', radius = 1303, angle = 40}]")
    ride = "[ride]\nspeed = 2000\njoint_step = 0"
    sharp, wide = curve_speeds(trains.resolve(loads(bare(track=track, wagon=CUPS, ride=ride))))
    assert (sharp.radius, wide.radius) == (331, 1303)
    assert wide.tip > 1.3 * sharp.tip and wide.spill > 1.3 * sharp.spill
    assert sharp.spills == "tea" and sharp.speed == sharp.spill < sharp.tip


def test_whole_ride_is_dry_and_the_fill_mark_holds():
    dry = loop("speed = 200\nfloor_tilt = 1.5\njoint_step = 0.1")
    assert not dry.faults
    liquid = dry.cups[0].liquid
    assert dry.cups[0].climbs <= liquid.freeboard - 3.0 + 1e-9
    # first mode alone by scipy, through the first run, in directions that do not turn
    times, level = felt(dry.path, dry.runs[0], 200.0)
    square = liquid.modes[0][0]**2

    def motion(t, y):
        a = np.array([np.interp(t, times, level[:, k]) for k in (0, 1)])
        return np.concatenate([y[2:], square * (a - y[:2])])
    done = solve_ivp(motion, (0, times[-1]), np.zeros(4), max_step=0.02, rtol=1e-6, atol=1e-6)
    first = np.hypot(*done.y[:2]).max() * liquid.radius / 9806.65
    assert liquid.peak(times, level) == pytest.approx(first, rel=0.2)    # the other modes and damping are the rest
    assert liquid.climbed(first, math.radians(1.5)) <= dry.cups[0].climbs


# ---- the command


def test_ride_command_answers_and_repeats(run, tmp_path):
    first, second = (run("ride", DEMO, "--json") for _ in range(2))
    assert first.exit_code == 0 and first.stdout == second.stdout
    told = json.loads(first.stdout)
    assert told["faults"] == [] and {one["kind"] for one in told["stops"]} == {"shaped", "even", "cut"}
    talk = run("ride", DEMO)
    assert talk.exit_code == 0 and "fill marks" in talk.stdout and "markers" in talk.stdout
    file = tmp_path / "hasty.toml"
    file.write_text(bare(wagon=CUPS, ride="[ride]\nramp = 'shaped'\nstop_time = 0.2"))
    assert run("ride", file).exit_code == 1 and "it takes" in run("ride", file).stdout
    file.write_text(bare(ride="[ride]\nstop_time = 0"))
    assert run("ride", file).exit_code == 2
