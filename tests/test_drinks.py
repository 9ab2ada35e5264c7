"""Drinks that stay in the cup: load states, tipping and slosh against brute force, scipy and the published relation."""

import re
from itertools import product

import numpy as np
import pytest
from conftest import described
from hypothesis import given, settings
from hypothesis import strategies as st
from msgspec.structs import replace
from scipy.integrate import solve_ivp

from partgen.checks import drinks as spill
from partgen.checks import on_plan as paper
from partgen.checks import tip
from partgen.describe.cargo_tables import Cup
from partgen.dynamics import load_states as states
from partgen.dynamics.liquids import liquid_of
from partgen.dynamics.stability import Edge, Stand
from partgen.errors import DescriptionError
from partgen.formulas.response import curve_history
from partgen.plan.train import resolve

G = 9806.65
TEAS = "cups = ['tea', 'tea']"
SNAKE = """plan = [{go = 'straight', length = 400}, {go = 'left', radius = 320, angle = 60},
{go = 'right', radius = 320, angle = 60}, {go = 'straight', length = 170}, {go = 'left', radius = 320, angle = 45}]"""


def train(ride=None, cup=None, wagon=None, coupler=None, locomotive=None, track=None):
    """Return a train of one wagon with two cups of tea, its tables changed as told."""
    at = described(wagon=TEAS)
    changed = {name: getattr(at, name).model_copy(update=update)
               for name, update in (("ride", ride), ("coupler", coupler), ("track", track)) if update}
    if cup:
        changed["cup"] = {"tea": at.cup["tea"].model_copy(update=cup)}
    if wagon:
        changed["wagon"] = (at.wagon[0].model_copy(update=wagon),)
    if locomotive:
        changed["train"] = at.train.model_copy(update={"locomotive": at.train.locomotive.model_copy(update=locomotive)})
    return resolve(at.model_copy(update=changed))


def failing(at, only):
    return [finding for finding in paper.run(at, only=only) if finding.verdict == "fail"]


# ---- load states: every one written out by numpy

def every_state(of):
    """Yield all parts of every load state, as rows."""
    fixed = [np.concatenate([of.bare, of.modules]), of.bare]
    for always, fillings in product(fixed, product(*of.seats)):
        yield np.concatenate([always, *(np.reshape(filling.rows, (-1, 4)) for filling in fillings)])


@given(st.lists(st.tuples(st.floats(5, 300), st.floats(-60, 60), st.floats(-20, 20), st.floats(20, 120)), min_size=1,
                max_size=6), st.floats(0, 3000), st.floats(0, 0.15))
@settings(max_examples=15)
def test_worst_state_is_the_worst_of_all(cups, acceleration, tilt):
    seats = tuple((states.Filling("", ()), states.Filling("empty", ((0.4 * m, x, y, z),)),
                   states.Filling("full", ((0.4 * m, x, y, z), (0.6 * m, x, y, 0.9 * z)))) for m, x, y, z in cups)
    of = states.Lading(np.array([[160.0, 0, 0, 25]]), np.array([[120.0, -12, 3, 40]]), seats)
    for edge in (Edge(1, 1, 35.0, acceleration, tilt + 0.01), Edge(2, -1, 20.0, acceleration, tilt + 0.01, 3.0)):
        state, _ = Stand(of, (edge,)).worst()
        brute = min(edge.holding(rows).sum() / (edge.tipping(rows).sum() + edge.pull) for rows in every_state(of))
        assert state.value == pytest.approx(brute, rel=1e-9)
        held = edge.holding(state.rows).sum() / (edge.tipping(state.rows).sum() + edge.pull)
        assert held == pytest.approx(state.value, rel=1e-9), "the state named is the one found"


def weighted(of, row):
    """The same wagon with one part more on it."""
    return replace(of, bare=np.append(of.bare, [row], axis=0))


def test_ballast_named_is_just_enough_in_every_state():
    of = states.lading(train().wagons[0], "PLA")
    edges = tuple(Edge(2, sign, 20.0, 1900.0, 0.03, 2.0) for sign in (1, -1))
    weight = Stand(of, edges).ballast(2.0, 8.0)
    assert 0 < weight < np.inf and Stand(of, edges).margin() < 2
    assert Stand(weighted(of, (weight, 0, 0, 8.0)), edges).margin() == pytest.approx(2.0, abs=1e-9)


def test_forty_seats_are_judged_as_any():
    of = states.lading(train(wagon={"cups": ("tea",) * 40}).wagons[0], "PLA")
    edge = Edge(1, 1, 32.0, 200.0, 0.02)
    state, _ = Stand(of, (edge,)).worst()
    # each seat on its own: sums of independent choices, so the least of held - r tipped must be 0
    spare = min(sum(min((edge.holding(r) - state.value * edge.tipping(r)).sum()
                        for r in (np.reshape(filling.rows, (-1, 4)) for filling in seat)) for seat in of.seats)
                + (edge.holding(always) - state.value * edge.tipping(always)).sum() for always in (of.bare,))
    assert spare == pytest.approx(0, abs=1e-6)


# ---- tipping: the static stability factor, s/(2 h) (NHTSA, rollover rules, chapter V), in parts of gravity

def test_a_wagon_tips_where_the_static_stability_factor_says():
    plan = train().wagons[0]
    of = states.lading(plan, "PLA")
    frozen = states.Lading(of.bare, of.modules, ())
    height = frozen.bare[:, 0] @ frozen.bare[:, 3] / frozen.bare[:, 0].sum()
    factor = 40.0 / (2 * height)
    margin = Stand(frozen, tuple(Edge(2, sign, 20.0, 0.3 * G, 0.0) for sign in (1, -1))).margin()
    assert margin == pytest.approx(factor / 0.3, rel=1e-9)


def test_swinging_liquid_tips_as_wall_and_floor_pressure_do():
    """A liquid that leans steadily tips a glass by what the tilted body of liquid weighs off the middle: for a
    cylinder the centre moves aside by R^2 tan(t)/(4 h) and up by half of that times tan(t) (geometry, from memory)."""
    glass = Cup(profile=((0.0, 50.0), (80.0, 50.0)), wall=1.0, fill=60.0, mass=90.0)
    radius, depth, slope = 24.0, 60.0, 0.05
    aside = radius**2 * slope / (4 * depth)
    leaned = slope * states.liquid_centre(glass) + aside
    # the first mode carries 0.97 of that shift: sum over modes of share x pendulum length
    assert slope * states.swung_centre(glass, 1.0) == pytest.approx(leaned, rel=0.005)
    assert states.swung_centre(glass, 2.0) > states.swung_centre(glass, 1.0) > states.liquid_centre(glass)


# ---- slosh along a plan, integrated by scipy

def integrated(liquid, times, accelerations, after=2.0):
    """Return the highest rise of all modes, each integrated by scipy from one breakpoint to the next."""
    omegas, dampings, rises = liquid.modes
    count, state, top = len(omegas), np.zeros(2 * len(omegas)), 0.0
    for begin, end, a, b in zip(times, np.append(times[1:], times[-1] + after), accelerations,
                                np.append(accelerations[1:], accelerations[-1])):
        if end <= begin:
            continue
        def rates(t, y):
            push = a + (b - a) * (t - begin) / (end - begin)
            return np.concatenate([y[count:], omegas**2 * (push - y[:count]) - 2 * dampings * omegas * y[count:]])
        at = np.linspace(begin, end, max(int(150 * (end - begin)), 30))
        done = solve_ivp(rates, (begin, end), state, t_eval=at, rtol=1e-7, atol=1e-7)
        state, top = done.y[:, -1], max(top, np.abs(rises @ done.y[:count]).max())
    return top


@pytest.mark.parametrize("speed", [150.0, 400.0])
def test_rise_along_a_plan_is_never_under_what_scipy_integrates(speed):
    at = resolve(described(track=SNAKE, wagon=TEAS))
    liquid = liquid_of("tea", at.description.cup["tea"])
    path = spill.path_of(at.description.track)
    history = curve_history(speed, [p.length for p in path.pieces], [p.curvature for p in path.pieces])
    truth = integrated(liquid, *history)
    assert truth <= spill.curve_rise(liquid, at.description.track, speed) <= 1.25 * truth


@pytest.mark.parametrize("ramp", ["even", "shaped"])
def test_rise_at_a_stop_in_a_curve_is_never_under_what_scipy_integrates(ramp):
    at = train(ride={"speed": 400.0, "stop_time": 1.2, "ramp": ramp})
    liquid = liquid_of("tea", at.description.cup["tea"])
    lengthwise = integrated(liquid, *spill.profiles(at)[1])
    rise = spill.ramp_rises(at, liquid)[1]
    steady = liquid.radius * 400**2 / 320 / G
    assert np.hypot(lengthwise, steady) * 0.999 <= rise <= 1.15 * np.hypot(lengthwise, steady)


# ---- the right finding fails first, and its remedy, applied, passes

FAST, HARD = np.arange(200.0, 3000.0, 50.0), 1 / np.arange(0.5, 10.0, 0.25)
TALL = {"profile": ((0.0, 44.0), (120.0, 58.0)), "fill": 20.0}
STEPS = {
    "spill-curve": ("speed", FAST, {"tip_safety": 1.0}, {"fill": 50.0}),
    "tip-curve": ("speed", FAST, {}, TALL),
    "tip-standing": ("floor_tilt", np.arange(1.0, 10.1, 0.5), {}, TALL),
    "spill-stop": ("stop_time", HARD, {"speed": 400.0, "tip_safety": 1.0}, {"fill": 50.0}),
    "tip-stop": ("stop_time", HARD, {"speed": 400.0}, TALL),
}
CALM = {"tip_safety": 2.0, "start_time": 20.0, "speed": 100.0, "stop_time": 10.0}
DRINKS = {"axle-load", "tip-curve", "tip-stop", "tip-standing", "cup-hold", "spill-curve", "spill-stop"}
ASKED = (("speed", r"run at ([\d.]+) mm/s"), ("floor_tilt", r"level the floor to ([\d.]+) deg"),
         ("start_time", r"ride.start_time to ([\d.]+) s"), ("stop_time", r"ride.stop_time to ([\d.]+) s"))


@pytest.mark.parametrize("check", STEPS)
def test_step_by_step_the_right_finding_fails_first_and_its_remedy_passes(check):
    field, steps, ride, cup = STEPS[check]
    for count, value in enumerate(steps):
        ride = {**CALM, **ride, field: float(value)}
        if wrong := failing(train(ride=ride, cup=cup), DRINKS):
            break
    assert count and wrong, "it holds at first and fails in the end"
    assert {finding.check for finding in wrong} == {check}
    asked = {name: float(found[1]) for name, words in ASKED if (found := re.search(words, wrong[0].remedy))}
    assert asked, wrong[0].remedy
    assert not failing(train(ride={**ride, **asked}, cup=cup), {check}), wrong[0].remedy


def test_filling_step_by_step_spills_first_and_the_depth_named_stays_in():
    ride = {**CALM, "speed": 320.0, "stop_time": 1.0}
    for fill in range(20, 57):
        if wrong := failing(train(ride=ride, cup={"fill": float(fill)}), DRINKS):
            break
    assert fill > 30 and {finding.check for finding in wrong} <= {"spill-curve", "spill-stop"}
    for finding in wrong:
        depth = float(re.search(r"fill it only ([\d.]+) mm", finding.remedy)[1])
        assert depth < fill and not failing(train(ride=ride, cup={"fill": depth}), {finding.check})
        deeper = failing(train(ride=ride, cup={"fill": depth + 0.2}), {finding.check})
        assert deeper, "it is the largest depth, to the tenth"


@pytest.mark.parametrize("check, at, words, table, field", [
    ("coupler-pull", {"coupler": {"remanence": 0.3}}, r"coupler.remanence ([\d.]+) T", "coupler", "remanence"),
    ("coupler-pull", {"coupler": {"remanence": 0.3, "magnet_diameter": 2.0}}, r"magnets ([\d.]+) mm in", "coupler",
     "magnet_diameter"),
    ("coupler-pull", {"locomotive": {"mass": 2000.0}}, r"put (\d+) g into it", None, None),
    ("adhesion", {"locomotive": {"mass": 120.0}}, r"down to ([\d.]+) g", "locomotive", "mass"),
    ("adhesion", {"locomotive": {"adhesion": 0.1}}, r"adhesion of ([\d.]+) ", "locomotive", "adhesion"),
    ("axle-load", {"wagon": {"wheelbase": 40.0}}, r"wheelbase to ([\d.]+) mm", "wagon", "wheelbase"),
])
def test_remedy_applied_passes(check, at, words, table, field):
    finding, *_ = failing(train(**at), {check})
    asked = float(re.search(words, finding.remedy)[1])
    if table is None:
        assert finding.value * (1 - 0.02) <= finding.limit * (1 + asked / empty_mass(train())), finding.remedy
        return
    mended = {**at, table: {**at.get(table, {}), field: asked}}
    assert not failing(train(**mended), {check}), finding.remedy


def empty_mass(at):
    return states.lading(at.wagons[0], "PLA").bare[:, 0].sum()


def test_ballast_named_by_a_remedy_passes_as_a_flat_module():
    ride = {**CALM, "speed": 700.0, "tip_safety": 2.0}
    finding, = failing(train(ride=ride, cup=TALL), {"tip-curve"})
    weight = float(re.search(r"put (\d+) g of ballast", finding.remedy)[1])
    at = train(ride=ride, cup=TALL)
    plan, row = at.wagons[0], (weight, 0.0, 0.0, at.wagons[0].floor_z + tip.BALLAST_HEIGHT)
    outwards, inwards = tip._side_pulls(at)
    stand = tip._in_curve(at, plan, 1.05 * outwards[0], 1.05 * inwards[0])
    assert Stand(weighted(stand.of, row), stand.edges).margin() >= 2.0


# ---- bad input

@pytest.mark.parametrize("lines, path, words", [
    ({"ride": "[ride]\nstop_time = 0"}, "ride.stop_time", "outside 0.1 to 20 s"),
    ({"ride": "[ride]\nreserve = -1"}, "ride.reserve", "outside 0 to 30 mm"),
    ({"wagon": f"cups = {['tea'] * 41}"}, "wagon[1].cups", "at most 40"),
    ({"ride": "[cup.odd]\nprofile = [[0, 40], [60, 50]]\nmass = 90\nwall = 2\nfill = 59"}, "cup.odd.fill", "the 58 mm"),
    ({"ride": "[cup.odd]\nprofile = [[0, 40], [60, 7]]\nmass = 90"}, "cup.odd.profile", "outside 8 to 160 mm"),
])
def test_bad_input_is_refused_in_words(lines, path, words):
    with pytest.raises(DescriptionError) as caught:
        described(**lines)
    assert [fault.path for fault in caught.value.faults] == [path] and words in str(caught.value)


def test_a_full_cup_that_narrows_to_its_rim_is_a_finding_whose_only_cure_is_less():
    narrow = {"profile": ((0.0, 40.0), (30.0, 66.0), (60.0, 30.0)), "fill": 57.0}
    wrong = failing(train(cup=narrow), {"spill-curve", "spill-stop"})
    assert {finding.check for finding in wrong} == {"spill-curve", "spill-stop"}
    for finding in wrong:
        depth = float(re.search(r"fill it only ([\d.]+) mm", finding.remedy)[1])
        assert "run at" not in finding.remedy and finding.limit < 0
        assert not failing(train(cup={**narrow, "fill": depth}), {finding.check})


def test_notable_states_are_the_extremes_of_all():
    plan = train(wagon={"modules": ("box",)}).wagons[0]
    every = list(every_state(states.lading(plan, "PLA")))
    mass = np.array([rows[:, 0].sum() for rows in every])
    x, z = (np.array([np.average(rows[:, axis], weights=rows[:, 0]) for rows in every]) for axis in (1, 3))
    told = {word: state for state in states.notable(plan, "PLA") for word in state.what.split(", ")}
    assert told["lightest"].mass == pytest.approx(mass.min()) and told["heaviest"].mass == pytest.approx(mass.max())
    assert told["highest"].centre[2] == pytest.approx(z.max())
    assert told["farthest forward"].centre[0] == pytest.approx(x.max())
    assert told["farthest back"].centre[0] == pytest.approx(x.min())


@pytest.mark.parametrize("cup", [{"viscosity": 1000.0, "fill": 0.1}, {"fill": 0.0}, {"fill": 57.5, "viscosity": 1000.0},
                                 {"profile": ((0.0, 8.0), (250.0, 9.0)), "wall": 3.9, "fill": 200.0}])
@pytest.mark.parametrize("ramp", ["even", "shaped"])
def test_odd_drinks_get_finite_findings(cup, ramp):
    found = paper.run(train(ride={"speed": 3000.0, "stop_time": 0.1, "ramp": ramp}, cup=cup), only=DRINKS)
    assert found and all(np.isfinite([finding.value, finding.limit]).all() for finding in found)
    assert all(re.search(r"\d", finding.remedy) for finding in found if finding.verdict == "fail")
