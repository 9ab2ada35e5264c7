"""Where vehicles stand: against a root finder on a step-by-step track, against the exact forms, and in themselves."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from rivals import mid_radius
from tracks import Track, laid, mirrored

from partgen.motion.path import Path, arc, straight
from partgen.motion.solve import root
from partgen.motion.vehicle import Vehicle, stand

PLAN = [("straight", 150), ("left", 320, 60), ("right", 250, 70), ("straight", 35), ("right", 600, 30),
        ("straight", 200)]
VEHICLES = [Vehicle(62), Vehicle(140), Vehicle(110, 36), Vehicle(180, 60)]

pieces = st.one_of(
    st.tuples(st.just("straight"), st.floats(10, 250)),
    st.tuples(st.sampled_from(["left", "right"]), st.floats(160, 900), st.floats(5, 120)))
plans = st.lists(pieces, min_size=1, max_size=6)


def poses(path, vehicle, s):
    """x and y of the origin and the heading of vehicles led at stations `s`."""
    at = stand(path, vehicle, s)
    return at.origin.real, at.origin.imag, np.angle(at.ahead)


def ids(vehicle):
    return f"{vehicle.base:g}/{vehicle.bogie:g}"


# ---- against the judge


@pytest.mark.parametrize("vehicle", VEHICLES, ids=ids)
def test_poses_against_a_root_finder(vehicle):
    path, track = laid(PLAN), Track(PLAN)
    s = np.linspace(-40, track.length + 240, 90)
    x, y, heading = poses(path, vehicle, s)
    for at, z, h in zip(s, x + 1j * y, heading, strict=True):
        origin, ahead = track.pose(vehicle.base, vehicle.bogie, at)
        assert abs(z - origin) < 1e-5
        assert h == pytest.approx(np.angle(ahead), abs=1e-6)


@settings(deadline=None, max_examples=50)
@given(plans, st.floats(20, 200))
def test_both_axles_stand_on_the_track(plan, base):
    path = laid(plan)
    s = np.linspace(-20, path.length + 220, 300)
    x, y, heading = poses(path, Vehicle(base), s)
    half = base / 2 * np.exp(1j * heading)
    front, rear = x + 1j * y + half, x + 1j * y - half
    assert front == pytest.approx(path.point(s) @ [1, 1j], abs=1e-8)
    assert path.project(rear, s - base)[1] == pytest.approx(np.zeros(len(s)), abs=1e-8)


def pivots(path, bogie, s):
    """Points midway between two axles that stand on the line, `bogie` apart and evenly about stations `s`."""
    low, high = np.full(s.shape, bogie * 0.45), np.full(s.shape, bogie * 0.8)
    for _ in range(50):
        u = (low + high) / 2
        front, rear = path.point(s + u) @ [1, 1j], path.point(s - u) @ [1, 1j]
        low, high = np.where(abs(front - rear) < bogie, u, low), np.where(abs(front - rear) < bogie, high, u)
    return (front + rear) / 2


@settings(deadline=None, max_examples=50)
@given(plans, st.floats(90, 200), st.floats(15, 70))
def test_all_four_axles_of_bogies_stand_on_the_track(plan, base, bogie):
    path = laid(plan)
    s = np.linspace(-20, path.length + 320, 300)
    at = stand(path, Vehicle(base, bogie), s)
    assert at.carry(base / 2)[0] == pytest.approx(pivots(path, bogie, s), abs=1e-8)
    assert at.carry(-base / 2)[0] == pytest.approx(pivots(path, bogie, at.rear), abs=1e-8)


@pytest.mark.parametrize("base, bogie, s", [(70, 0, 400), (120, 40, 450), (250, 0, 600), (200, 90, 600)])
def test_long_arc_gives_the_exact_forms(base, bogie, s):
    path = Path([straight(100), arc(320, 150, "right")])
    x, y, heading = poses(path, Vehicle(base, bogie), s)
    assert np.hypot(x - 100, y + 320) == pytest.approx(mid_radius(320, base, bogie), abs=1e-9)


def test_bogies_of_no_length_are_axles():
    path, s = laid(PLAN), np.linspace(0, 1100, 700)
    two_axle = np.array(poses(path, Vehicle(120), s))
    for bogie in (1.0, 0.1):
        # on an arc the pivots move in by p^2 / 8R, for p = 1 mm on 250 mm half a micron
        assert np.array(poses(path, Vehicle(120, bogie), s))[:2] == pytest.approx(two_axle[:2], abs=bogie**2 / 1500)
    assert np.array(poses(path, Vehicle(120, 1e-4), s)) == pytest.approx(two_axle, abs=1e-9)


@pytest.mark.parametrize("vehicle", VEHICLES, ids=ids)
def test_rates_are_the_slopes(vehicle):
    path, h = laid(PLAN), 1e-4
    s = np.linspace(0, 1100, 97) + 0.0137      # no guided point near a joint, where the slope of the slope jumps
    at, before, after = (stand(path, vehicle, s + way) for way in (0, -h, h))
    assert at.origin_rate == pytest.approx((after.origin - before.origin) / (2 * h), abs=1e-6)
    assert at.ahead_rate == pytest.approx((after.ahead - before.ahead) / (2 * h), abs=1e-6)


def test_mirrored_track_mirrors_the_poses():
    s = np.linspace(0, 1200, 200).reshape(4, 50)
    for vehicle in VEHICLES:
        x, y, heading = poses(laid(PLAN), vehicle, s)
        assert x.shape == s.shape
        assert np.array(poses(laid(mirrored(PLAN)), vehicle, s)) == pytest.approx(np.array([x, -y, -heading]), abs=1e-8)


@pytest.mark.parametrize("vehicle", VEHICLES, ids=ids)
def test_closed_track_has_no_seam(vehicle):
    plan = [("straight", 200), ("left", 320, 180)] * 2
    turned = plan[1:] + plan[:1]               # the same oval, begun at another joint
    s = np.linspace(0, 700, 300)
    closed, other = poses(laid(plan, True), vehicle, s), poses(laid(turned, True), vehicle, s - 200)
    # begun 200 mm later at the end of the first straight, heading along it
    assert np.array(other[:2]) + [[200], [0]] == pytest.approx(np.array(closed[:2]), abs=1e-7)


# ---- where there is no place


@pytest.mark.parametrize("radius, vehicle, words", [
    (50, Vehicle(101), "pivot spacing of 101 mm finds no place on this track"),
    (50, Vehicle(300, 101), "bogie wheelbase of 101 mm finds no place"),
])
def test_too_tight_a_track_is_told(radius, vehicle, words):
    with pytest.raises(ValueError, match=words):
        poses(Path([arc(radius, 360, "left")], closed=True), vehicle, np.linspace(0, 300, 50))


def test_just_wide_enough_a_track_is_used():
    x, y, _ = poses(Path([arc(50, 360, "left")], closed=True), Vehicle(99.9), np.linspace(0, 300, 50))
    assert np.hypot(x, y - 50) == pytest.approx(np.full(50, np.sqrt(50**2 - 49.95**2)), abs=1e-6)


@pytest.mark.parametrize("base, bogie, words", [
    (0, 0, "of 0 mm guides nothing"), (-3, 0, "of -3 mm guides nothing"), (float("nan"), 0, "nan"),
    (60, -1, "bogie wheelbase of -1 mm"), (60, float("inf"), "bogie wheelbase of inf mm")])
def test_bad_vehicles_are_refused(base, bogie, words):
    with pytest.raises(ValueError, match=words):
        Vehicle(base, bogie)


# ---- the root finder itself


@settings(deadline=None, max_examples=100)
@given(st.floats(0.05, 20), st.floats(-4, 4), st.floats(0, 1))
def test_roots_of_crooked_functions(steep, centre, share):
    # arctan throws Newton's method far out; the bounds bring it back
    def crooked(x):
        value = np.arctan(steep * (x - centre))
        return value, steep / (1 + (steep * (x - centre))**2), x

    x, rest = root(crooked, -5.0, 5.0, np.array([10 * share - 5, centre]), "this")
    assert x == pytest.approx(np.full(2, centre), abs=1e-7) and rest is x


def test_no_root_is_told():
    with pytest.raises(ValueError, match="^this finds no place"):
        root(lambda x: (x * 0 + 1, x * 0 + 1, None), 0.0, 1.0, np.array([0.5]), "this")
