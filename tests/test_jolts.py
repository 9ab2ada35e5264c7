"""What rail joints do to a liquid and to a cup in its seat: wheels rolled over tracks with random joints, every mode of
the liquid driven by the pitch and roll that come of it and integrated by scipy."""

import math
import re

import numpy as np
import pytest
from conftest import described
from scipy.signal import cont2discrete, lfilter
from teas import teas

from partgen.checks.drinks import spill_curve
from partgen.dynamics import jolts
from partgen.dynamics.curves import Stand
from partgen.dynamics.jolts import Rails, on_joints
from partgen.dynamics.laps import climb_of, rises, room_of
from partgen.dynamics.liquids import Liquid, liquids_of
from partgen.dynamics.ramps import hardest, leaning
from partgen.dynamics.search import ridden
from partgen.dynamics.seating import off_its_foot, play_lean
from partgen.dynamics.stability import in_curves
from partgen.errors import DescriptionError
from partgen.formulas.jolts import climbed_share, climbing_way

G = 9806.65
TICK = 0.001


def lifted(s, joints, levels, radius):
    """Height of a wheel's middle at stations `s`, over that on level rails: as high as an edge near it holds it up."""
    nearest = np.searchsorted(joints, s)
    height = levels[nearest].copy()
    for place in (nearest - 1, nearest):
        place = np.clip(place, 0, len(joints) - 1)
        off, edge = np.abs(s - joints[place]), np.maximum(levels[place], levels[place + 1])
        height = np.where(off < radius, np.maximum(height, edge + np.sqrt(np.maximum(radius**2 - off**2, 0)) - radius),
                          height)
    return height


def jolted(liquid, stand, rails, speed, steps):
    """Highest rise [mm] at joints of which the left and the right rail's `steps` [mm] are told, at rest before."""
    joints = rails.spacing * np.arange(1, len(steps) + 1)
    levels = np.concatenate([[[0.0, 0.0]], np.cumsum(steps, axis=0)])
    s = speed * np.arange(0, (joints[-1] + stand.base + 0.5 * speed) / speed, TICK)
    front, rear = ([lifted(at, joints, levels[:, rail], stand.tread) for rail in (0, 1)] for at in (s, s - stand.base))
    pitch = (sum(front) - sum(rear)) / 2 / stand.base
    roll = (front[0] - front[1] + rear[0] - rear[1]) / 2 / rails.gauge
    total = 0.0
    for omega, damping, rise, root in zip(*liquid.modes, (1.8412, 5.3314, 8.5363, 11.706, 14.8636, 18.0155, 21.1644,
                                                          24.3113), strict=True):
        deep = root * liquid.depth / liquid.radius          # NASA SP-106: the height of the spring's mass, (c)
        z = stand.height + liquid.depth * (1 - 2 / deep * np.tanh(deep / 2))
        above, below, _ = cont2discrete(([-z * omega**2, 0.0, G * omega**2], [1.0, 2 * damping * omega, omega**2]),
                                        TICK, method="foh")
        total = total + rise * (lfilter(above.ravel(), below, pitch) + 1j * lfilter(above.ravel(), below, roll))
    return float(np.abs(total).max())


def rails_apart(rng, rails):
    """Steps of both rails, each up or down and anything up to the highest; together they cant by one step at most."""
    drawn = rng.uniform(-rails.step, rails.step, (20 * rails.count, 2))
    return drawn[np.abs(drawn[:, 0] - drawn[:, 1]) <= rails.step][:rails.count]


def pieces_apart(rng, rails):
    """Steps between pieces of track that lie at levels of their own."""
    return np.diff(rng.uniform(-rails.step / 2, rails.step / 2, (rails.count + 1, 2)), axis=0)


HIGH_TEA = Liquid("tea", "tea", (0.0, 70.0), (25.5, 25.5), 48.0, 0.3)
BOWL = Liquid("soup", "soup", (0.0, 50.0), (38.0, 38.0), 25.0, 1.0)
CASES = {
    "tea over a battery": (HIGH_TEA, Stand(32.5, 0, 70.0, 0, 68.0, 8.5), Rails(0.3, 200.0, 37.5, 16, False), 262.0),
    "a long wagon, fast": (HIGH_TEA, Stand(0, 0, 130.0, 0, 68.0, 8.5), Rails(0.3, 120.0, 37.5, 16, False), 500.0),
    "a bowl on a small gauge": (BOWL, Stand(0, 0, 70.0, 0, 40.0, 5.0), Rails(0.3, 200.0, 22.5, 16, False), 150.0),
    "a wide gauge": (HIGH_TEA, Stand(0, 0, 50.0, 0, 90.0, 8.5), Rails(0.5, 250.0, 60.0, 10, False), 300.0)}


@pytest.mark.parametrize("laid", [rails_apart, pieces_apart])
@pytest.mark.parametrize("case", CASES)
def test_nineteen_of_twenty_random_tracks_jolt_no_higher(case, laid):
    liquid, stand, rails, speed = CASES[case]
    rng = np.random.default_rng(12)
    told, likely = on_joints(liquid, (stand,), rails, speed)
    found = np.array([jolted(liquid, stand, rails, speed, laid(rng, rails)) for _ in range(24)])
    assert np.mean(found <= told) >= 0.95
    assert found.max() >= 0.4 * told, "and it is not twice as sure as it need be"
    assert likely < told and 0.3 * found.mean() < likely < 2 * found.mean()


def test_a_plain_sum_would_be_met_by_rails_that_are_all_alike():
    # every joint as high as the highest and in time with the liquid: no track is laid so, and it is over what is told
    liquid, stand, rails, _ = CASES["tea over a battery"]
    speed = rails.spacing * liquid.modes[0][0] / (2 * math.pi * 2)      # two swings from joint to joint
    alike = jolted(liquid, stand, rails, speed, np.full((rails.count, 2), rails.step))
    assert alike > 1.3 * on_joints(liquid, (stand,), rails, speed)[0]


@pytest.mark.parametrize("case", CASES)
def test_one_highest_joint_jolts_no_higher(case):
    liquid, stand, rails, speed = CASES[case]
    alone = Rails(rails.step, rails.spacing, rails.gauge, 1, False)
    for faster in np.linspace(0.3, 1.5, 9):
        told, _ = on_joints(liquid, (stand,), alone, faster * speed)
        found = [jolted(liquid, stand, alone, faster * speed, rails.step * np.array([each]))
                 for each in ((1.0, 1.0), (1.0, 0.0), (0.0, -1.0))]
        assert 0.35 * told <= max(found) <= told


def test_a_wheel_climbs_a_step_as_its_circle_says():
    way = climbing_way(0.5, 8.5)
    s = np.linspace(-way, 0, 20001)
    rise = np.sqrt(8.5**2 - s**2) - 8.5 + 0.5           # of a circle's middle, pulled over an edge
    for turned in (0.3, 2.0, 7.0, 30.0):
        seen = np.abs(np.trapezoid(np.gradient(rise, s) * np.exp(1j * turned * s / way), s)) / 0.5
        assert climbed_share(turned) == pytest.approx(seen, rel=0.03)
    share = climbed_share(np.geomspace(1e-4, 1e4, 3000))
    assert np.all(np.diff(share) <= 1e-7) and share[0] == pytest.approx(1), "smooth: faster is never gentler"


def test_joints_raise_the_tea_on_curves_and_at_stops_and_take_depth():
    # before, they leaned the wagon and never moved the liquid
    smooth, laid = (teas(ride={"joint_step": step}) for step in (0.0, 0.3))
    liquid, = liquids_of(laid)
    still, moved = rises(smooth, liquid), rises(laid, liquid)
    told, _ = jolts.on_joints(liquid, jolts.stands_of(laid, liquid), jolts.rails_of(laid), 262.5)
    assert told > 1 and moved.on.jolts == told
    assert moved.curves == pytest.approx(still.curves + told) and moved.ramps == pytest.approx(still.ramps + told)
    assert moved.likely > still.likely and moved.on.factor == pytest.approx(still.on.factor)
    assert next(in_curves(laid))[1].margin() < next(in_curves(smooth))[1].margin()
    before, after = next(spill_curve(smooth)), next(spill_curve(laid))
    assert after.value > before.value + told and before.note == "0.0 mm of it by rail joints"
    share, = re.findall(r"^([\d.]+) mm of it by rail joints$", after.note)
    assert float(share) == pytest.approx(after.value - before.value, abs=0.051)
    bare = teas(track={"joint_spacing": 0.0})
    assert bare.description.joint_step == 0 and rises(bare, liquid) == still, "rails without joints have no step"


def test_laps_bring_the_same_joints_again():
    liquid, stand, rails, speed = CASES["tea over a battery"]
    thin = Liquid("ether", "ether", liquid.heights, liquid.radii, liquid.depth, 0.0)
    once, again = (on_joints(thin, (stand,), Rails(0.3, 200.0, 37.5, 8, closed), speed)[0] for closed in (False, True))
    assert again == pytest.approx(math.sqrt(20) * once, rel=0.15), "twenty laps, each in its own time"


def test_no_piece_of_track_is_shorter_than_a_hand():
    with pytest.raises(DescriptionError, match=r"joint_spacing = 12 mm is no piece of track: 20 mm or more, or 0"):
        described(track="joint_spacing = 12")


# ---- a seat's play

def test_a_cup_that_the_ride_tips_off_its_foot_leans_by_its_seats_play():
    calm = teas()
    tea = calm.description.cup["tea"]
    seat, _ = calm.wagons[0].cups[0]
    lean = play_lean(seat, tea)
    assert lean == pytest.approx(math.atan(1.0 / seat.height)), "0.5 mm all round, over the height that it is held by"
    floor = math.radians(1.0)
    assert leaning(calm, "tea") == pytest.approx(floor), "it stands on its foot"
    wild = ridden(calm, speed=1900.0)
    assert hardest(wild) > off_its_foot(tea, 30.0, floor) and leaning(wild, "tea") == pytest.approx(floor + lean)
    liquid, = liquids_of(calm)
    assert room_of(calm, liquid) - room_of(wild, liquid) > 0.5 * liquid.radius * lean
    assert climb_of(wild, liquid, 1.0) - climb_of(calm, liquid, 1.0) > liquid.radius * lean


def test_the_first_mode_is_moved_where_the_cups_own_shape_has_it():
    """A narrow foot lifts what swings; an upright cylinder keeps the textbook's height (SP-106, MEM)."""
    even, narrow = (Liquid("tea", "tea", (0.0, 60.0), (foot, 25.0), 60.0 * 0.999) for foot in (25.0, 18.0))
    x = 1.8412 * even.depth / 25
    assert even.mode_heights[0] == pytest.approx(even.depth * (1 - 2 / x * math.tanh(x / 2)), rel=5e-3)
    assert narrow.mode_heights[0] > even.mode_heights[0] + 1.0
    assert np.allclose(narrow.mode_heights[1:], even.mode_heights[1:], rtol=0.01)
