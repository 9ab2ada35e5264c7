"""What stands in the seats, and how surely wagons stay on their wheels and cups in their seats: against brute force
over every load state, the static stability factor, and moments added up by hand."""

from itertools import product
from math import atan, atan2, cos, cosh, hypot, pi, radians, sin, sinh, tan

import cylinder
import numpy as np
import pytest
from conftest import described
from hypothesis import given, settings
from hypothesis import strategies as st
from msgspec.structs import replace
from plans import cured
from scipy.optimize import linprog
from teas import TEAS, teas

from partgen.checks.tip import axle_load
from partgen.describe.cup_table import Cup
from partgen.describe.printer_tables import Printer
from partgen.dynamics import load_states as states
from partgen.dynamics.laps import rises
from partgen.dynamics.liquids import liquids_on
from partgen.dynamics.pull import asides, masses, pulls, pushes
from partgen.dynamics.search import ridden
from partgen.dynamics.stability import Edge, Stability, at_stops, in_curves, in_seats, on_axles, standing
from partgen.formulas import slosh
from partgen.plan.mass import loads
from partgen.plan.train import resolve

G = 9806.65


# ---- load states: every one written out by numpy

def every_state(of):
    """Yield all parts of every load state, as rows."""
    for chosen in product(*(range(len(words)) for words in of.words)):
        yield np.concatenate([of.bare, *(of.choices[place, choice] for place, choice in enumerate(chosen))])


@given(st.lists(st.tuples(st.floats(5, 300), st.floats(-60, 60), st.floats(-20, 20), st.floats(20, 120)), min_size=1,
                max_size=6), st.floats(0, 3000), st.floats(0, 0.15))
@settings(max_examples=15)
def test_worst_state_is_the_worst_of_all(cups, acceleration, tilt):
    nothing = 2 * ((0.0, 0.0, 0.0, 0.0),)
    rows = np.array([(nothing, ((0.4 * m, x, y, z), nothing[0]), ((0.4 * m, x, y, z), (0.6 * m, x, y, 0.9 * z)))
                     for m, x, y, z in cups] + [(((120.0, -12, 3, 40), nothing[0]), nothing, nothing)])
    of = states.Lading(np.array([[160.0, 0, 0, 25]]), (*len(cups) * (("", "empty", "full"),), states.MODULES), rows)
    for edge in (Edge(1, 1, 35.0, acceleration, tilt + 0.01), Edge(2, -1, 20.0, acceleration, tilt + 0.01, 3.0)):
        state, _ = Stability(of, (edge,)).worst()
        brute = min(margin(edge, rows) for rows in every_state(of))
        assert state.value == pytest.approx(brute, rel=1e-9)
        assert margin(edge, state.rows) == pytest.approx(state.value, rel=1e-9), "the state named is the one found"


def margin(edge, rows):
    """How many times over the parts of one load state are held."""
    held, tipped = (each.sum() for each in edge.moments(rows))
    return held / (tipped + edge.pull)


def test_forty_seats_are_judged_as_any():
    of = states.lading(teas(wagon={"cups": ("tea",) * 40}).wagons[0], Printer())
    edge = Edge(1, 1, 32.0, 200.0, 0.02)
    state, _ = Stability(of, (edge,)).worst()
    # each seat on its own: sums of independent choices, so the least of held - r tipped must be 0
    def spare(rows):
        held, tipped = edge.moments(rows)
        return (held - state.value * tipped).sum()
    assert spare(of.bare) + sum(min(map(spare, seat)) for seat in of.choices) == pytest.approx(0, abs=1e-6)


# ---- tipping: the static stability factor, s/(2 h) (NHTSA, rollover rules, chapter V), in parts of gravity

def test_a_wagon_tips_where_the_static_stability_factor_says():
    plan = teas().wagons[0]
    frozen = states.unladen(plan, Printer())
    height = frozen.bare[:, 0] @ frozen.bare[:, 3] / frozen.bare[:, 0].sum()
    factor = 40.0 / (2 * height)
    margin = Stability(frozen, tuple(Edge(2, sign, 20.0, 0.3 * G, 0.0) for sign in (1, -1))).margin()
    assert margin == pytest.approx(factor / 0.3, rel=1e-9)


def test_swinging_liquid_tips_as_wall_and_floor_pressure_do():
    """A liquid that leans steadily tips a glass by what the tilted body of liquid weighs off the middle: for a
    cylinder the centre moves aside by R^2 tan(t)/(4 h) and up by half of that times tan(t) (geometry, from memory)."""
    glass = Cup(profile=((0.0, 50.0), (80.0, 50.0)), wall=1.0, fill=60.0, mass=90.0)
    radius, depth, slope = 24.0, 60.0, 0.05
    aside = radius**2 * slope / (4 * depth)
    leaned = slope * states.liquid_centre(glass) + aside
    assert slope * states.swung_centre(glass, 1.0) == pytest.approx(leaned)
    # each further lean's worth of swing pushes as the first mode's pressure on wall and floor does: reference 5, (b)
    reach = slosh.ROOTS[0] * depth / radius
    pushed = glass.wall + depth * (1 - (cosh(reach) - 2) / (reach * sinh(reach)))
    assert states.swung_centre(glass, 2.0) - states.swung_centre(glass, 1.0) == pytest.approx(
        cylinder.mass_fraction(radius, depth) * pushed, rel=2e-3)
    assert states.swung_centre(glass, 2.0) > states.swung_centre(glass, 1.0) > states.liquid_centre(glass)


def test_notable_states_are_the_extremes_of_all():
    plan = teas(wagon={"modules": ("box",)}).wagons[0]
    every = list(every_state(states.lading(plan, Printer())))
    mass = np.array([rows[:, 0].sum() for rows in every])
    x, z = (np.array([np.average(rows[:, axis], weights=rows[:, 0]) for rows in every]) for axis in (1, 3))
    told = {word: state for state in states.notable(plan, Printer()) for word in state.what.split(", ")}
    assert told["lightest"].mass == pytest.approx(mass.min()) and told["heaviest"].mass == pytest.approx(mass.max())
    assert told["highest"].centre[2] == pytest.approx(z.max())
    assert told["farthest forward"].centre[0] == pytest.approx(x.max())
    assert told["farthest back"].centre[0] == pytest.approx(x.min())




# ---- a wagon in a curve, at a stop, standing: moments added up by hand, away from special points

FAST = 1.05 * 333.0       # mm/s: laps scatter by 5 % either way, and the fastest counts
ODD = {"speed": 333.0, "start_time": 1.7, "stop_time": 0.9, "floor_tilt": 0.7, "joint_step": 0.35, "gradient": 1.3,
       "rolling": 0.031}
DRY = {"fill": 0.0}


def least(plan, edges):
    """Return the least margin over all load states and `edges`: (axis, sign, reach, rate, tilt, pull's moment)."""
    of = states.lading(plan, Printer(), {})
    margins = []
    for rows in every_state(of):
        mass, height = rows[:, 0] * 1e-6, rows[:, 3]
        for axis, sign, reach, rate, tilt, moment in edges:
            held = (mass * (G * cos(tilt) - rate * sin(tilt)) * (reach - sign * rows[:, axis])).sum()
            margins.append(held / ((mass * (rate * cos(tilt) + G * sin(tilt)) * height).sum() + moment))
    return min(margins)


@pytest.mark.parametrize("hand", ["left", "right"])
def test_margin_in_a_curve_is_that_of_the_moments(hand):
    track = f"plan = [{{go = 'straight', length = 210}}, {{go = '{hand}', radius = 345, angle = 77}}]"
    train = ridden(resolve(described(track=track, wagon=f"{TEAS}\nmodules = ['box']", cup="")), **ODD)
    train = resolve(train.description.model_copy(update={"cup": {"tea": train.description.cup["tea"].model_copy(
        update=DRY)}}))
    (plan, stands), = in_curves(train)
    outward, inward = asides(train, pushes(train))[0], asides(train, pulls(train))[0]
    assert 0 < outward != inward > 0
    tilt = radians(0.7) + np.arcsin(0.35 / 37.5)    # one wheel up on a joint: from one rail's inner edge to the other's
    reach, height = (37.5 + train.description.track.rail_head) / 2, plan.coupling.height
    by_hand = least(plan, [(2, sign, reach, rate, tilt, force * height) for sign in (1, -1)
                           for rate, force in ((FAST**2 / 345, outward), (0.0, inward))])
    assert stands.margin() == pytest.approx(by_hand, rel=1e-9)
    assert next(in_curves(train, 700.0))[1].margin() > stands.margin()


def test_margin_at_a_stop_is_that_of_the_moments():
    train = teas(ride=ODD, cup=DRY, wagon={"modules": ("box",)})
    (plan, stands), = at_stops(train)
    tilt = atan(0.013) + radians(0.7) + np.arcsin(0.35 / plan.base)
    by_hand = least(plan, [(1, sign, plan.base / 2, FAST / 0.9, tilt, 0.0) for sign in (1, -1)])
    assert stands.margin() == pytest.approx(by_hand, rel=1e-9)
    slow_start = ridden(train, stop_time=3.1)       # then the start is the harder one
    assert next(at_stops(slow_start))[1].margin() == pytest.approx(
        least(plan, [(1, sign, plan.base / 2, FAST / 1.7, tilt, 0.0) for sign in (1, -1)]), rel=1e-9)


def test_margin_standing_is_that_of_the_moments_as_a_guest_brushes_a_seat():
    train = teas(ride=ODD, cup=DRY, wagon={"modules": ("box",)})
    (plan, stands), = standing(train)
    brush = 0.2 * (plan.deck_z + max(seat.height for seat, _ in plan.cups))
    reach = (37.5 + train.description.track.rail_head) / 2
    aside = [(2, sign, reach, 0.0, radians(0.7) + np.arcsin(0.35 / 37.5), brush) for sign in (1, -1)]
    along = [(1, sign, plan.base / 2, 0.0, atan(0.013) + radians(0.7) + np.arcsin(0.35 / plan.base), brush)
             for sign in (1, -1)]
    assert stands.margin() == pytest.approx(least(plan, aside + along), rel=1e-9)


def full_height(stands, name):
    """Return the height over rail top [mm] at which the liquid of a full cup counts."""
    return next(rows[rows[:, 0] > 0][-1][3] for words, seat in zip(stands.of.words, stands.of.choices, strict=True)
                for word, rows in zip(words, seat, strict=True) if word == f"full {name}")


def test_liquids_count_at_their_highest_swing_those_of_inserts_too():
    extra = "[cup.glass]\nprofile = [[0, 32], [52, 41]]\nmass = 55\nwall = 2.1\nfill = 27"
    train = ridden(resolve(described(wagon="cups = ['tea']\ninserts = ['glass']", cup=extra)), **ODD)
    plan, = train.wagons
    (_, curve), = in_curves(train)
    (_, stop), = at_stops(train)
    assert {liquid.name for liquid in liquids_on(train, plan)} == {"tea", "glass"}
    for liquid in liquids_on(train, plan):
        cup, risen = train.description.cup[liquid.name], rises(train, liquid)
        steady = liquid.radius / G
        aside = FAST**2 / 320
        leaning = G * tan(radians(0.7))
        swing = (risen.on.crest + risen.left + risen.on.factor * steady * leaning) / (steady * (aside + leaning))
        assert swing > 2 and full_height(curve, liquid.name) == pytest.approx(
            plan.deck_z + states.swung_centre(cup, swing))
        hardest = FAST / 0.9
        swing = 2.0 + (risen.on.swings + risen.left) / (steady * (hardest + G * tan(atan(0.013) + radians(0.7))))
        # an even stop lets every undamped mode swing to twice the steady rise, a little less when they do not meet
        assert full_height(stop, liquid.name) == pytest.approx(plan.deck_z + states.swung_centre(cup, swing), rel=0.02)


def test_what_acts_on_one_wagon_is_asked_of_that_one_alone():
    train = resolve(described(wagon=f"{TEAS}\n[[wagon]]\nname = 'two'\nwheelbase = 71\ncups = ['tea']"))
    every = {plan.name: stands.margin() for plan, stands in in_curves(train)}
    for name, margin in every.items():
        (plan, stands), = in_curves(replace(train, only=frozenset({name})))
        assert plan.name == name and stands.margin() == pytest.approx(margin, rel=1e-12)
    assert masses(train)[0] > masses(train)[1]


@pytest.mark.parametrize("at", [(-60.0, 1.0), (-30.0, 0.0), (0.0, -4.0), (25.0, 2.0), (68.0, 0.0)])
@pytest.mark.parametrize("height", [0.0, 11.0])
def test_a_body_on_bogies_stands_on_four_wheels_of_one_and_the_middle_of_the_other(at, height):
    """The largest push aside that wheels which only bear can balance, by scipy's linear programme; a pivot higher than
    the rails only helps. At mid-length about half of what a rigid wagon has is left (reference: a body that leans on
    one bogie alone)."""
    description = described(ride="[ride]\nfloor_tilt = 0\njoint_step = 0")
    wagon = description.wagon[0].model_copy(update={"wheelbase": 36.0, "pivot_spacing": 140.0})
    train = resolve(description.model_copy(update={"wagon": (wagon,)}))
    (_, stands), = in_curves(train)
    edges = [replace(edge, acceleration=500.0, pull=0.0) for edge in stands.edges]
    load, best = np.array([[200.0, *at, 60.0]]), []
    found = min(margin(edge, load) for edge in edges)
    half, weight = (37.5 + train.description.track.rail_head) / 2, 200.0 * G * 1e-6
    for push in (0.1, -0.1):        # N; the rear bogie takes of it what turns the wagon about the front one's pivot
        points = np.array([*((70 + i * 18, j * half) for i in (1, -1) for j in (1, -1)), (-70.0, 0.0)])
        arm = 60.0 - height * (70 - at[0]) / 140
        held = [[0, *np.ones(5)], [0, *points[:, 0]], [-push * arm, *points[:, 1]]]
        solved = linprog([-1, *np.zeros(5)], A_eq=held, b_eq=[weight, weight * at[0], weight * at[1]])
        best.append(solved.x[0])
    assert found == pytest.approx(min(best), rel=1e-9) if not height else found <= min(best)
    if at == (0.0, -4.0):
        rigid = min(margin(replace(edge, reach=half, splay=0.0), load) for edge in edges)
        assert 0.45 < found / rigid < 0.6


@pytest.mark.parametrize("spacing", [30.0, 18.0])
def test_bogies_that_lie_in_each_other_are_asked_about_too(spacing):
    """No description may ask for them, but `tune` tries them."""
    description = described()
    wagon = description.wagon[0].model_copy(update={"wheelbase": 60.0, "pivot_spacing": spacing})
    (_, stands), = in_curves(resolve(description.model_copy(update={"wagon": (wagon,)})))
    assert np.isfinite(stands.margin())


# ---- axles

def test_lighter_axle_carries_what_moments_say():
    train = teas(wagon={"cups": ("tea", "tea", "tea"), "modules": ("box",)})
    (plan, state), = on_axles(train)
    shares = []
    for rows in every_state(states.lading(plan, Printer())):
        front = (rows[:, 0] @ rows[:, 1] / rows[:, 0].sum() + plan.base / 2) / plan.base
        shares += [front, 1 - front]
    assert state.value == pytest.approx(min(shares), abs=1e-9) and state.value < 0.2


def test_wheelbase_named_for_a_light_axle_is_hardly_longer_than_it_must_be():
    train = teas(wagon={"wheelbase": 47.0})
    finding, = axle_load(train)
    named = cured(train, "axle-load")["wagon[1].wheelbase"]
    assert finding.verdict == "fail" and f"carries {100 * finding.value:.0f} % with full tea in seat" in finding.reason
    shorter, longer = (next(axle_load(teas(wagon={"wheelbase": base}))) for base in (named - 0.11, named))
    assert (shorter.verdict, longer.verdict) == ("fail", "pass")


# ---- cups in their seats

JOLT = np.arcsin(0.35 / 37.5)                # one wheel up on a joint's step
SLOPE = atan(0.013) + radians(0.7) + JOLT   # laid in and the floor's, at worst the same way
BENT = ((0.0, 43.0), (9.0, 51.0), (33.0, 56.0), (64.0, 59.0))


def test_slippery_cup_climbs_the_steepest_part_of_its_seats_wall():
    train = teas(ride=ODD, cup={"profile": BENT, "friction": 0.03, "fill": 0.0})
    (_, held), = in_seats(train)
    assert held.edge > 9 and held.way == "climbs the wall"
    lean = atan2((51.0 - 43.0) / 2, 9.0)           # of its lowest part, the one that leans most
    hardest = hypot(FAST**2 / 320, FAST / 0.9)
    assert held.times == pytest.approx(G * tan(pi / 2 - lean + atan(0.03) - SLOPE) / hardest, rel=1e-9)


def test_rough_cup_tips_over_the_edge_of_its_seat_full_of_swinging_liquid():
    train = teas(ride=ODD, cup={"profile": ((0.0, 36.0), (96.0, 47.0)), "friction": 1.4, "fill": 71.0})
    (_, held), = in_seats(train)
    assert held.way == "tips over the edge"
    plan, = train.wagons
    cup, liquid = train.description.cup["tea"], liquids_on(train, plan)[0]
    risen = rises(train, liquid)
    aside = FAST**2 / 320
    leaning = liquid.steady(G * tan(radians(0.7)))
    swing = (risen.on.crest + risen.left + risen.on.factor * leaning) / (liquid.steady(aside) + leaning)
    dry, wet = (next(load for load in loads(plan, Printer()) if load.kind == kind).mass for kind in ("cup", "liquid"))
    height = (dry * states.dry_centre(cup) + wet * states.swung_centre(cup, swing)) / (dry + wet)
    seat, _ = plan.cups[0]
    edge = seat.profile[-1][1] / 2
    assert held.edge == seat.height
    # off its foot it leans by the play until it touches; a jolt moves the edge from under it, high over the rails
    reach = edge - 0.5 - JOLT * (plan.deck_z + seat.height)
    leaned = G * tan(atan(reach / (height - seat.height)) - SLOPE - atan(1.0 / seat.height))
    flat = G * tan(atan((18.0 - JOLT * plan.deck_z) / height) - SLOPE)
    assert held.times == pytest.approx(max(leaned, flat) / hypot(aside, FAST / 0.9), rel=1e-9) and leaned > flat
