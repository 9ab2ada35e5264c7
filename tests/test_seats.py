"""Cups on a deck: never nearer than asked, and never longer than the best of all ways to cut them into rows."""

from collections import Counter
from itertools import combinations, pairwise
from math import hypot, inf

import pytest
from conftest import described
from hypothesis import given, settings
from hypothesis import strategies as st

from partgen.packing.rows import Disc, Room, _placed, row_width, rows_of
from partgen.plan.train import resolve

DISCS = st.lists(st.builds(Disc, st.floats(45, 75), st.floats(40, 80)), min_size=1, max_size=7).map(tuple)
WIDTHS = st.one_of(st.just(inf), st.floats(60, 260))


@given(DISCS, WIDTHS, st.integers(1, 4))
@settings(max_examples=80)
def test_cups_stand_apart_and_in_the_room(discs, width, columns):
    room = Room(5.0, 14.0, width, columns)
    places, length, across = rows_of(discs, room)
    assert len(places) == len(discs)
    for (one, (x, y)), (other, (u, v)) in combinations(zip(discs, places, strict=True), 2):
        apart = hypot(x - u, y - v)
        assert apart >= (one.base + other.base) / 2 - 1e-6 and apart >= (one.cup + other.cup) / 2 + 5 - 1e-6
        if abs(x - u) < 1e-9:
            assert apart >= (one.cup + other.cup) / 2 + 14 - 1e-6
    for disc, (x, y) in zip(discs, places, strict=True):
        assert abs(x) + max(disc.base, disc.cup + 5) / 2 <= length / 2 + 1e-6
        assert abs(y) + disc.base / 2 <= across / 2 + 1e-6
    assert across <= width + 1e-6 or across == pytest.approx(max(disc.base for disc in discs))


@given(DISCS, WIDTHS, st.integers(1, 4))
@settings(max_examples=60)
def test_no_way_to_cut_the_order_into_rows_is_shorter(discs, width, columns):
    room = Room(5.0, 14.0, width, columns)
    lengths = []
    for count in range(len(discs)):
        for cuts in combinations(range(1, len(discs)), count):
            rows = [discs[a:b] for a, b in pairwise((0, *cuts, len(discs)))]
            if all(len(row) <= columns and (len(row) == 1 or row_width(row, room) <= width) for row in rows):
                lengths.append(_placed(rows, room)[1])
    assert rows_of(discs, room)[1] <= min(lengths) + 1e-6


def test_five_cups_on_a_wide_deck_stand_like_the_five_on_a_die():
    seats = [seat for seat, _ in resolve(described(wagon=f"cups = {['tea'] * 5}\ncolumns = 2")).wagons[0].cups]
    assert [(seat.x > 1) - (seat.x < -1) for seat in seats] == [1, 1, 0, -1, -1]
    assert [(seat.y > 1) - (seat.y < -1) for seat in seats] == [1, -1, 0, 1, -1]


@pytest.mark.parametrize("lines, columns", [("", 1), ("width = 90", 1), ("width = 140", 2), ("columns = 3", 3),
                                            ("width = 140\ncolumns = 1", 1)])
def test_columns_follow_the_width_given(lines, columns):
    at = described(wagon=f"cups = {['tea'] * 6}\n{lines}", track="clearance = [{high = 200, half_width = 120}]")
    rows = Counter(round(seat.x, 3) for seat, _ in resolve(at).wagons[0].cups)
    assert max(rows.values()) == columns
