"""Cables from end to end: what they are, the way that they take, how long they are, what they carry, and on paper."""

from itertools import combinations
from math import hypot

import numpy as np
import pytest
from conftest import DEMO, described
from scipy.optimize import brentq
from trains import random_description

from partgen.checks import on_plan
from partgen.describe.load import loads
from partgen.dynamics.cables import HAND, guard, laid, lost, starting
from partgen.dynamics.survey import pairs, path_of
from partgen.errors import DescriptionError
from partgen.finding import worst
from partgen.formulas.wire import carries, drop, lowest, of_gauge, resistance
from partgen.motion.coupled import pair
from partgen.paper.bill import bill
from partgen.paper.wiring import COLOURS, cores
from partgen.plan.cable_ways import eye, inside, way
from partgen.plan.train import resolve
from partgen.report.sheet import sheet
from partgen.report.wiring_sheet import draw, draw_on

SUPPLY = "\n[supply]\nmotor_current = 0.6\ncurrent_limit = 1.0\n"
BANK = '\n[[cable]]\nfrom = "controls.driver"\nto = "pantry.bank"\nplug = [8, 6]\n'
MOTOR = '\n[[cable]]\nfrom = "locomotive.motor"\nto = "controls.driver"\n'
WIRED = DEMO.read_text(encoding="utf-8") + SUPPLY + BANK + MOTOR
CHECKS = {"wire-way", "wire-slack", "wire-load", "supply"}


@pytest.fixture(scope="module")
def wired():
    return resolve(loads(WIRED))


def of_wires(train):
    return [one for one in on_plan.run(train, only=CHECKS) if one.check in CHECKS]


# ---- formulas


@pytest.mark.parametrize("gauge, ohms", [(22, 52.96), (24, 84.2), (26, 133.9), (28, 212.9), (30, 338.6)])
def test_gauges_have_the_resistance_of_the_table(gauge, ohms):
    """A table of wire gauges, ohm/km of solid copper at 20 degrees C; ours are soft strands, which may have more."""
    solid = 17.24 / of_gauge(gauge)
    assert solid == pytest.approx(ohms, rel=0.005) and solid < resistance(of_gauge(gauge)) < 1.1 * solid


def test_resistances_are_the_standards():
    """IEC 60228, class 5, plain [ohm/km]; 0.14 mm2 by resistivity 129 to 133, 0.25 mm2 72 to 74.5."""
    assert [resistance(row) for row in (0.5, 0.75, 1.0, 1.5)] == pytest.approx([39.0, 26.0, 19.5, 13.3])
    assert 129 < resistance(0.14) < 133 and 72 < resistance(0.25) < 74.5


def test_drop_by_hand():
    """24 AWG, 0.3 m, 1 A: 0.0505 V with 84.2 ohm/km."""
    assert drop(300, 1.0, of_gauge(24)) * 84.2 / resistance(of_gauge(24)) == pytest.approx(0.0505, abs=1e-4)


def test_currents_between_the_rows_lie_between_them():
    assert carries(of_gauge(26), 1) < carries(0.14, 1) < carries(of_gauge(24), 1) == pytest.approx(3.5, rel=1e-3)


@pytest.mark.parametrize("apart, length, rise", [(20, 30, 0), (30, 34, 0), (25, 60, 0), (20, 40, 15), (30, 50, -18)])
def test_no_chain_hangs_lower_than_two_straight_legs_may(apart, length, rise):
    """The catenary y = a cosh(x / a) of that length between both points: sqrt(L^2 - v^2) = 2 a sinh(d / 2 a)."""
    a = brentq(lambda a: 2 * a * np.sinh(apart / 2 / a) - np.sqrt(length**2 - rise**2), apart / 40, 1e4)
    x0 = a * np.arcsinh(rise / (2 * a * np.sinh(apart / 2 / a))) - apart / 2     # where its left end is
    x = np.linspace(x0, x0 + apart, 4001)
    y = a * np.cosh(x / a)
    assert np.hypot(np.diff(x), np.diff(y)).sum() == pytest.approx(length, rel=1e-5)
    low, bound = (y - y[0]).min(), lowest((0, rise), apart, length)
    assert bound <= low + 1e-6 and bound > low - 0.35 * length


def test_two_straight_legs_reach_the_lowest_point():
    knee = lambda x, z: hypot(x, z - 20) + hypot(30 - x, z - 34)                # noqa: E731
    depth = lowest((20, 34), 30, 55)
    reached = min(brentq(lambda z, x=x: knee(x, z) - 55, -60, 20) for x in np.linspace(0, 30, 3001))
    assert reached == pytest.approx(float(depth), abs=1e-4)


# ---- described


@pytest.mark.parametrize("old, new, path, words", [
    ('to = "pantry.bank"', 'to = "pantry.bamk"', "cable[1].to", "did you mean bank?"),
    ('to = "pantry.bank"', 'to = "pentry.bank"', "cable[1].to", "did you mean pantry?"),
    ('to = "pantry.bank"', 'to = "bank"', "cable[1].to", "begins with no wagon's name"),
    ('to = "pantry.bank"', 'to = "pantry.bank[2]"', "cable[1].to", "pantry has 1 of bank"),
    ('from = "locomotive.motor"', 'from = "locomotive.lamp"', "cable[2].from", "motor"),
    ('to = "controls.driver"', 'to = "track.left"', "cable[2].to", "both outside of the wagons"),
    ('to = "pantry.bank"', 'to = "track.middle"', "cable[1].to", "left"),
    ('to = "pantry.bank"', 'to = "controls.driver"', "cable[1].to", "where it comes from"),
    ("plug = [8, 6]", "plug = [8]", "cable[1].plug", "no width and height"),
    ("plug = [8, 6]", "gauge = 10", "cable[1].gauge", "does not bend"),
    ("plug = [8, 6]", "gauge = 24\nsection = 0.25", "cable[1].gauge", "two answers"),
])
def test_what_no_cable_can_be_is_said_with_its_line(old, new, path, words):
    head, tail = WIRED.rsplit("[supply]", 1)
    text = f"{head}[supply]{tail.replace(old, new, 1)}"
    with pytest.raises(DescriptionError) as caught:
        loads(text)
    fault = next(one for one in caught.value.faults if one.path == path)
    assert words in fault.message and text.splitlines()[fault.line - 1].startswith(path.rpartition(".")[2])


def test_of_several_modules_alike_the_one_meant_is_joined():
    train = resolve(described(wagon="modules = ['box', 'box', 'eye']", module="[module.eye]\nlength = 20\nwidth = 10\n"
                              "height = 6\nmass = 4", supply="[[cable]]\nfrom = 'one.eye'\nto = 'one.box[2]'"))
    assert train.wagons[0].layout.wires == ((2, 1),)


# ---- the way


def test_demo_so_wired_holds(wired):
    assert worst(of_wires(wired)) == "pass" and {one.check for one in of_wires(wired)} == CHECKS


def test_walls_have_the_ways_that_cables_take_and_no_others(wired):
    controls, cups, pantry = wired.wagons
    assert way(pantry, "back") is None and way(cups, "front") is None
    for plan, wall, wide, high in ((controls, "back", 8, 6), (pantry, "front", 8, 6), (controls, "front", 2.8, 2.8)):
        found, tied = way(plan, wall), eye(plan, wall)
        assert found.width >= wide and found.height >= high
        between = abs(tied.along - found.along) - (tied.width + found.width) / 2
        assert between == pytest.approx(3.0) and tied.low == found.low       # the bar that the tie goes round


def test_no_two_cuts_of_a_wall_meet(wired):
    for plan in wired.wagons:
        for one, other in combinations(plan.body.fittings.openings, 2):
            apart = max(abs(one.along - other.along) - (one.width + other.width) / 2,
                        max(one.low, other.low) - min(one.top, other.top))
            assert one.wall != other.wall or apart >= 0.8


def test_passing_cables_lie_beside_the_wheels_and_over_the_drawbars(wired):
    cups = wired.wagons[1]
    lane, wheels = cups.frame.lane, cups.wheelset
    assert lane.inner > wheels.back_to_back / 2 + wheels.width and lane.outer <= cups.frame.width / 2
    assert len(lane.eyes) == 5
    for x, y in lane.eyes:
        beyond = abs(x) > cups.base / 2 + cups.wagon.travel + wheels.flange_diameter / 2
        assert beyond or y + 1.5 > lane.inner, "a tie next to a wheel holds cables off it"
    bar = cups.coupling.front
    assert cups.frame.bottom - cups.cables.passing[0].core > cups.coupler.height + bar.thickness / 2


def test_length_is_the_sum_of_its_pieces(wired):
    controls, cups, pantry = wired.wagons
    one = laid(wired)[0]
    pieces = [inside(controls, controls.cables.through("back")[0]), one.hops[0].length, cups.length - 2,
              one.hops[1].length, inside(pantry, pantry.cables.through("front")[0])]
    assert 0 <= one.length - sum(pieces) < 10 and one.length % 10 == 0


def test_slack_is_between_what_many_poses_ask_for(wired):
    """Poses at stations of our own, and the distance between both ways by plain trigonometry."""
    path = path_of(wired.description.track)
    plans = {str(plan.who): plan for plan in wired.wagons}
    hop, link = laid(wired)[0].hops[0], next(one for one in pairs(wired) if one.front.who == plans["controls"].who)
    stands = pair(path, link.link, np.linspace(0, path.length, 40000))
    controls, cups = plans["controls"], plans["cups"]
    opening = way(controls, "back")
    ends = []
    for stance, (x, y) in ((stands.front, (-controls.length / 2, -opening.along)),
                           (stands.rear, (cups.frame.length / 2, cups.frame.lane.out))):
        turn = np.angle(stance.ahead)
        ends.append((stance.origin.real + x * np.cos(turn) - y * np.sin(turn),
                     stance.origin.imag + x * np.sin(turn) + y * np.cos(turn)))
    far = np.hypot(*(np.array(ends[0]) - np.array(ends[1])))
    assert hop.near.value == pytest.approx(far.min(), abs=0.01) and hop.far.value == pytest.approx(far.max(), abs=0.01)
    assert hop.length >= hypot(far.max(), hop.heights[0] - hop.heights[1]) + HAND
    assert hop.lowest <= lowest(hop.heights, far.min(), hop.length)


@pytest.mark.parametrize("seed", range(10))
def test_on_any_plan_no_pose_asks_for_more_or_less(seed):
    """Random trains with cables: at stations of our own no pose leaves the range that a hop is planned for."""
    train = resolve(loads(random_description(seed, modules=True, cables=True, wagons=3, bogies=seed % 2 == 1)))
    path, links = path_of(train.description.track), {one.who: one for one in pairs(train)}
    plans = {plan.who: plan for plan in train.wagons}
    for one in laid(train):
        for hop in [hop for hop in one.hops if hop.near]:
            pulled = links[hop.who]
            stands = pair(path, pulled.link, np.linspace(0.3, 0.7, 1200) * path.length)
            spots = [_spot(plans.get(runner.who), runner, one, end)
                     for runner, end in ((pulled.front, -1), (pulled.rear, 1))]
            far = abs(stands.front.origin + spots[0] * stands.front.ahead
                      - stands.rear.origin - spots[1] * stands.rear.ahead)
            assert hop.near.value <= far.min() + 0.01 and far.max() <= hop.far.value + 0.01
            assert hop.length > hypot(far.max(), hop.heights[0] - hop.heights[1])
            assert hop.lowest < lowest(hop.heights, far, hop.length).min()


def _spot(plan, runner, one, end):
    """Where a cable leaves a runner, from what is drawn of it."""
    if plan is None:
        return complex(-runner.length / 2, 0)
    if one.run.number in [passing.number for passing in plan.cables.passing]:
        return complex(end * plan.frame.length / 2, plan.frame.lane.out)
    found = way(plan, "front" if end > 0 else "back")
    return complex(end * plan.length / 2, end * found.along)


# ---- current


def test_currents_and_fuse_by_hand(wired):
    """1 A runs, 0.6 A of it through the motor, which its driver limits to 1 A: 0.4 + 1.0; 1.25 x 1 A is a fuse of 1.25;
    0.25 mm2 for 0.6 m at 1.4 A: 2 x 0.0006 km x 73.44 ohm/km x 1.4."""
    one = laid(wired)[0]
    assert starting(wired.description) == pytest.approx(1.4) and guard(wired.description) == 1.25
    assert lost(one, wired.description) == pytest.approx(2 * one.length * 1e-6 * 73.44 * 1.4)


@pytest.mark.parametrize("supply, says", [
    ("motor_current = 0.6", "ten times"), ("motor_current = 0.6\ncurrent_limit = 1.2", "limited to 1.2 A"),
    ("motor_current = 0.98\ncurrent_limit = 1\nleast_current = 0.05", "switches itself off under 0.05 A")])
def test_supply_that_does_not_last_is_told(supply, says):
    train = resolve(loads(DEMO.read_text(encoding="utf-8") + f"\n[supply]\n{supply}\n" + BANK))
    failing = [one for one in on_plan.run(train, only={"supply"}) if one.check == "supply" and one.verdict == "fail"]
    assert failing and says in failing[0].reason


# ---- paper


def test_bill_has_every_cable_and_two_ends_of_every_wire(wired):
    lines = [one for one in bill(wired) if one.what.startswith("cable, ")]
    assert [one.use for one in lines] == ["cable 1: controls.driver to pantry.bank",
                                          "cable 2: locomotive.motor to controls.driver"]
    assert "plug 8 x 6 mm" in lines[0].size and "bare wires" in lines[1].size


def test_neighbouring_wires_differ_to_who_sees_no_colours():
    """Relative luminance, IEC 61966-2-1; a fifth of the way from black to white apart."""
    from matplotlib.colors import to_rgb

    from partgen.formulas.colour import linear
    light = [float(linear(to_rgb(drawn)) @ (0.2126, 0.7152, 0.0722)) for _, drawn in COLOURS]
    shade = np.cbrt(light)
    assert np.abs(np.diff(shade)).min() > 0.1 and len({name for name, _ in COLOURS}) == 12


def test_diagram_names_both_ends_of_all(wired, tmp_path):
    draw(wired, tmp_path / "wiring.svg", tmp_path / "again.svg")
    assert (tmp_path / "wiring.svg").read_bytes() == (tmp_path / "again.svg").read_bytes()
    with sheet(297, 210) as (_, axes):
        draw_on(axes, wired, (10, 10, 287, 200))
        said = [text.get_text() for text in axes.texts]
    assert {"controls.driver", "pantry.bank", "locomotive.motor", "+ red", "- black", "fuse"} <= {*said}
    assert any("time-lag fuse of 1.25 A" in text for text in said)


def test_each_wire_has_one_label(wired):
    run_ = laid(wired)[0].run
    assert [core.label for core in cores(run_)] == ["+", "-"]


def test_train_without_cables_is_as_before(demo):
    train = resolve(demo)
    assert not [one for one in on_plan.run(train) if one.check in CHECKS]
    assert way(train.wagons[0], "front").width == 8.0 and train.wagons[1].frame.lane is None


@pytest.mark.parametrize("seed", range(12))
def test_random_trains_are_judged_and_put_on_paper(seed):
    """Whatever is drawn: four verdicts without a fault, and every cable once on the cut list."""
    train = resolve(loads(random_description(seed, modules=True, cables=True)))
    found = of_wires(train)
    numbers = range(1, len(train.description.cable) + 1)
    if numbers:
        assert {one.check for one in found} >= {"wire-load", "supply"}
    assert all(np.isfinite(one.value) for one in found if one.check != "wire-slack" and one.verdict == "pass")
    lines = [use for one in bill(train) if one.what.startswith("cable, ") for use in one.use.split("; ")]
    assert sorted(int(use.split()[1].strip(":")) for use in lines) == [*numbers]


@pytest.mark.slow
def test_what_holds_is_drawn_whole(run, tmp_path):
    """A frame with eyes, and a body with a way and the eye beside it: closed, in one piece, printable as they lie."""
    file = tmp_path / "wired.toml"
    file.write_text(WIRED, encoding="utf-8")
    parts = [word for name in ("cups-frame", "pantry-body") for word in ("--part", name)]
    done = run("build", file, "-o", tmp_path, "--only", "stl", *parts)
    assert done.exit_code == 0, done.output
