"""Filament, time and the order to print, against sums done by hand."""

from math import pi

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely.geometry import Polygon
from solids import as_mesh, block, posed, prism

from partgen.describe.printer_tables import Printer, Slicing
from partgen.formulas.plastic import filament_length
from partgen.paper.order import print_order, waiting
from partgen.parts import PARTS
from partgen.plan.train import resolve
from partgen.printing.estimate import assumptions, estimate
from partgen.report.page import clock

FINE = Printer(slicing=Slicing(perimeters=2, skins=3, infill=25, outline_speed=40, fill_speed=80, first_speed=20,
                               travel=10, filament=1.75))


def test_a_box_by_hand():
    """20 x 10 x 4 mm, lines 0.45 x 0.2 mm: 20 layers, 3 solid below, 3 above, 14 a quarter full."""
    band = 20 * 10 - (20 - 1.8) * (10 - 1.8)                # two lines of 0.45 round it: 50.76 mm2
    core = (20 - 1.8) * (10 - 1.8)                          # 149.24 mm2
    around, full, sparse = band / 0.45, core / 0.45, 0.25 * core / 0.45          # mm of strand in a layer
    plastic = 0.2 * 0.45 * (20 * around + 6 * full + 14 * sparse)
    seconds = 1.1 * ((around + full) / 20 + 19 * around / 40 + (5 * full + 14 * sparse) / 80)
    found = estimate(as_mesh(block(20, 10, 4)), FINE)
    assert found.plastic == pytest.approx(plastic, rel=1e-6)
    assert found.filament == pytest.approx(plastic / (pi / 4 * 1.75**2), rel=1e-6)
    assert found.mass == pytest.approx(plastic * 1.24e-3, rel=1e-6)
    assert found.time == pytest.approx(seconds, rel=1e-6)


def test_a_tube_has_outlines_inside_and_outside():
    outside, inside = block(20, 20, 2), block(10, 10, 4, (5, 5, -1))
    found = estimate(as_mesh(outside - inside), FINE)
    band = 20**2 - 18.2**2 + 11.8**2 - 10**2
    corners = (4 - pi) * 0.9**2                             # the inner band's lines turn round the corners
    core = 20**2 - 10**2 - band + corners
    plastic = 0.2 * (10 * (band - corners) + (6 + 4 * 0.25) * core)
    assert found.plastic == pytest.approx(plastic, rel=5e-4)     # arcs are drawn in chords


def test_a_step_gets_skins_where_it_is_open_to_the_air():
    """The lower half of a stair is skinned under its tread and nowhere else."""
    stair = as_mesh(prism([(0, 0), (40, 0), (40, 4), (20, 4), (20, 8), (0, 8)], 20))
    found = estimate(posed(stair).mesh, FINE)
    wide, narrow = 38.2 * 18.2, 18.2 * 18.2
    tread = wide - 19.1 * 18.2              # not under the upper half, whose core reaches 0.9 mm further in
    band = 20 * (40 * 20 - wide) + 20 * (20 * 20 - narrow)
    # From the bed: 3 full, 14 sparse, 3 full under the tread only, 17 sparse, 3 full; on the lower edge of the
    # upper half skins look only 3 layers down, where plastic is.
    full = 3 * wide + 3 * tread + 3 * narrow
    sparse = 14 * wide + 3 * (wide - tread) + 17 * narrow
    assert found.plastic == pytest.approx(0.2 * (band + full + 0.25 * sparse), rel=1e-6)


@given(x=st.integers(5, 60), y=st.integers(5, 60), layers=st.integers(1, 40), infill=st.integers(0, 100))
@settings(max_examples=25)
def test_plastic_stays_between_shell_and_solid(x, y, layers, infill):
    high = 0.2 * layers
    printer = Printer(slicing=Slicing(infill=infill))
    found = estimate(as_mesh(block(x, y, high)), printer)
    band = Polygon([(0, 0), (x, 0), (x, y), (0, y)])
    shell = (band.area - band.buffer(-1.35, join_style="mitre").area) * high
    assert shell - 1e-6 <= found.plastic <= x * y * high + 1e-6
    if infill == 100 or layers <= 8:
        assert found.plastic == pytest.approx(x * y * high, rel=1e-6)


def test_what_is_assumed_is_said():
    said = assumptions(FINE)
    for figure in ("2 lines", "3 solid layers", "25 % infill", "40 mm/s", "80 mm/s", "20 mm/s", "10 % more", "240 s",
                   "1.24"):
        assert figure in said
    # 1 m of 1.75 mm filament is 2.405 cm3 (fabbaloo.com).
    assert filament_length(2405, 1.75) == pytest.approx(1000, rel=1e-3)
    assert (clock(50), clock(3540), clock(3600 * 2 + 270)) == ("1 min", "59 min", "2 h 04 min")


def test_more_of_everything_takes_longer(demo):
    body = as_mesh(block(40, 30, 10))
    plain = estimate(body, Printer())
    assert estimate(body, Printer(slicing=Slicing(infill=60))).time > plain.time
    assert estimate(body, Printer(slicing=Slicing(travel=60))).time == pytest.approx(plain.time * 1.6 / 1.2)
    assert (plain * 3 + plain).mass == pytest.approx(4 * plain.mass)


# Order

def files_of(train):
    by_plan = {}
    for plan in train.wagons:
        for item in plan.items:
            by_plan.setdefault((item.name, item.plan), []).append((plan, item))
    return {f"{name}-{k}": users for k, ((name, _), users) in enumerate(by_plan.items())}


def test_nothing_is_printed_before_what_it_is_mounted_on(demo):
    train = resolve(demo)
    files = files_of(train)
    order = print_order(train, files, {stem: 100.0 + len(stem) for stem in files})
    assert {stem for stem, *_ in order} == set(files)
    assert sum(count for _, count, _ in order) == sum(item.count for plan in train.wagons for item in plan.items)
    there = set()
    for stem, *_ in order:
        users = files[stem]
        for plan, item in users:
            have = {other.part for other in plan.items if (plan.name, other.name) in there}
            wanted = {part for part in PARTS[item.part].needs if part in {other.part for other in plan.items}}
            assert wanted <= have, (stem, wanted - have)
        there |= {(plan.name, item.name) for plan, item in users}
    assert [waits for *_, waits in order] == sorted((waits for *_, waits in order), reverse=True)


def test_all_of_a_wagon_waits_for_its_frame(demo):
    train = resolve(demo)
    waits = waiting(train)
    for plan in train.wagons:
        pieces = sum(item.count for item in plan.items)
        assert waits[plan.name, "frame"] == pieces - 1
        assert waits[plan.name, "coupler-cover"] == 0 < waits[plan.name, "coupler"]


def test_among_equals_the_quicker_comes_first(demo):
    train = resolve(demo)
    files = files_of(train)
    frames = [stem for stem in files if stem.startswith("frame")]
    quicker = {stem: -len(files) + k for k, stem in enumerate(reversed(files))}
    order = [stem for stem, *_ in print_order(train, files, quicker)]
    waits = waiting(train)
    same = [stem for stem in order if stem in frames and waits[files[stem][0][0].name, "frame"] == 13]
    assert same == sorted(same, key=lambda stem: list(reversed(files)).index(stem))
