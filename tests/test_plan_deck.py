"""Seats, cups, inserts and what they reach, as planned: turned solids by scipy's quadrature, discs by shapely."""

from math import hypot, pi

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from plans import CUPS, made, plan_of, wagons
from scipy.integrate import quad
from shapely import LineString, MultiPoint, Point, Polygon, box

from partgen.checks.wishes import wanting
from partgen.describe.cup_table import Cup
from partgen.describe.printer_tables import Printer
from partgen.describe.turned import diameter_at, turned_moments
from partgen.plan.deck import cradle as cradles
from partgen.plan.deck.cups import dry_centre, liquid_centre, liquid_mass
from partgen.plan.deck.seats import Seat, seat_of, touched

PROFILES = st.lists(st.tuples(st.floats(9.0, 25.0), st.floats(20.0, 90.0)), min_size=2, max_size=5).map(
    lambda steps: tuple((float(sum(rise for rise, _ in steps[:k])), wide) for k, (_, wide) in enumerate(steps)))


def moments(profile):
    """Volume and first moment by quadrature, stretch by stretch."""
    heights, diameters = np.transpose(profile)
    areas = [quad(lambda h, k=k: pi / 4 * np.interp(h, heights, diameters)**2 * h**k, a, b)[0]
             for k in (0, 1) for a, b in zip(heights, heights[1:], strict=False)]
    return sum(areas[:len(areas) // 2]), sum(areas[len(areas) // 2:])


# ---- cups

@given(PROFILES)
def test_volume_and_moment_of_a_turned_solid(profile):
    assert turned_moments(profile) == pytest.approx(moments(profile))


@given(PROFILES, st.floats(-5, 120))
def test_diameters_are_straight_between_points_and_level_beyond(profile, height):
    assert diameter_at(profile, height) == pytest.approx(np.interp(height, *np.transpose(profile)))


@pytest.mark.parametrize("name", CUPS)
def test_liquid_and_cup_by_quadrature(name):
    """Inside one wall all round, the floor as thick; water of 1 g/cm3."""
    table = CUPS[name]
    cup = Cup(**table | {"profile": tuple(map(tuple, table["profile"]))})
    outside, wall = np.array(table["profile"], float), table["wall"]

    def inside(h):
        return np.interp(h, *outside.T) - 2 * wall

    def filled(depth, k):
        return quad(lambda h: pi / 4 * inside(h)**2 * h**k, wall, wall + depth, points=outside[1:-1, 0], limit=200)[0]

    assert liquid_mass(cup) == pytest.approx(filled(cup.fill, 0) / 1000, rel=1e-6)
    assert liquid_mass(cup, 17.5) == pytest.approx(filled(17.5, 0) / 1000, rel=1e-6)
    assert liquid_centre(cup) == pytest.approx(filled(cup.fill, 1) / filled(cup.fill, 0), rel=1e-6)
    shell = [solid - filled(cup.height - wall, k) for k, solid in enumerate(moments(outside))]
    assert dry_centre(cup) == pytest.approx(shell[1] / shell[0], rel=1e-6)
    heavy = cup.model_copy(update={"density": 1.04})
    assert liquid_mass(heavy) == pytest.approx(1.04 * liquid_mass(cup))


# ---- seats

@settings(max_examples=60)
@given(PROFILES, st.floats(0.25, 1.0), st.floats(0.0, 0.8))
def test_a_seat_follows_its_cup_and_lets_it_out(profile, line, groove):
    cup = Cup(profile=profile, mass=50, fill=1)
    seat = seat_of("cup", cup, Printer(nozzle=line, line_width=line, layer=0.1), groove=(1.0, groove))
    assert seat.height <= min(40.0, 0.8 * cup.height) + 1e-9
    wish = min(max(0.38 * cup.height, 12.0), 40.0, 0.8 * cup.height)
    level = np.linspace(0, wish, 4001)
    wide = np.interp(level, *np.transpose(profile))
    reached = level[np.maximum.accumulate(wide) - wide <= 1.0 + 1e-9].max()     # half a millimetre more, all round
    assert touched(cup, wish) == pytest.approx(reached, abs=wish / 2000)
    wish = min(wish, max(touched(cup, wish), 12.0))
    bends = [h for h, _ in profile if wish - 2.5 < h < wish]
    assert seat.height == pytest.approx(max(bends, default=wish))
    for h in np.linspace(0, seat.height, 60):
        below = np.linspace(0, h, 200)
        widest = np.interp(below, *np.transpose(profile)).max()
        assert diameter_at(seat.profile, h) >= widest + 1.0 - 0.05, "half a millimetre free all round, lifted out too"
        assert diameter_at(seat.outer_profile, h) >= diameter_at(seat.profile, h) + 4.0 - 1e-9
    across = LineString([(d / 2, h) for h, d in seat.profile]).distance(
        LineString([(d / 2, h) for h, d in seat.outer_profile]))
    assert across >= 2 * line - 1e-9, "two lines stand across it, however it leans"
    assert diameter_at(seat.outer_profile, 1.0) / 2 - groove - diameter_at(seat.profile, 1.0) / 2 >= 2 * line
    assert [h for h, _ in seat.profile] == [0.0, *(h for h, _ in profile if 0 < h < seat.height), seat.height]
    for (low, a), (high, b) in zip(seat.outer_profile, seat.outer_profile[1:], strict=False):
        assert b - a <= 2 * 0.8 * (high - low) + 1e-9, "it prints without supports"
    assert seat.outer_diameter == max(d for _, d in seat.outer_profile) and seat.sill == 0.35 * seat.height
    assert seat.volume == pytest.approx(moments(seat.outer_profile)[0] - moments(seat.profile)[0])


@settings(max_examples=40)
@given(wagons(modules=((), ("tray",)), cups=(("tea",), ("tea", "mug"), ("mug", "mug", "shot"), ("shot",) * 4)))
def test_the_cradle_carries_its_seats_inside_its_border(drawn):
    """On a lid it reaches its edge, in an open body it lies within the walls; half a millimetre free all round."""
    plan = made(drawn)
    cradle, body, lid = plan.cradle, plan.body, plan.lid
    over = (lid.length, lid.width, lid.top, lid.corner) if lid else (
        *body.inside[:2], plan.floor_z, body.corner - body.wall)
    assert (cradle.length, cradle.width, cradle.bottom) == pytest.approx((over[0] - 1, over[1] - 1, over[2]))
    assert cradle.corner == pytest.approx(max(over[3] - 0.5, 0.8)) and plan.deck_z == cradle.bottom + 2.4
    assert cradle.screws == (lid.screws if lid else body.screws)
    deck = box(-cradle.length / 2, -cradle.width / 2, cradle.length / 2, cradle.width / 2).buffer(1e-6)
    rings = [Point(seat.x, seat.y).buffer(seat.outer_diameter / 2) for seat in cradle.seats]
    assert all(deck.contains(ring) for ring in rings)
    for k, one in enumerate(cradle.seats):
        for other in cradle.seats[:k]:
            apart = hypot(one.x - other.x, one.y - other.y)
            assert apart >= (one.outer_diameter + other.outer_diameter) / 2 + 1.0 - 1e-6
            widest = [max(d for _, d in CUPS[seat.cup]["profile"]) for seat in (one, other)]
            assert apart >= sum(widest) / 2 + 5.0 - 1e-6, "a cup is taken without touching the next"
    assert [seat.cup for seat, _ in plan.cups] == list(plan.wagon.cups)
    # volume: plate, border, screws' holes and cones, rings with windows and their feet
    volume = box(-cradle.length / 2, -cradle.width / 2, cradle.length / 2, cradle.width / 2).buffer(
        -cradle.corner).buffer(cradle.corner, quad_segs=64).area * 2.4
    volume += 2 * (cradle.length + cradle.width - 4 * 1.6) * 1.6 * 1.2
    cone = cradle.screw_hole + 2 * 0.7 * 2.4
    assert cradle.cone == pytest.approx(cone)
    volume -= len(cradle.screws) * pi / 4 * (cradle.screw_hole**2 + 0.2 * cone**2) * 2.4
    for seat in cradle.seats:
        volume += (1 - 0.35 * 0.65) * (moments(seat.outer_profile)[0] - moments(seat.profile)[0])
        foot = Polygon([(0, 0), (0.8, 0), (0, 0.8)]).area * pi * (seat.outer_profile[0][1] + 0.8)
        volume += foot
    assert cradle.volume == pytest.approx(volume, rel=1e-3)
    assert cradle.size == (cradle.length, cradle.width, 2.4 + max(seat.height for seat in cradle.seats))
    plate = cradle.length * cradle.width * 2.4
    rest = [(seat.volume, 2.4 + seat.height / 2) for seat in cradle.seats]
    middle = (plate * 1.2 + sum(v * z for v, z in rest)) / (plate + sum(v for v, _ in rest))
    assert cradle.centroid_z == pytest.approx(cradle.bottom + middle)


# ---- outlines

@pytest.mark.parametrize("modules", [[], ["tray"]])
def test_every_part_and_cup_is_outlined_where_it_stands(modules):
    """Mugs in seats 1 and 3, teas between and behind; a shot goes into mugs' seats alone, a tea into them too."""
    plan = plan_of({"cups": ["mug", "tea", "mug", "tea"], "inserts": ["shot", "tea"], "modules": modules})
    assert {(ring.cup, ring.seat) for ring, _ in plan.inserts} == {("shot", "mug"), ("shot", "tea"), ("tea", "mug")}
    at = {name: [(seat.x, seat.y) for seat, _ in plan.cups if seat.cup == name] for name in ("mug", "tea")}
    deck, found = plan.deck_z, [(one.part, round(one.high - one.low, 6), MultiPoint(one.points).convex_hull)
                                for one in plan.outlines]
    wished = []
    for name, places in at.items():
        for cup in {"mug": ("mug", "shot", "tea"), "tea": ("tea", "shot")}[name]:
            height, widest = CUPS[cup]["profile"][-1]
            wished += [(height, widest, place) for place in places]
    cups = [(high, hull) for part, high, hull in found if part == "cup"]
    assert len(cups) == len(wished) == 2 * 3 + 2 * 2
    for height, widest, place in wished:
        around = [hull for high, hull in cups if high == height and hull.centroid.distance(Point(place)) < 1e-6]
        assert any(hull.contains(Point(place).buffer(widest / 2 - 1e-3)) and hull.area < 1.01 * pi * widest**2 / 4
                   for hull in around), (height, place)
    rings = {(round(hull.centroid.x, 6), round(hull.centroid.y, 6)): (high, hull) for part, high, hull in found
             if part == "cradle" and hull.area < 7000}
    for seat, _ in plan.cups:
        high, hull = rings[round(seat.x, 6), round(seat.y, 6)]
        assert high == pytest.approx(seat.height) and hull.area == pytest.approx(
            pi * seat.outer_diameter**2 / 4, rel=0.01)
    assert all(one.low == deck for one in plan.outlines if one.part == "cup")
    plates = {one.part: one for one in plan.outlines}
    for name, part, low, high in (("frame", plan.frame, plan.frame.bottom, plan.frame.top),
                                  ("body", plan.body, plan.body.bottom, plan.body.top)):
        hull = Polygon(plates[name].points)
        assert (plates[name].low, plates[name].high) == (low, high)
        assert hull.bounds == pytest.approx((-part.length / 2, -part.width / 2, part.length / 2, part.width / 2))
        assert hull.area == pytest.approx(part.length * part.width - (4 - pi) * part.corner**2, rel=1e-3)
    heads = Polygon(plates["coupler"].points)
    reach = plan.frame.seats[0].x + plan.coupling.front.reach
    assert heads.bounds == pytest.approx((-reach, -plan.coupling.front.head_width / 2, reach,
                                          plan.coupling.front.head_width / 2))
    assert (plates["coupler"].low, plates["coupler"].high) == (
        plan.coupling.lowest, plan.coupling.height + plan.coupling.front.thickness / 2)
    assert ("lid" in plates) == bool(modules)
    if modules:
        assert (plates["lid"].low, plates["lid"].high) == (plan.lid.bottom, plan.lid.top)


def test_an_inserts_ears_reach_to_the_left_of_its_seats():
    plan = plan_of({"cups": ["mug", "mug"], "inserts": ["shot"]})
    ring, _ = plan.inserts[0]
    assert ring.ear > 0
    ears = [one for one in plan.outlines if one.part == "insert"]
    assert len(ears) == 2
    for one, (seat, _) in zip(ears, plan.cups, strict=True):
        x0, y0, x1, y1 = Polygon(one.points).bounds
        assert (x1 - x0) / 2 == pytest.approx(ring.slit / 2 + ring.ear) and (x0 + x1) / 2 == pytest.approx(seat.x)
        assert (y0, y1) == pytest.approx((seat.y, seat.y + ring.ear_reach))
        assert (one.low - plan.deck_z, one.high - plan.deck_z) == pytest.approx((ring.ear_foot, ring.height))


# ---- inserts

def test_an_inserts_measures_by_hand():
    """A mug's seat is 83 x 0.38 = 31.5 mm high; the shot, 50 mm high, is held at 33 mm at most. What ring and seat
    spread by as they are printed, 0.05 and 0.15 mm, is left beside the sliding fit."""
    plan = plan_of({"cups": ["mug"], "inserts": ["shot"]})
    (ring, _), seat = plan.inserts[0], plan.cups[0][0]
    assert seat.height == pytest.approx(0.38 * 83) and ring.height == pytest.approx(seat.height + 1.5)
    assert ring.bead_height == pytest.approx(0.6 * seat.height) and seat.groove == (ring.bead_height, 0.5)
    assert ring.slit == pytest.approx(2 * pi * 0.5 + 1.0) and ring.ear_foot == pytest.approx(0.35 * seat.height + 0.4)
    assert ring.least_height == pytest.approx(ring.bead_height + 1.0)
    for h in np.linspace(0, ring.height, 30):
        outer = np.interp(min(h, seat.height), *np.transpose(seat.profile)) - 0.35 - 0.2
        assert diameter_at(ring.outer, h) == pytest.approx(outer)
        assert diameter_at(ring.inner, h) == pytest.approx(34 + 8 * h / 50 + 1.0)
    walls = [(diameter_at(ring.outer, h) - diameter_at(ring.inner, h)) / 2 for h in np.linspace(0, ring.height, 400)]
    assert ring.wall == pytest.approx(min(walls), abs=1e-3) and min(walls) > 5.0 and ring.hollow
    heights = np.linspace(2.0, ring.height, 2000)
    shell = [np.array([diameter_at(side, h) for h in heights]) for side in ring.channel]
    assert shell[0] == pytest.approx([diameter_at(ring.outer, h) - 4.0 for h in heights])
    assert shell[1] == pytest.approx([diameter_at(ring.inner, h) + 4.0 for h in heights])
    solid = moments(ring.outer)[0] - moments(ring.inner)[0] - np.trapezoid(
        pi / 4 * (shell[0]**2 - shell[1]**2), heights)
    around = pi * np.mean([d for _, d in (*ring.outer, *ring.inner)])
    ears = 2 * ring.ear * 6.5 * (ring.height - ring.ear_foot - 3.25)
    assert ring.volume == pytest.approx(solid * (1 - ring.slit / around) + ears, rel=1e-4)
    widest = max(d for _, d in ring.outer)
    assert ring.ear_reach == pytest.approx(diameter_at(ring.outer, ring.ear_foot) / 2 + 6.5)
    assert ring.size == pytest.approx((widest, widest / 2 + ring.ear_reach, ring.height))
    as_seat = ring.as_seat()
    assert (as_seat.cup, as_seat.height, as_seat.profile) == ("shot", ring.height, ring.inner)


def test_ears_are_left_out_where_the_window_is_too_narrow_for_them():
    """The window of a slim cup's seat: 0.35 of a quarter round, its level 0.4 of that, less half the slit."""
    cups = CUPS | {"egg": dict(profile=[[0, 18], [60, 20]], mass=40, wall=2, fill=30),
                   "thimble": dict(profile=[[0, 11], [60, 12]], mass=20, wall=2, fill=30)}
    plan = plan_of({"cups": ["egg"], "inserts": ["thimble"]}, cup=cups)
    ring, _ = plan.inserts[0]
    assert ring.ear == 0.0 and ring.size[1] == max(d for _, d in ring.outer)
    assert not [one for one in plan.outlines if one.part == "insert"]


def test_a_cup_too_low_for_the_bead_fails_with_the_height_that_it_takes():
    """Held by 0.8 of its height; the bead in a mug's seat ends by twice its depth above 0.6 x 31.54 mm."""
    low = CUPS | {"dish": dict(profile=[[0, 34], [23.5, 40]], mass=30, wall=2, fill=10)}
    plan = plan_of({"cups": ["mug"], "inserts": ["dish"]}, cup=low)
    high = low | {"dish": low["dish"] | {"profile": [[0, 34], [24.2, 40]]}}
    held = plan_of({"cups": ["mug"], "inserts": ["dish"]}, cup=high)
    failed, = wanting(plan)
    assert not held.wanting and 0.1 < held.inserts[0][0].bead < 0.5
    ends = 0.6 * 31.54 + 2 * held.inserts[0][0].bead
    assert (failed.verdict, failed.value, failed.limit) == ("fail", pytest.approx(18.8), pytest.approx(ends, abs=0.05))
    assert not plan.inserts and "mm too low" in failed.reason


def test_a_cup_too_wide_fails_with_how_much_slimmer_it_must_be():
    """The pail's 80 mm and 1 mm free in a mug's seat of 62 mm, drawn 0.35 mm smaller."""
    wide = CUPS | {"pail": dict(profile=[[0, 80], [60, 90]], mass=90)}
    failed, = wanting(plan_of({"cups": ["mug"], "inserts": ["pail"]}, cup=wide))
    assert failed.value == pytest.approx((62 - 0.35 - 81) / 2, abs=0.3) and failed.limit == 1.2
    assert f"{np.ceil(20 * (1.2 - failed.value)) / 10:.1f} mm too wide" in failed.reason


@pytest.mark.parametrize("apart, open_", [(30.0, False), (27.2, False), (26.9, True), (25.0, True)])
def test_a_screws_way_cuts_no_seat_open(apart, open_):
    """By hand: a seat 45 mm wide inside, a way 6.9 mm wide beside its middle, two lines of 0.5 mm stay or it fails."""
    seat = Seat("tea", 0.0, 0.0, 16.5, ((0.0, 45.0), (16.5, 45.0)), 2.0, (0.0, 0.0))
    cradle = cradles.CradlePlan(80, 60, 50, 2.4, 4, (seat,), ((apart, 0.0),), 3.5, 6.9, 10)
    found = list(cradles.wanting(cradle, Printer(line_width=0.5, nozzle=0.5)))
    assert [one.value for one in found] == ([pytest.approx(apart - 3.45 - 22.5)] if open_ else [])
