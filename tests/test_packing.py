"""Modules in a body: held to an exhaustive search with scipy's linear programmes and to plain intervals."""

import subprocess
import sys
from math import inf
from pathlib import Path
from time import process_time

import pytest
from arranged import boxes, tasks
from arrangements import (
    BITE,
    CUBE,
    GRID,
    NARROW,
    SMALL,
    STEP,
    TEN,
    best,
    exhaustive,
    faults,
    lying,
    quarter_turns,
)
from hypothesis import given, settings
from hypothesis import strategies as st
from msgspec.structs import replace
from ortools.sat.python.cp_model import CpSolver

from partgen.kept import FOLDER
from partgen.packing.box import AIMS, Box, NoRoom, Packed, Space, Task
from partgen.packing.explain import enough, larger, misfits
from partgen.packing.pack import TooLate, pack, searching_until
from partgen.packing.solver import search


@pytest.mark.parametrize("name", SMALL)
def test_small_sets_are_arranged_as_well_as_trying_everything_does(name):
    task = SMALL[name]
    found = pack(task)
    assert not list(faults(task, found))
    assert best(found) and [reached for aim, reached, _ in found.aims if aim != "width"] == pytest.approx(
        exhaustive(task))


@settings(max_examples=15)
@given(boxes(turned=False), boxes(), st.integers(30, 70), st.integers(60, 160), st.booleans(), st.integers(20, 40))
def test_random_pairs_are_arranged_as_well_as_trying_everything_does(one, other, width, length, fixed, high):
    task = Task((one, other), Space((length if fixed else 0, length), (width, width), (0, high)), ((0, 1),))
    found = pack(task)
    if isinstance(found, NoRoom):
        assert found.proven and exhaustive(task) is None
        return
    reached = [value for aim, value, _ in found.aims if aim != "width"]
    assert best(found) and not list(faults(task, found))
    for aim, value, least in zip(STEP, reached, exhaustive(task, reached=reached), strict=True):
        assert least - GRID - 1e-6 <= value < least + STEP[aim] + 2 * GRID, aim


@settings(max_examples=20)
@given(tasks())
def test_nothing_overlaps_and_nothing_lies_outside_and_each_aim_states_its_gap(task):
    found = pack(task)
    if isinstance(found, Packed):
        assert not list(faults(task, found))
        assert [name for name, _, _ in found.aims] == list(task.aims)
        assert all(0 <= bound <= reached + 1e-9 for _, reached, bound in found.aims)
        assert found.length == pytest.approx(dict((a, r) for a, r, _ in found.aims)["length"])


def test_a_body_is_as_short_as_any_width_lets_it_be_that_is_not_too_long_for_it():
    """Up to each width the exhaustive search tells the shortest; what is longer than its width allows is none."""
    widths, longest = (45.0, 52.0, 61.0, 70.0), (100.0, 58.0, 30.0)
    for name in ("two in a row", "one has two plugs", "three"):
        task = SMALL[name]
        task = replace(task, space=replace(task.space, width=(widths[0], widths[-1]),
                                           slim=tuple(zip(widths, longest, strict=False))))
        found = pack(task)
        least = [exhaustive(replace(task, space=replace(task.space, width=(width, width), slim=())), ("length",))[0]
                 for width in widths]
        allowed = [length for length, limit in zip(least, (inf, *longest), strict=True) if length <= limit]
        assert not list(faults(task, found)) and best(found)
        assert found.length == pytest.approx(min(allowed), abs=0.11), name
        narrower = [width for width, length in zip(widths, least, strict=True) if length <= found.length + 0.11]
        assert found.width <= narrower[0] + 0.11


def test_what_two_boxes_cut_into_one_wall_is_a_land_apart():
    """By hand: their cuts reach 4 mm beyond them, so 4 + 0.9 + 4 mm are between two that stand at the front wall. In a
    body no wider than 50 mm inside there is no room for that, save one on the other where the cuts are apart in height.
    """
    looks = lying((30, 20, 10), out=("front",), cuts=(("front", (-4.0, 24.0), (1.0, 8.0)),))
    two = tuple(Box(f"box {k}", 10, (looks,), carries=True, climbs=True) for k in range(2))
    space = Space((0, 100), (0, 80), land=0.9)
    one, other = pack(Task(two, space)).spots
    assert abs(one.y - other.y) == pytest.approx(20 + 8.9, abs=GRID)
    free = pack(Task(two, replace(space, land=-9.0))).spots
    assert abs(free[0].y - free[1].y) == pytest.approx(20 + 1.0, abs=GRID)
    narrow = replace(space, width=(50, 50))
    assert isinstance(pack(Task(two, narrow)), NoRoom)
    assert isinstance(pack(Task(two, narrow, levels=2)), Packed)
    high = tuple(replace(box, orientations=(replace(looks, cuts=(("front", (-4.0, 24.0), (-4.0, 14.0)),)),))
                 for box in two)
    assert isinstance(pack(Task(high, narrow, levels=2)), NoRoom)


@settings(max_examples=15)
@given(st.lists(st.tuples(st.integers(10, 30), st.integers(0, 6), st.sampled_from(["front", "back", "left"])),
                min_size=2, max_size=3))
def test_cuts_into_walls_keep_their_land_however_boxes_lie(drawn):
    boxes = [Box(f"box {k}", 10, tuple(_cut(way, reach) for way in quarter_turns(size, 16, 9, out=(out,))))
             for k, (size, reach, out) in enumerate(drawn)]
    task = Task(tuple(boxes), Space((0, 90), (40, 70), land=0.9), effort=0.05)
    found = pack(task)
    assert isinstance(found, NoRoom) or not list(faults(task, found))


def _cut(way, reach):
    face, = way.out
    side = way.size[1 if face in ("front", "back") else 0]
    return replace(way, cuts=((face, (-float(reach), side + reach), (1.0, 8.0)),))


@pytest.mark.parametrize("at", ["front", "middle", "back", "left", "right"])
def test_a_box_lies_where_it_shall(at):
    """By hand: alone each of them would lie elsewhere, since the heavier one goes to the middle."""
    light, heavy = replace(BITE, at=at), replace(CUBE, at="middle")
    task = Task((light, heavy), Space((0, 200), (60, 60)), aims=("wishes", *AIMS))
    found = pack(task)
    spot = found.spots[0]
    x, y = spot.x + spot.orientation.size[0] / 2, spot.y + spot.orientation.size[1] / 2
    assert not list(faults(task, found)) and found.aims[0] == ("wishes", 0, 0)
    assert {"front": x >= found.length / 6 - GRID, "back": x <= GRID - found.length / 6,
            "middle": abs(x) <= found.length / 6 + GRID, "left": y > 0, "right": y < 0}[at]


def test_where_not_all_can_lie_where_they_shall_as_many_do_as_can():
    """Three cubes in a row fill a body; only one has its middle in the front third. Where all must, nothing fits."""
    cubes = tuple(replace(CUBE, name=f"cube {k}", orientations=(lying((30, 30, 20)),), at="front") for k in range(3))
    task = Task(cubes, Space((94, 94), (34, 34)), aims=("wishes", *AIMS))
    found = pack(task)
    assert found.aims[0] == ("wishes", 2, 2) and not list(faults(task, found))
    assert pack(replace(task, aims=AIMS)) == NoRoom(proven=True)
    (_, wide), = larger(replace(task, aims=AIMS), ["width"])
    assert pack(replace(task, space=replace(task.space, width=(wide, wide)))).aims[0] == ("wishes", 0, 0)


def test_ten_boxes_are_arranged_to_proven_best():
    task = Task(TEN, Space((0, 400), (70, 70), (0, 60)), ((0, 1), (1, 2), (3, 4), (1, 6), (1, 9)))
    found = pack(task)
    assert not list(faults(task, found)) and best(found)


def test_where_nothing_is_proven_the_gap_is_stated():
    task = Task(TEN, Space((0, 400), (90, 90), (0, 60)), effort=0.1)
    found = pack(task)
    (_, reached, bound), *_ = found.aims
    covered = sum(min(p.size[0] * p.size[1] for p in box.orientations) for box in TEN) / 90
    assert not list(faults(task, found)) and covered <= bound < reached <= 1.4 * bound


def test_all_aims_share_one_effort(monkeypatch):
    """By the solver's own count: each search may go over its share by what it takes to notice."""
    spent, solve = [], CpSolver.solve
    monkeypatch.setattr(CpSolver, "solve", lambda self, model: (solve(self, model), spent.append(
        self.response_proto.deterministic_time))[0])
    task = Task(TEN, Space((0, 400), (60, 120), (0, 60)), ((0, 1), (2, 3)), levels=2, effort=0.2)
    found = search(task)
    assert not list(faults(task, found)) and not best(found)
    assert len(spent) > 2 and 0.15 < sum(spent) < 0.2 + 0.01 * len(spent)


def test_what_is_too_long_to_be_of_use_is_searched_no_further():
    task = Task(TEN[:4], Space((0, 400), (60, 60)))
    found = pack(task)
    assert best(found) and pack(replace(task, longest=found.length)) == found
    assert pack(replace(task, longest=found.length - 0.2)) == NoRoom(proven=True)


def test_no_search_begins_too_late(tmp_path, monkeypatch):
    """What is known already is answered all the same."""
    monkeypatch.setenv(FOLDER, str(tmp_path))
    task, other = (Task(TEN[:2], Space((0, 400), (wide, wide))) for wide in (77, 78))
    found = pack(task)
    with searching_until(process_time()):
        assert pack(task) == found
        with pytest.raises(TooLate):
            pack(other)
    assert isinstance(pack(other), Packed)


def test_a_second_level_shortens_what_may_be_stacked():
    carrier = Box("carrier", 120, (lying((90, 40, 20)),), carries=True)
    light = [Box(f"light {k}", 5, quarter_turns(30, 20, 8), climbs=True) for k in range(4)]
    flat, stacked = (pack(Task((carrier, *light), Space((0, 400), (44, 44)), levels=levels)) for levels in (1, 2))
    assert not list(faults(Task((carrier, *light), Space((0, 400), (44, 44)), levels=2), stacked))
    assert stacked.length == pytest.approx(92) and flat.length > 120 and stacked.height == pytest.approx(20 + 1 + 8 + 1)
    assert [spot.on for spot in stacked.spots] == [None, 0, 0, 0, 0]


def test_what_is_named_makes_it_fit_and_a_hair_less_does_not():
    assert pack(NARROW) == NoRoom(proven=True) and exhaustive(NARROW, ("length",)) is None
    limits = dict(larger(NARROW, ["length"]) + larger(NARROW, ["width"]))
    assert set(limits) == {"length", "width"} and enough(NARROW) == larger(NARROW, ["length"])
    for what, value in limits.items():
        wide = replace(NARROW, space=replace(NARROW.space, **{what: (value, value)}))
        short = replace(NARROW, space=replace(NARROW.space, **{what: (value - 0.2, value - 0.2)}))
        assert exhaustive(wide, ("length",)) and not list(faults(wide, pack(wide)))
        assert exhaustive(short, ("length",)) is None


def test_a_box_that_fits_nowhere_is_named():
    task = replace(NARROW, boxes=(*NARROW.boxes, Box("tower", 10, (lying((10, 10, 30)),))))
    assert misfits(task) == (3,)


# ---- the same answer again -------------------------------------------------------------------------------

def test_another_process_finds_the_very_same():
    call = ("from arrangements import *; from partgen.packing.solver import search; "
            "from partgen.packing.explain import enough; print(search(SMALL['three']), search(NARROW), enough(NARROW))")
    paths = [str(Path(__file__).parent), str(Path(__file__).parents[1])]
    both = [subprocess.Popen([sys.executable, "-c", call], stdout=subprocess.PIPE, text=True,
                             env={"PYTHONPATH": ":".join(paths), FOLDER: "", "PYTHONHASHSEED": seed})
            for seed in ("1", "2")]
    said = [process.communicate()[0] for process in both]
    assert said[0] == said[1] and "Packed" in said[0]
