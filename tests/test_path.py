"""The track centre line: against a step-by-step sum, against shapely, and against what must hold of any plan."""

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from tracks import LEAD, Track, laid, mirrored

from partgen.motion.crossing import _overlapped, crossings, crowds, overlaps
from partgen.motion.path import Path, TrackPiece, _joined, arc, straight

REVERSE = [("straight", 180), ("left", 320, 70), ("right", 250, 80), ("straight", 30), ("left", 400, 200)]
EIGHT = [("left", 320, 270), ("straight", 640), ("right", 320, 270), ("straight", 640)]
ROUND = [("left", 320, 45)] * 8

pieces = st.one_of(
    st.tuples(st.just("straight"), st.floats(5, 300)),
    st.tuples(st.sampled_from(["left", "right"]), st.floats(150, 900), st.floats(5, 200)))
plans = st.lists(pieces, min_size=1, max_size=8)


# ---- the line


@settings(deadline=None, max_examples=25)
@given(plans)
def test_line_against_a_step_by_step_sum(plan):
    path, track = laid(plan), Track(plan)
    s = np.linspace(-LEAD, track.length + LEAD, 301)
    assert path.length == pytest.approx(track.length)
    assert path.point(s) @ [1, 1j] == pytest.approx(track.at(s), abs=1e-5)
    assert path.heading(s) == pytest.approx(track.heading(s), abs=1e-9)


def test_any_shape_of_stations():
    path, s = laid(REVERSE), np.linspace(0, 900, 24).reshape(2, 3, 4)
    assert path.point(s).shape == (2, 3, 4, 2) and path.heading(s).shape == s.shape
    assert path.point(7.0).shape == (2,) and path.piece_at(7.0) == 0


def test_pieces_and_curvature_change_at_joints():
    path = laid(REVERSE)
    joint = path.bounds[1:-1]
    assert list(path.piece_at(joint)) == [1, 2, 3, 4] and list(path.piece_at(joint - 1e-6)) == [0, 1, 2, 3]
    assert list(path.piece_at([-50, path.length + 50])) == [0, 4]
    assert path.curvature(joint) == pytest.approx([1 / 320, -1 / 250, 0, 1 / 400])
    assert path.curvature([-1, path.length + 1]) == pytest.approx([0, 0])
    assert path.min_radius == pytest.approx(250) and laid([("straight", 9)]).min_radius == np.inf


def test_thousands_of_pieces_do_not_drift():
    # 83 full circles of 24 pieces each: every lap ends where it began, to less than a hundredth of a micron
    path = laid([("left", 320, 15)] * 24 * 83)
    assert np.abs(path.point(path.bounds[::24])).max() < 1e-5
    assert path.closing_error()[0] < 1e-5


# ---- closing


def test_full_circle_closes():
    gap, turn = laid(ROUND, closed=True).closing_error()
    assert gap == pytest.approx(0, abs=1e-9) and turn == pytest.approx(0, abs=1e-9)


@pytest.mark.parametrize("plan, gap, turn", [
    # a straight too long on one side of an oval is missing on the other, whatever else the plan does
    ([("straight", 217), ("left", 320, 180), ("straight", 200), ("left", 320, 180)], 17, 0),
    ([("straight", 200), ("left", 320, 90), ("straight", 108)] + [("left", 320, 90), ("straight", 200),
     ("left", 320, 90), ("straight", 100), ("left", 320, 90)], 8, 0),
    # an arc short of 360 degrees: the chord of what is missing, 2 R sin(angle / 2)
    ([("right", 320, 352)], 640 * np.sin(np.radians(4)), 8),
    ([("left", 320, 365)], 640 * np.sin(np.radians(2.5)), 5),
])
def test_known_closing_errors(plan, gap, turn):
    found = laid(plan, closed=True).closing_error()
    assert found == pytest.approx((gap, turn), abs=1e-9)


def test_closed_line_goes_round():
    path = laid(EIGHT, closed=True)
    s = np.linspace(-2.5, 3.5, 61) * path.length
    assert path.point(s) == pytest.approx(path.point(np.mod(s, path.length)), abs=1e-9)
    assert path.heading(path.length + 10) - path.heading(10) == pytest.approx(0, abs=1e-12)
    assert laid(ROUND, True).heading(path.length * 0 - 1) == pytest.approx(-1 / 320)


def test_closing_error_opens_no_gap_in_a_closed_line():
    path = laid([("left", 320, 44)] * 8, closed=True)
    s = np.linspace(-1, 1, 401)
    for seam in (0.0, path.length):
        steps = np.diff(path.point(seam + s) @ [1, 1j])
        assert np.abs(steps) == pytest.approx(np.full(400, 0.005), abs=1e-7)
        assert np.abs(np.diff(path.heading(seam + s))).max() < 2e-5


# ---- projection


def on_the_near_side(path, s, share):
    """Offsets that stay within `share` of the radius, on either side of the line."""
    return share * min(path.min_radius, 300.0) * np.sin(s / 7)


@settings(deadline=None, max_examples=60)
@given(plans, st.booleans(), st.floats(-0.3, 0.3), st.floats(0, 0.8))
def test_projection_undoes_an_offset(plan, closed, guess, share):
    path = laid(plan, closed)
    s = np.linspace(*((0, path.length) if closed else (-100, path.length + 100)), 400)
    point, ahead = path.frame(s)
    d = on_the_near_side(path, s, share)
    away = 150 * guess * np.cos(s)
    found, offset = path.project(point + 1j * ahead * d, s + away)
    assert found == pytest.approx(s, abs=1e-7) and offset == pytest.approx(d, abs=1e-8)


def test_projection_keeps_the_shape_of_the_points_and_broadcasts():
    path = laid(REVERSE)
    points, _ = path.frame(np.array([[100.0, 300.0], [500.0, 700.0]]))
    s, d = path.project(points, np.array([[120.0, 280.0], [520.0, 690.0]]))
    assert s == pytest.approx(np.array([[100, 300], [500, 700]])) and d == pytest.approx(np.zeros((2, 2)), abs=1e-9)
    assert path.project(3 + 4j, 0.0) == pytest.approx((3, 4))


@settings(deadline=None, max_examples=25)
@given(plans, st.integers(0, 10**6))
def test_projection_against_shapely(plan, seed):
    path = laid(plan)
    s = np.random.default_rng(seed).uniform(0, path.length, 40)
    point, ahead = path.frame(s)
    z = point + 1j * ahead * on_the_near_side(path, s, 0.3)
    around = s[:, None] + np.linspace(-120, 120, 961)
    lines = shapely.linestrings(path.point(around))
    _, d = path.project(z, s)
    assert np.abs(d) == pytest.approx(shapely.distance(lines, shapely.points(z.real, z.imag)), abs=2e-4)


# ---- parallel lines


@settings(deadline=None, max_examples=40)
@given(plans, st.floats(-120, 120))
def test_parallel_line_keeps_its_distance(plan, distance):
    path = laid(plan)
    beside = path.offset(distance)
    s = beside.bounds
    assert beside.point(s) == pytest.approx(
        path.point(path.bounds) + distance * np.stack([-np.sin(path.heading(path.bounds)),
                                                       np.cos(path.heading(path.bounds))], axis=-1), abs=1e-8)
    middle = (s[:-1] + s[1:]) / 2
    own = (path.bounds[:-1] + path.bounds[1:]) / 2
    station, d = path.project(beside.frame(middle)[0], own)
    assert station == pytest.approx(own, abs=1e-7) and d == pytest.approx(np.full(len(own), distance), abs=1e-8)


def test_parallel_radii():
    beside = laid(REVERSE).offset(60)
    assert [1 / p.curvature for p in beside.pieces if p.curvature] == pytest.approx([260, -310, 340])


@pytest.mark.parametrize("distance", [320, 400, -250])
def test_no_parallel_line_beyond_the_centre(distance):
    with pytest.raises(ValueError, match="no line runs parallel at"):
        laid(REVERSE).offset(distance)


# ---- crossings


def brute_crossings(path):
    """Crossings of a finely drawn polyline by shapely, those of neighbouring strokes left out."""
    s = np.linspace(0, path.length, int(path.length / 2) + 1)
    strokes = shapely.linestrings(np.stack([path.point(s[:-1]), path.point(s[1:])], axis=1))
    i, j = shapely.STRtree(strokes).query(strokes, predicate="intersects")
    i, j = i[j > i + 2], j[j > i + 2]
    if path.closed:
        i, j = i[j - i < len(s) - 3], j[j - i < len(s) - 3]
    return shapely.get_coordinates(shapely.intersection(strokes[i], strokes[j]))


def test_figure_eight_crosses_once():
    path = laid(EIGHT, closed=True)
    [meeting] = crossings(path)
    # the straights of 2 R cross in their middles, under the right angle that 270 degrees leave
    assert path.length == pytest.approx(2 * (320 * 1.5 * np.pi + 640))
    assert meeting.first == pytest.approx(320 * 1.5 * np.pi + 320)
    assert meeting.second == pytest.approx(2 * 320 * 1.5 * np.pi + 640 + 320)
    assert meeting.point == pytest.approx((-320, 0), abs=1e-9)
    assert crowds(path, [meeting], 1.0) == [] and overlaps(path, 5.0) == []


@settings(deadline=None, max_examples=30)
@given(st.integers(0, 10**6))
def test_crossings_against_shapely(seed):
    random = np.random.default_rng(seed)
    path = Path([TrackPiece(random.uniform(40, 400), random.choice([-1, 0, 1]) / random.uniform(150, 500))
                 for _ in range(60)])
    found = [meeting.point for meeting in crossings(path)]
    brute = brute_crossings(path)
    assert len(found) == len(brute)
    if len(found):
        gaps = np.hypot(*(np.array(found)[:, None] - brute[None]).T)
        assert gaps.min(axis=0).max() < 0.1 and gaps.min(axis=1).max() < 0.1
    for meeting in crossings(path):
        here, there = path.point([meeting.first, meeting.second])
        assert here == pytest.approx(there, abs=1e-6) and here == pytest.approx(meeting.point, abs=1e-6)


CLOVER = [("straight", 600), ("left", 300, 240), ("straight", 600 * 3**0.5), ("left", 300, 240), ("straight", 600)]


def test_three_passes_through_one_place():
    # tangents of an arc of 240 degrees meet R tan(120 degrees) from its ends: both loops return to one point
    path, there = laid(CLOVER), 600 - 300 * 3**0.5
    [(passes, meeting)] = crowds(path, crossings(path), 1.0)
    loop = 2 * 300 * 3**0.5 + 300 * np.radians(240)
    assert passes == pytest.approx((there, there + loop, there + 2 * loop), abs=1e-3)
    assert path.point(list(passes)) == pytest.approx(np.tile(meeting.point, (3, 1)), abs=1e-3)


def test_crossings_apart_from_each_other_are_no_crowd():
    path = laid([(*p[:1], p[1] + 40) if p[1] > 1000 else p for p in CLOVER])
    assert len(crossings(path)) == 3 and crowds(path, crossings(path), 1.0) == []
    assert len(crowds(path, crossings(path), 60.0)) == 1


@pytest.mark.parametrize("plan, tells", [
    (ROUND * 2, True),                                                              # twice round
    (ROUND, True),                                                                  # ends on its own beginning
    (ROUND[:-1], False),
    ([("straight", 500), ("left", 320, 180), ("straight", 500), ("left", 320, 180), ("straight", 100)], True),
    ([("straight", 500), ("left", 320, 180), ("straight", 500), ("left", 318, 180), ("straight", 100)], False),
    (EIGHT, True),
    (EIGHT[:3], False),                                                             # crosses, and no more
])
def test_track_on_track_is_told(plan, tells):
    assert bool(overlaps(laid(plan), 1.0)) is tells


def test_overlap_counts_the_tolerance():
    plan = [("straight", 500), ("left", 320, 180), ("straight", 500), ("left", 318, 180), ("straight", 100)]
    assert overlaps(laid(plan), 3.9) == [] and overlaps(laid(plan), 4.1)
    first = overlaps(laid(plan), 4.1)[0]
    assert np.hypot(*(laid(plan).point(first.first) - laid(plan).point(first.second))) == pytest.approx(4, abs=0.1)


def test_curves_that_graze_a_straight_are_told():
    # an arc that comes down to a straight within 0.4 mm and leaves again, its piece ends far from there
    plan = [("straight", 1500), ("left", 300, 180), ("straight", 700), ("left", 299.8, 90), ("left", 299.8, 180)]
    assert overlaps(laid(plan), 0.5) and not overlaps(laid(plan), 0.3)


@pytest.mark.parametrize("inner, turn, gap", [(200.0, 31.0, 0.2), (200.0, 31.0, -0.3), (240.0, -57.0, 0.0),
                                              (-170.0, 22.0, 0.25), (-500.0, 140.0, 0.1)])
def test_arcs_that_graze_each_other_midway_are_told(inner, turn, gap):
    # an arc of 300 mm and one of `inner` that comes within `gap` of it nearly midway on both, from inside or (below 0)
    # from outside; the ends of both are far from there
    way = np.exp(1j * np.radians(turn))                     # from the first centre to where they are nearest
    first, second = (Path([arc(radius, np.degrees(1.5), "left")], start=(
        *cartesian(centre + radius * towards * np.exp(-0.7j)), np.angle(towards) - 0.7 + np.pi / 2))
        for centre, radius, towards in ((0, 300, way), ((300 - gap - inner) * way, abs(inner), np.sign(inner) * way)))
    cells = _joined(*(path.cells.some(slice(1, -1)) for path in (first, second)))
    split = len(first.cells.piece) - 2
    i, j = (np.ravel(part) for part in np.meshgrid(np.arange(split), np.arange(split, len(cells.piece))))
    for swapped in ((i, j), (j, i)):
        *_, z = _overlapped(cells, *swapped, 0.4)
        assert len(z) and np.abs(z - 300 * way).min() < 0.5
        assert not len(_overlapped(cells, *swapped, abs(gap) - 0.05)[2])


def cartesian(z):
    return float(z.real), float(z.imag)


def test_crossings_of_two_thousand_pieces_look_at_few_pairs(monkeypatch):
    from partgen.motion import crossing
    counts = []
    meet = crossing._crossed
    monkeypatch.setattr(crossing, "_crossed", lambda cells, i, j, tolerance: (
        counts.append(len(i)), meet(cells, i, j, tolerance))[1])
    for n in (500, 2000):
        counts.append(0)
        random = np.random.default_rng(3)
        crossings(Path([TrackPiece(random.uniform(60, 300), random.choice([-1, 0, 1]) / 400) for _ in range(n)]))
        counts[:] = [sum(counts)] if n == 500 else [counts[0], sum(counts[1:])]
    assert counts[1] < 8 * counts[0]      # sixteen times as many if every pair were looked at


# ---- bad pieces


@pytest.mark.parametrize("make, words", [
    (lambda: straight(0), "0 mm long"), (lambda: straight(-5), "-5 mm long"), (lambda: straight(np.nan), "nan mm long"),
    (lambda: arc(0, 45, "left"), "radius of 0 mm"), (lambda: arc(-320, 45, "left"), "radius of -320 mm"),
    (lambda: arc(320, 0, "left"), "0.0 mm long"), (lambda: arc(320, -45, "left"), "the length must be above 0"),
    (lambda: arc(320, 45, "up"), "not 'up'"), (lambda: TrackPiece(10, np.inf), "curvature inf"),
    (lambda: Path([]), "without pieces"),
])
def test_bad_pieces_are_refused(make, words):
    with pytest.raises(ValueError, match=words):
        make()


def test_mirrored_plan_mirrors_the_line():
    s = np.linspace(-100, 1500, 100)
    x, y = laid(REVERSE).point(s).T
    assert laid(mirrored(REVERSE)).point(s).T == pytest.approx(np.array([x, -y]))
