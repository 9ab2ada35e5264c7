"""Filament, time and the order to print, against sums done by hand."""

from math import pi

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely.affinity import rotate
from shapely.geometry import LineString, Point, Polygon
from solids import as_mesh, block, posed, prism

from partgen.describe.printer_tables import Printer, Slicing
from partgen.formulas.plastic import filament_length, run_time
from partgen.printing.estimate import assumptions, estimate
from partgen.report.page import clock

FINE = Printer(slicing=Slicing(perimeters=2, skins=3, infill=25, outline_speed=40, fill_speed=80, first_speed=20,
                               acceleration=50000, corner_speed=100, travel_speed=1000, retraction=0,
                               least_layer_time=0, filament=1.75))
"""As good as no acceleration and no jumps, so that time is way over speed."""
SPACING = 0.45 - 0.2 * (1 - pi / 4)
REACH = 0.225 + 1.5 * SPACING           # two lines round an outline reach so far in
LIFTS = 0.04                            # s a layer


def chords(area, apart):
    """Total length and number of the pieces of lines at 45 degrees in an area, by shapely."""
    turned = rotate(area, 45, origin=(0, 0))
    x0, y0, x1, y1 = turned.bounds
    levels = (np.arange(np.floor(y0 / apart), np.ceil(y1 / apart)) + 0.5) * apart
    pieces = [turned.intersection(LineString([(x0 - 1, y), (x1 + 1, y)])) for y in levels]
    return sum(piece.length for piece in pieces), sum(len(getattr(p, "geoms", [p])) for p in pieces if p.length)


def ridden(length, enter, leave, speed, acceleration, step=1e-3):
    """Time of a run [s], walked in small steps: at each place the fastest that both ends allow."""
    places = np.arange(0, length, step) + step / 2
    fastest = np.minimum(enter**2 + 2 * acceleration * places, leave**2 + 2 * acceleration * (length - places))
    return float((step / np.minimum(speed, np.sqrt(fastest))).sum())


@pytest.mark.parametrize("run", [(2, 8, 8, 60, 1000), (0.4, 5.7, 5.7, 70, 1000), (30, 8, 40, 45, 500),
                                 (0.5, 8, 40, 45, 500), (0.5, 40, 8, 45, 500), (90, 1, 1, 100, 3000)])
def test_a_run_takes_what_walking_it_takes(run):
    assert run_time(*run) == pytest.approx(ridden(*run), rel=5e-3)


def test_runs_from_rest_to_rest():
    """Even acceleration from rest to rest: v/a + d/v, or 2 sqrt(d/a) for what never gets up to speed (textbook)."""
    assert run_time([2.0, 10.0], 1e-9, 1e-9, 60.0, 1000.0) == pytest.approx([2 * (2 / 1000)**0.5, 60 / 1000 + 10 / 60])


def test_a_box_by_hand():
    """20 x 10 x 4 mm, lines 0.45 x 0.2 mm: 20 layers, 3 solid below, 3 above, 14 a quarter full."""
    core = Polygon([(0, 0), (20, 0), (20, 10), (0, 10)]).buffer(-REACH, join_style="mitre")
    around = sum(2 * (20 + 10) - 8 * (0.225 + k * SPACING) for k in (0, 1))
    (full, lines), (sparse, few) = chords(core, SPACING), chords(core, SPACING / 0.25)
    full, sparse = full + lines * SPACING, sparse + few * 1.2 * SPACING / 0.25        # with the turns between them
    seconds = (around + full) / 20 + 19 * around / 40 + (5 * full + 14 * sparse) / 80
    found = estimate(as_mesh(block(20, 10, 4)), FINE)
    assert found.time == pytest.approx(seconds + 20 * LIFTS, rel=0.03)
    round_edge = 2 * (20 + 10 - 4 * 0.225) * (0.45 - SPACING) / 2
    plastic = 20 * (200 - core.area - round_edge) + 6 * (core.area + 0.8 * lines * SPACING**2) + 14 * sparse * SPACING
    assert found.plastic == pytest.approx(0.2 * plastic, rel=0.01)
    assert found.filament == pytest.approx(found.plastic / (pi / 4 * 1.75**2), rel=1e-6)
    assert found.mass == pytest.approx(found.plastic * 1.24e-3, rel=1e-6)


def test_a_tube_has_outlines_inside_and_outside():
    """Two lines on either side of a wall of 5 mm, the rest of it filled: its volume, but for the round edges."""
    outside, inside = block(20, 20, 1.2), block(10, 10, 4, (5, 5, -1))
    found = estimate(as_mesh(outside - inside), FINE)
    edges = (4 * (20 - 0.45) + 4 * (10 + 0.45)) * (0.45 - SPACING) / 2
    core = Point(10, 10).buffer(10 - REACH, cap_style="square") - Point(10, 10).buffer(5 + REACH, cap_style="square")
    laps = 0.8 * chords(core, SPACING)[1] * SPACING**2
    assert found.plastic == pytest.approx(1.2 * (300 - edges + laps), rel=0.01)
    assert found.layers.shape == (4, 6)


def test_a_step_gets_skins_where_it_is_open_to_the_air():
    """The lower half of a stair is skinned under its tread, 3 mm further in, and nowhere else."""
    stair = posed(as_mesh(prism([(0, 0), (40, 0), (40, 4), (20, 4), (20, 8), (0, 8)], 20))).mesh
    plain = posed(as_mesh(block(40, 20, 4))).mesh
    both = estimate(stair, FINE).layers[2], estimate(plain, FINE).layers[2]
    # Between 3 layers above the bed and 3 below the tread both are as hollow; below the tread the stair is hollow
    # under its upper half only, less 3 mm.
    assert both[0][4:17] == pytest.approx(both[1][4:17])
    assert both[1][18] > both[0][18] > 0.5 * both[1][18]
    deep = 20 - REACH - 3                       # from the far outline to where the skin ends
    share = deep * (20 - 2 * REACH) / ((40 - 2 * REACH) * (20 - 2 * REACH))
    spared = (both[1][18] - both[0][18]) / (both[1][18] - both[1][10])
    assert spared == pytest.approx(share, abs=0.04)


def test_a_small_hollow_is_filled_whole():
    for wide, hollow in ((8.0, False), (12.0, True)):
        layers = estimate(as_mesh(block(wide, wide, 6)), FINE).layers[2]
        assert (layers[15] < 0.8 * layers[2]) == hollow


@given(x=st.integers(5, 60), y=st.integers(5, 60), layers=st.integers(1, 40), infill=st.integers(0, 100))
@settings(max_examples=25)
def test_plastic_stays_between_shell_and_solid(x, y, layers, infill):
    high = 0.2 * layers
    found = estimate(as_mesh(block(x, y, high)), Printer(slicing=Slicing(infill=infill)))
    block_of = Polygon([(0, 0), (x, 0), (x, y), (0, y)])
    shell = (block_of.area - block_of.buffer(-1.2, join_style="mitre").area) * high
    assert 0.96 * shell <= found.plastic <= 1.1 * x * y * high
    assert found.layers.shape == (4, layers)


def test_small_things_cool_and_cool_together():
    """A layer that is done in a second takes five; two pieces on one plate take hardly longer than one.

    No line is laid more slowly than 10 mm/s, so nothing cools for a minute a layer.
    """
    small, slicing = as_mesh(block(6, 6, 4)), Slicing(least_layer_time=5, acceleration=5e4, corner_speed=100)
    one = estimate(small, Printer(slicing=slicing))
    assert one.time == pytest.approx(20 * 5, rel=0.25) and one.layers[0].sum() < 60
    assert (one + one).time == pytest.approx((one * 2).time)
    assert (one + one).time < 1.3 * one.time
    assert estimate(small, Printer(slicing=slicing.model_copy(update={"least_layer_time": 60.0}))).time < 400
    tall = estimate(as_mesh(block(6, 6, 8)), Printer(slicing=slicing))
    assert (one + tall).layers.shape == (4, 40) and [*(one + tall).layers[3][[0, 19, 20, 39]]] == [2, 2, 1, 1]


def test_pieces_side_by_side_cost_a_jump_each_in_every_layer():
    """60 mm from one to the next at 100 mm/s, 20 layers of two pieces or of three; one alone needs none."""
    slicing = FINE.slicing.model_copy(update={"travel_speed": 100.0, "corner_speed": 100.0})
    one = estimate(as_mesh(block(20, 10, 4)), Printer(slicing=slicing))
    for pieces in (2, 3):
        assert (one * pieces).time - pieces * one.time == pytest.approx(20 * pieces * 60 / 100)


def test_what_is_assumed_is_said():
    said = assumptions(FINE)
    for figure in ("2 lines", "3 solid layers", "25 % infill", "40 mm/s", "80 mm/s", "20 mm/s", "1000 mm/s",
                   "50000 mm/s2", "100 mm/s", "240 s", "1.24"):
        assert figure in said
    # 1 m of 1.75 mm filament is 2.405 cm3 (fabbaloo.com).
    assert filament_length(2405, 1.75) == pytest.approx(1000, rel=1e-3)
    assert (clock(50), clock(3540), clock(3600 * 2 + 270)) == ("1 min", "59 min", "2 h 04 min")


@pytest.mark.parametrize("slower", [{"infill": 60}, {"acceleration": 300}, {"corner_speed": 2}, {"travel_speed": 40},
                                    {"retraction": 0.5}, {"outline_speed": 30}, {"perimeters": 5}])
def test_every_setting_tells(slower):
    body = as_mesh(block(40, 30, 10))
    assert estimate(body, Printer(slicing=Slicing(**slower))).time > 1.005 * estimate(body, Printer()).time
