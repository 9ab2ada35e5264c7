"""Which way seats turn their cups' handles, and the room beside these: plane geometry by shapely."""

from math import cos, radians, sin

import pytest
from conftest import described
from shapely import Point, box, unary_union
from shapely.affinity import rotate, translate

from partgen.checks.on_plan import run
from partgen.parts.steps.wagon import cradle
from partgen.plan.deck.handles import room
from partgen.plan.train import resolve

GLASS = "profile = [[0, 60], [90, 60]]\nmass = 200\nfill = 20\n"
MUG = "[cup.mug]\nprofile = [[0, 50], [60, 60]]\nmass = 100\nfill = 20\nhandle = true\nhandle_length = {}"


def mugs(count, length, **wagon):
    """Return the wagon of that many mugs whose handles stand out that far."""
    lines = "".join(f"\n{name} = {value}" for name, value in wagon.items())
    train = resolve(described(wagon=f"cups = {count * ['mug']}{lines}", cup=MUG.format(length)))
    return train, train.wagons[0]


def test_a_handle_counts_in_the_throw():
    """On straight track a cup in the wagon's middle reaches as far as its wall on one side, and on the other as far as
    its handle, a bar 12 mm wide turned by 60 degrees so that it stays over the body."""
    tracks = "clearance = [{low = 0, high = 300, half_width = 50}]\nplan = [{go = 'straight', length = 900}]"
    reaches = []
    for handle in ("", "handle = true\nhandle_length = 60"):
        train = resolve(described(wagon="cups = ['glass']", cup=f"[cup.glass]\n{GLASS}{handle}", track=tracks))
        ys = [y for one in train.wagons[0].outlines if one.part == "cup" for _, y in one.points]
        reaches += [min(ys), max(ys)]
        verdicts = {one.verdict for one in run(train, only={"outer-throw"})}
        assert verdicts == ({"fail"} if handle else {"pass"})
    assert reaches == pytest.approx([-30, 30, -30, 90 * cos(radians(60)) + 6 * sin(radians(60))], abs=0.1)


@pytest.mark.parametrize("count, columns, length", [(1, 1, 25), (3, 1, 40), (4, 2, 25), (9, 3, 50), (5, 0, 30)])
def test_handles_are_clear_as_shapely_sees_them(count, columns, length):
    """The room told is that of a band beside the handle, free of all other cups, seats and handles."""
    _, plan = mugs(count, length, columns=columns)
    shapes = []
    for seat, cup in plan.cups:
        bar = box(cup.widest / 2, -6, cup.widest / 2 + length, 6)
        turn = rotate(bar, 90 + seat.turn, (0, 0))
        shapes.append((translate(turn, seat.x, seat.y), Point(seat.x, seat.y).buffer(
            max(seat.outer_diameter, cup.widest) / 2, 64)))
    for place, (seat, cup) in enumerate(plan.cups):
        beside = unary_union([part for other, pair in enumerate(shapes) if other != place for part in pair])
        found = room(place, plan.deck)
        assert (beside.is_empty or shapes[place][0].distance(beside) > 1.9) is (found >= 0)
        if found > 0:
            flanks = [sorted((side * 6, side * (5.5 + found))) for side in (1, -1)]
            bands = [box(cup.widest / 2, low, cup.widest / 2 + length, high) for low, high in flanks]
            free = [not translate(rotate(band, 90 + seat.turn, (0, 0)), seat.x, seat.y).intersects(beside)
                    for band in bands]
            assert any(free)


def test_outer_seats_turn_their_handles_outwards():
    _, plan = mugs(4, 25, columns=2)
    assert all((seat.y > 0) is (abs(seat.turn) < 90) for seat, _ in plan.cups)


def test_handles_without_room_are_mended():
    train, plan = mugs(9, 50, columns=3)
    finding = next(one for one in run(train, only={"handle-room"}))
    assert finding.verdict == "fail" and finding.value < 0
    described_anew = mugs(9, 50, columns=1)[0]
    assert {one.verdict for one in run(described_anew, only={"handle-room"})} == {"pass"}


def test_a_wall_bars_handles():
    """An open body's wall over the lowest of a handle, 0.28 of the cup's height."""
    for height, verdict in ((18.4, "pass"), (60.0, "fail")):
        train, plan = mugs(1, 40, height=height)
        assert (plan.body.top > plan.deck_z + 0.28 * 60) is (verdict == "fail")
        assert {one.verdict for one in run(train, only={"handle-room"})} == {verdict}


def test_the_step_says_how_to_turn_the_cups():
    said = [next(cradle(mugs(count, 25, columns=columns)[1])).text for count, columns in ((2, 1), (4, 2))]
    assert "windows on the left" in said[0] and "to the side that the picture shows" in said[1]
    plain = resolve(described(wagon="cups = ['glass']", cup=f"[cup.glass]\n{GLASS}")).wagons[0]
    assert "handle" not in next(cradle(plain)).text
