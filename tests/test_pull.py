"""What the train pulls, pushes and draws aside: sums over masses by hand, and a chain of equal links on a circle."""

from itertools import product
from math import atan, radians, sin, tan

import numpy as np
import pytest
from conftest import described
from felt import bar_swing, string_line_force
from teas import TEAS, teas

from partgen.checks.coupling import coupler_pull
from partgen.checks.on_plan import run
from partgen.describe.printer_tables import Printer
from partgen.dynamics.load_states import heaviest, lading, unladen
from partgen.dynamics.pull import (
    asides,
    grip,
    grip_on_level,
    held_couplings,
    masses,
    pulls,
    pushes,
    start_pull,
    stop_push,
)
from partgen.dynamics.search import ridden
from partgen.dynamics.stability import aside_in_curves, stuck
from partgen.identity import StuckId
from partgen.plan.mass import loads
from partgen.plan.train import resolve

G = 9806.65
FAST = 1.05 * 333.0       # mm/s: laps scatter by 5 % either way, and the fastest counts
ODD = {"speed": 333.0, "start_time": 1.7, "stop_time": 0.9, "floor_tilt": 0.7, "gradient": 1.3, "rolling": 0.031,
       "wheel_friction": 0.27}
SECOND = "\n[[wagon]]\nname = 'two'\nwheelbase = 71\ncups = ['tea']\nmodules = ['box']"


def two(track=""):
    """Two unlike wagons on the odd ride."""
    return ridden(resolve(described(track=track, wagon=TEAS + SECOND)), **ODD)


def empty(plan):
    """What a wagon is made of and carries without cups."""
    return [load for load in loads(plan, Printer()) if load.kind not in ("cup", "liquid")]


def resistance(mass, wheelbase, track):
    """Force [N] of a start against a mass [g]: rolling, slope, Morrison's curve and inertia, added up by hand."""
    weight = mass * G * 1e-6
    spacing = track.gauge + track.rail_head
    return (0.031 * weight + weight * sin(atan(0.013) + radians(0.7))
            + 0.27 * weight * (spacing + wheelbase) / (2 * track.min_radius) + mass * FAST / 1.7 * 1e-6)


def test_start_pulls_what_all_behind_resists():
    train = two()
    track = train.description.track
    each = [resistance(mass, plan.wagon.wheelbase, track)
            for mass, plan in zip(masses(train), train.wagons, strict=True)]
    assert pulls(train) == pytest.approx([sum(each), each[1]], rel=1e-12)
    loco = train.description.train.locomotive
    assert start_pull(train) == pytest.approx(sum(each) + resistance(loco.mass, loco.wheelbase, track))
    assert grip(train) == pytest.approx(loco.adhesive_share * loco.mass * G * 1e-6 * loco.adhesion
                                        * np.cos(atan(0.013) + radians(0.7)))


def test_wagons_weigh_all_that_they_may_carry():
    train = two()
    for plan, mass in zip(train.wagons, masses(train), strict=True):
        parts = loads(plan, Printer())
        assert mass == pytest.approx(sum(load.mass for load in parts)) == heaviest(lading(plan, Printer()))
        assert heaviest(unladen(plan, Printer())) == pytest.approx(sum(load.mass for load in empty(plan)))


@pytest.mark.parametrize("gradient, tilt", [(0.0, 0.0), (1.3, 0.7), (6.0, 0.0)])
def test_stop_pushes_by_inertia_down_the_slope_less_what_rolls_off(gradient, tilt):
    """By hand, with Newton's second law along the slope; the locomotive's wheels brake the whole train."""
    train = ridden(two(), gradient=gradient, floor_tilt=tilt)
    down = np.sin(atan(gradient / 100) + radians(tilt))
    each = [mass * 1e-6 * (FAST / 0.9 + (down - 0.031) * G) for mass in masses(train)]
    assert pushes(train) == pytest.approx([sum(each), each[1]])
    loco = train.description.train.locomotive.mass
    assert stop_push(train) == pytest.approx(sum(each) + loco * 1e-6 * (FAST / 0.9 + (down - 0.031) * G))
    assert max(pushes(ridden(train, stop_time=9.0))) > 0 if down > 0.031 else not any(
        pushes(ridden(train, stop_time=9.0))), "they stop by themselves"


def test_a_train_that_stops_harder_than_its_wheels_grip_is_refused():
    """Ball bearings hardly hold it back; a long start and a quick stop. Before, only the start was asked about."""
    train = ridden(two(), rolling=0.003, breakaway=0.004, floor_tilt=0.0, start_time=6.0, stop_time=4.0)
    slow, quick = ([one for one in run(ridden(train, stop_time=time)) if one.check == "adhesion"][0]
                   for time in (4.0, 0.15))
    assert (slow.verdict, quick.verdict) == ("pass", "fail") and "the stop takes" in quick.reason
    assert quick.limit == pytest.approx(train.description.ride.pull_safety * stop_push(ridden(train, stop_time=0.15)))


def test_wagons_are_drawn_aside_as_a_chain_of_links_is():
    # on a full circle wagons stand for good as they do: one between its likes is a link from coupling to coupling
    track = "plan = [{go = 'right', radius = 905, angle = 180, times = 2}]\nclosed = true"
    third = SECOND.replace("two", "three")
    train = resolve(described(track=track, wagon=TEAS + SECOND + third + third.replace("three", "four")))
    forces = asides(train, [2.0] * 4)
    stands = [(plan.base, plan.frame.seats[0].x) for plan in train.wagons]
    bar = 2 * train.wagons[0].coupling.front.reach
    for place in (1, 2):        # the first of them behind a wagon of another wheelbase, whose pivot lies nearer in
        drawn = [2 * sin(bar_swing(905.0, stands[place], stands[beside], bar)) for beside in (place - 1, place + 1)]
        assert forces[place] == pytest.approx(sum(drawn), rel=1e-3)
    link = train.wagons[2].length + train.description.coupler.gap
    assert forces[2] == pytest.approx(string_line_force(2.0, link, 905.0), rel=0.01)
    assert forces[3] == pytest.approx(forces[2] / 2, rel=1e-3), "behind the last one nothing pulls"
    left = resolve(described(track=track.replace("right", "left"), wagon=TEAS + SECOND + third))
    assert asides(left, [1.0, 0.7, 0.2]) == pytest.approx(
        asides(resolve(described(track=track, wagon=TEAS + SECOND + third)), [1.0, 0.7, 0.2]), rel=1e-6)


def states(plan):
    """Rows of mass [g], x, y, z [mm] of a wagon in every load state, modules in and out."""
    of = lading(plan, Printer())
    for chosen in product(*(range(len(words)) for words in of.words)):
        yield np.concatenate([of.bare, *(of.choices[place, one] for place, one in enumerate(chosen))])


def test_inward_pull_loads_each_axle_by_its_lever():
    """It was spread evenly over both, with the modules always in; here both axles' forces come from a balance of forces
    and of moments, in every load state and to whichever side a drawbar pulls."""
    train = two(track="min_radius = 231")
    pulled, friction = pulls(train), 0.27
    alone = [(asides(train, [pulled[0], 0.0])[0], asides(train, [0.0, pulled[1]])[0]),
             (asides(train, [0.0, pulled[1]])[1], 0.0)]
    for (plan, inward), (ahead, behind) in zip(aside_in_curves(train), alone, strict=True):
        half, seat = plan.base / 2, plan.frame.seats[0].x
        nadal = tan(radians(90) - atan(friction))
        worst = 0.0
        for rows, sign in product(states(plan), (1, -1)):
            weights = np.linalg.solve([[1, 1], [half, -half]], [rows[:, 0].sum(), rows[:, 0] @ rows[:, 1]]) * G * 1e-6
            drawn = np.linalg.solve([[1, 1], [half, -half]],
                                    [ahead + sign * behind, seat * (ahead - sign * behind)])
            worst = max(worst, *((abs(drawn) + friction * weights / 2) / (nadal * weights / 2)))
        even = (ahead + behind) / 2 / (nadal * min(rows[:, 0].sum() for rows in states(plan)) * G * 1e-6 / 4)
        assert (inward.way, inward.what) == ("inward", "wheel climb") and inward.force == pytest.approx(ahead + behind)
        assert inward.share == pytest.approx(worst) and inward.share > 1.14 * even / 2
        assert "modules out" in inward.words or not plan.layout.placed


def test_a_push_at_a_stop_drives_outward_what_the_curve_drives_outward_too():
    """Before, only the pull of a start was judged. Each wagon of a chain on a circle is driven outwards by F L/R
    (railway handbooks, MEM) at both ends together and by m v^2/R of its own; its axles' balance by hand, in every load
    state."""
    track = "plan = [{go = 'right', radius = 905, angle = 180, times = 2}]\nclosed = true\nmin_radius = 905"
    train = ridden(resolve(described(track=track, wagon=TEAS + "".join(
        SECOND.replace("two", name) for name in ("two", "three", "four")))), **{**ODD, "stop_time": 0.1})
    behind, friction, own = pushes(train), 0.27, FAST**2 / 905 / G
    plan, found = list(aside_in_curves(train))[2]       # between its likes
    link, half = plan.length + train.description.coupler.gap, plan.base / 2
    force = string_line_force(1.0, link, 905.0) / 2 * (behind[2] + behind[3])
    assert found.way == "outward" and found.force == pytest.approx(force, rel=0.01)
    lever = plan.frame.seats[0].x / plan.base
    ends = string_line_force(1.0, link, 905.0) / 2 * np.array([behind[2], behind[3]])
    driven = max(ends @ [0.5 + lever, lever - 0.5], ends @ [lever - 0.5, 0.5 + lever])
    least = min(min(0.5 * rows[:, 0].sum() + sign * rows[:, 0] @ rows[:, 1] / 2 / half for rows in states(plan))
                for sign in (1, -1)) * G * 1e-6
    nadal = tan(radians(90) - atan(friction))
    assert found.what == "wheel climb"
    assert found.share == pytest.approx((driven + least * own + friction * least / 2) / (nadal * least / 2), rel=0.02)
    eased = list(aside_in_curves(train, 1e9))[2][1]
    assert found.share - eased.share == pytest.approx(2 * own / nadal), "no curve, no swing outwards"


def test_a_standing_train_has_to_break_away():
    """Rolling and speeding up take less than what sticks, half as much again as rolling unless it is measured."""
    slow = ridden(two(), start_time=20.0, gradient=0.0, floor_tilt=0.0, wheel_friction=0.05)
    track = slow.description.track
    for measured, told in ((None, 1.5 * 0.031), (0.09, 0.09), (0.02, 0.031 + FAST / 20 / G)):
        each = [mass * G * 1e-6 * (told + 0.05 * (track.gauge + track.rail_head + plan.wagon.wheelbase)
                                   / (2 * track.min_radius))
                for mass, plan in zip(masses(slow), slow.wagons, strict=True)]
        assert pulls(ridden(slow, breakaway=measured)) == pytest.approx([sum(each), each[1]])


def test_an_unknown_flange_counts_for_climbing_as_60_degrees_and_for_the_wheelbase_as_upright():
    wheels = two().wagons[0].wheelset
    unknown = wheels.model_copy(update={"flange_angle": None})
    assert (unknown.climbing_angle, unknown.binding_angle) == (60.0, 90.0)
    assert unknown.model_copy(update={"printed": True}).climbing_angle == 90.0, "so it is drawn"
    assert wheels.model_copy(update={"flange_angle": 72.0}).climbing_angle == 72.0


def test_couplings_hold_their_magnets_pull_derated():
    train = two()
    strong = two()
    strong = resolve(strong.description.model_copy(update={"coupler": strong.description.coupler.model_copy(
        update={"remanence": 0.7 * strong.description.coupler.remanence})}))
    for (who, plan, held, needed), pulled, weaker in zip(
            held_couplings(train), pulls(train), held_couplings(strong), strict=True):
        assert str(who).endswith(plan.name) and needed == pulled
        assert weaker[2] == pytest.approx(0.49 * held), "the pull grows with the square of the remanence"
        finding = next(f for f in coupler_pull(train) if f.subject == who)
        assert finding.value == held and finding.limit == pytest.approx(1.2 * needed)


ASKEW = ("modules = ['lead', 'box']\nlength = 150\nwidth = 60",
         "\n[module.lead]\nlength = 20\nwidth = 20\nheight = 8\nmass = 300\nplug_room = 0")


def askew():
    """Three wagons with a heavy module off their middles."""
    wagon, module = ASKEW
    return resolve(described(module=module, wagon=wagon + "".join(
        f"\n[[wagon]]\nname = '{name}'\nwheelbase = {base}\n{wagon}" for name, base in (("two", 70), ("three", 76)))))


def test_a_load_beside_the_middle_tips_the_sooner():
    # by hand: moments of every load about the rail that it is nearer to, and about the front axle, modules in and out
    train = ridden(askew(), wheel_friction=0.05)
    spacing = (train.description.track.gauge + train.description.track.rail_head) / 2
    pulled = {plan: lifts for plan, _, lifts in stuck(train)}
    for plan, inward in aside_in_curves(train):
        held, ahead = [], []
        for parts in (empty(plan), [load for load in empty(plan) if load.kind != "module"]):
            aside = abs(sum(load.mass * load.y for load in parts))
            held.append((sum(load.mass for load in parts) * spacing - aside) * G * 1e-6)
            ahead.append(sum(load.mass * (plan.base / 2 - load.x) for load in parts) * G * 1e-6)
        assert abs(sum(load.mass * load.y for load in empty(plan))) > 1, "it stands askew"
        assert inward.what == "tipping"
        assert inward.share == pytest.approx(inward.force * plan.coupling.height / min(held))
        assert pulled[plan] == pytest.approx(min(ahead) / plan.coupling.height)


def test_stuck_wagon_is_lifted_by_the_couplers_lever():
    train = teas()
    plan, = train.wagons
    stuck = list(coupler_pull(train))[-1]
    weight = sum(load.mass for load in empty(plan)) * G * 1e-6
    assert stuck.limit == pytest.approx(weight * plan.base / 2 / plan.coupling.height)
    assert stuck.value <= grip_on_level(train)


def test_every_wagon_that_is_lifted_is_named():
    train = resolve(described(wagon=TEAS + SECOND + SECOND.replace("two", "three"), coupler="remanence = 1.4",
                              ride="[train.locomotive]\nmass = 4000\nadhesion = 0.6"))
    found = [one for one in coupler_pull(train) if isinstance(one.subject, StuckId)]
    assert [(one.subject.wagon, one.verdict) for one in found] == [(name, "fail") for name in ("one", "two", "three")]
