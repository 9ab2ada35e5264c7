"""Plates: shapely measures gaps, layouts cut from full beds say how few do, pigeonholes how many must."""

import random
from io import BytesIO
from unittest.mock import patch

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from PIL import Image
from shapely import MultiPolygon, STRtree
from shapely.geometry import box
from trimesh import creation

from partgen.export.thumbnail import thumbnail
from partgen.packing import nesting as plates
from partgen.packing.nesting import fits, nest
from partgen.paper.filaments import FILAMENTS, filament_for
from partgen.paper.plates import GAP, Batch, arrange
from partgen.parts import PARTS

BED = (210.0, 180.0)
sides = st.tuples(st.floats(3, 170), st.floats(3, 170))


def rectangles(sizes, nesting):
    """Return each plate's rectangles [mm] as shapely sees them."""
    lots = [[] for _ in range(nesting.plates)]
    for (x, y), spot in zip(sizes, nesting.laid, strict=True):
        across, along = (y, x) if spot.turned else (x, y)
        lots[spot.plate].append(box(spot.x, spot.y, spot.x + across, spot.y + along))
    return lots


def nearest(lot):
    """Return the least distance [mm] between any two rectangles of a plate."""
    tree = STRtree(lot)
    pairs = tree.query(lot, "dwithin", 50.0).T
    return min((lot[a].distance(lot[b]) for a, b in pairs if a != b), default=50.0)


@settings(deadline=None, max_examples=40)
@given(st.lists(sides, min_size=1, max_size=12), st.floats(0, 12))
def test_nothing_overlaps_and_nothing_hangs_over(sizes, gap):
    with patch.object(plates, "EFFORT", 0.02):      # whatever the solver brings home must be sound
        nesting = nest(sizes, BED, gap)
    lots = rectangles(sizes, nesting)
    assert sum(len(lot) for lot in lots) == len(sizes) and all(lots)
    assert 1 <= nesting.at_least <= nesting.plates
    for lot in lots:
        assert nearest(lot) >= gap - 1e-3       # the solver counts in hundredths
        assert all(box(0, 0, *BED).buffer(1e-6).covers(rectangle) for rectangle in lot)


def cut(side_x, side_y, generator, gap, deep):
    """Cut a bed into rectangles `gap` apart, guillotine fashion."""
    if deep == 0 or max(side_x, side_y) < 60:
        return [(side_x, side_y)]
    share = generator.uniform(0.35, 0.65)
    if side_x < side_y:
        return [(y, x) for x, y in cut(side_y, side_x, generator, gap, deep)]
    left = round((side_x - gap) * share, 1)
    return (cut(left, side_y, generator, gap, deep - 1)
            + cut(round(side_x - gap - left, 1), side_y, generator, gap, deep - 1))


@pytest.mark.parametrize("seed", range(4))
@pytest.mark.parametrize(("beds", "deep"), [(1, 2), (2, 2), (3, 1)])
def test_what_was_cut_from_so_many_beds_goes_back_on_them(seed, beds, deep):
    """The cutting is the proof that `beds` do; a claim that more are needed would be wrong."""
    generator = random.Random(seed)
    sizes = [size for _ in range(beds) for size in cut(*BED, generator, 5.0, deep)]
    generator.shuffle(sizes)
    nesting = nest(sizes, BED, 5.0)
    assert nesting.at_least <= beds
    assert nesting.plates == beds


def test_a_pinwheel_is_found():
    """Four bars round a square fill a bed, and no straight cut parts them: greed does not get there."""
    bars, middle = [(124.0, 81.0)] * 4, (38.0, 38.0)
    sizes = [*bars, middle]
    grown = [(1290, 860)] * 4 + [(430, 430)]
    assert min(plates._plates(plates._greedy(grown, (2150, 2150), order)) for order in plates.ORDERS) > 1
    nesting = nest(sizes, (210.0, 210.0), 5.0)
    assert (nesting.plates, nesting.at_least) == (1, 1)
    assert nearest(rectangles(sizes, nesting)[0]) >= 5.0 - 1e-6


def test_what_the_solver_scatters_is_laid_in_order_again():
    """Each plate for itself, in its middle; a lot that greed does not get onto one plate stays as it was found."""
    pinwheel = [(1290, 860), (860, 1290), (1290, 860), (860, 1290), (430, 430)]
    found = [(1, 0, 0, False), (1, 1290, 0, False), (1, 860, 1290, False), (1, 0, 860, False), (1, 860, 860, False)]
    scattered = [(0, 700, 1200, False), (0, 30, 40, True)]
    tidy = plates._tidied([*scattered, *found], [(600, 500), (300, 400), *pinwheel], (2150, 2150))
    assert tidy == [(0, 575, 825, False), (0, 1175, 825, True), *found]     # 1000 x 500 in the middle of 2150 x 2150


def test_another_order_saves_the_solver():
    """Where one of the orders finds as few beds as the area takes, nothing is searched for."""
    sizes = [(100.0, 205.0), (100.0, 100.0), (100.0, 100.0)]
    with patch.object(plates, "_search", side_effect=AssertionError("searched")):
        assert nest(sizes, (210.0, 210.0), 5.0).plates == 1
    tried = []
    with patch.object(plates, "ORDERS", (lambda size: tried.append(0) or (size[0] * size[1],), *plates.ORDERS)), \
            patch.object(plates, "_search", side_effect=AssertionError("searched")):
        assert nest([(124.0, 81.0), (38.0, 38.0), (81.0, 124.0), (80.0, 80.0)], (210.0, 210.0), 5.0).plates == 1


@pytest.mark.parametrize("sizes", [
    [(400, 1400), (1200, 750), (1200, 450), (550, 500), (550, 1250), (400, 500), (550, 550)],
    [(300, 500), (300, 1050), (1050, 300), (300, 1100), (500, 500), (1050, 1100), (500, 700), (300, 1100)],
    [(800, 1000), (600, 1400), (800, 1000), (1200, 700), (1200, 900), (1200, 600), (600, 800), (1200, 1200)]],
    ids=["longest side", "shortest side", "both sides"])
def test_each_order_finds_what_no_other_does(sizes):
    """Tenths of a mm; drawn at random until one order alone took no more beds than the area."""
    grown = [(x + 50, y + 50) for x, y in sizes]
    few = [plates._plates(plates._greedy(grown, (2150, 2150), order)) for order in plates.ORDERS]
    assert few.count(min(few)) == 1
    with patch.object(plates, "_search", side_effect=AssertionError("searched")):
        assert nest([(x / 10, y / 10) for x, y in sizes], (210.0, 210.0), 5.0).plates == min(few)


@pytest.mark.parametrize(("count", "searched"), [(120, True), (121, False)])
def test_a_bed_less_is_looked_for_up_to_120_footprints(count, searched):
    """Four squares of 90 mm go on a bed whose area were enough for five; laid down greedily in the given order."""
    with patch.object(plates, "_search", return_value=(None, True)) as search, \
            patch.object(plates, "ORDERS", 2 * plates.ORDERS[:1]):
        assert nest([(90.0, 90.0)] * count, (210.0, 210.0), 5.0).plates == -(-count // 4)
    assert search.called is searched


def test_pigeonholes_are_proven():
    """Four points at thirds of a bed: a square wider than a third covers one, so a bed holds at most four."""
    nesting = nest([(75.0, 75.0)] * 5, (210.0, 210.0), 5.0)
    assert (nesting.plates, nesting.at_least) == (2, 2)


def test_one_bulky_part_a_bed():
    nesting = nest([(120.0, 110.0)] * 7, (210.0, 210.0), 5.0)
    assert (nesting.plates, nesting.at_least) == (7, 7)


def test_the_lot_lies_in_the_middle():
    sizes = [(40, 20), (30, 20), (50, 10)]
    low, high = np.reshape(MultiPolygon(rectangles(sizes, nest(sizes, BED))[0]).bounds, (2, 2))
    assert (low + high) / 2 == pytest.approx(np.array(BED) / 2, abs=0.1)


def test_a_full_bed_fits_and_a_hair_more_does_not():
    assert nest([(210.0, 180.0)], BED).plates == 1
    assert nest([(180.0, 210.0)], BED).laid[0].turned
    assert not fits((210.2, 20.0), BED)
    with pytest.raises(ValueError, match="210 x 180 mm: turn it or leave it out"):
        nest([(10.0, 10.0), (210.2, 20.0)], BED)


def test_nothing_needs_no_bed():
    assert nest([], BED).plates == 0


# ---- parts on plates -----------------------------------------------------------------------------


def piece(name, size, count=1, filament="cream"):
    """Return a box to print, its mesh standing anywhere."""
    return Batch(name, creation.box(size).apply_translation((3, -50, 7)), count, filament)


def test_every_copy_stands_on_its_bed_and_filaments_do_not_mix():
    pieces = [piece("a", (150, 60, 20), 5), piece("b", (20, 90, 5), 3, "wood"), piece("c", (30, 30, 5), 2)]
    laid, left = arrange(pieces, BED)
    assert left == ()
    total = {}
    for plate in laid:
        assert all(one.filament == plate.filament for one, _ in plate.stands)
        meshes = list(plate.copies())
        assert nearest([box(*mesh.bounds[:, :2].ravel()) for mesh in meshes]) >= GAP - 1e-6
        for mesh in meshes:
            assert mesh.volume > 0
            assert mesh.bounds[0] == pytest.approx(np.maximum(mesh.bounds[0], 0), abs=1e-9)
            assert mesh.bounds[0, 2] == pytest.approx(0, abs=1e-9)
            assert all(mesh.bounds[1, :2] <= np.add(BED, 1e-6))
        for name, many in plate.counts.items():
            total[name] = total.get(name, 0) + many
    assert total == {"a": 5, "b": 3, "c": 2}


def test_a_part_longer_than_the_bed_lies_aslant():
    """A bar of 250 x 10 mm on a bed of 210 x 180 mm: along the diagonal (276.6 mm) it lies, straight not."""
    (plate,), left = arrange([piece("bar", (250, 10, 5))], BED)
    mesh, = plate.copies()
    assert left == () and mesh.volume == pytest.approx(250 * 10 * 5)
    assert (mesh.bounds[0, :2] >= -1e-6).all() and (mesh.bounds[1, :2] <= np.add(BED, 1e-6)).all()


def test_a_part_too_long_for_the_diagonal_is_named():
    laid, left = arrange([piece("beam", (280, 10, 5)), piece("a", (20, 20, 5))], BED)
    assert left == ("beam",) and [plate.counts for plate in laid] == [{"a": 1}]


@pytest.mark.parametrize(("part", "filament"), [
    ("frame", "dark-grey"), ("axle-holder", "dark-grey"), ("clamp-bar", "dark-grey"), ("body", "cream"),
    ("lid", "green"), ("coupler", "wood"), ("coupler-cover", "wood"), ("cradle", "wood")])
def test_the_palette_falls_into_four_filaments(part, filament):
    assert filament_for(PARTS[part].colour) == filament


def test_fewer_spools_take_what_is_nearest_among_them():
    """Distances by hand: a lid's green is nearer to dark grey than to cream or wood, a body's cream nearest to wood."""
    wanted = {1: ["dark-grey"] * 4, 2: ["dark-grey", "wood", "wood", "dark-grey"],
              3: ["dark-grey", "wood", "cream", "dark-grey"], 4: ["dark-grey", "wood", "cream", "green"]}
    for spools, filaments in wanted.items():
        assert [filament_for(PARTS[part].colour, spools) for part in ("frame", "cradle", "body", "lid")] == filaments


def test_a_filament_is_its_own():
    assert all(filament_for(colour) == name for name, colour in FILAMENTS.items())
    assert all(0 <= share <= 1 for colour in FILAMENTS.values() for share in colour)


# ---- a plate's picture ---------------------------------------------------------------------------


def test_thumbnail_shows_what_lies_where():
    """A block of 100 x 50 mm in the low left corner of a bed of 200 x 200 mm; in it a smaller, higher one."""
    low = creation.box((100, 50, 10)).apply_translation((50, 25, 5))
    high = creation.box((20, 20, 30)).apply_translation((30, 20, 15))
    seen = [np.asarray(Image.open(BytesIO(thumbnail(lot, (200, 200), (1.0, 0.0, 0.0)))))
            for lot in ([low], [low, high], [high, low])]
    red = seen[0][..., 1] == 0
    assert red.shape == (256, 256) and red.mean() == pytest.approx(100 * 50 / 200 ** 2, abs=0.002)
    rows, columns = np.nonzero(red)
    assert rows.min() == 256 - 64 and columns.max() == 127     # y upwards: 50 mm are 64 px, 100 mm 128 px
    assert (seen[1] == seen[2]).all(), "the higher one hides the lower whichever was drawn first"


def test_thumbnail_agrees_with_the_mesh_seen_by_rays():
    """The same silhouette as trimesh's rays from above, pixels counted that are covered by half or more."""
    mesh = creation.torus(30, 8, major_sections=40, minor_sections=24).apply_translation((50, 50, 8))
    picture = np.asarray(Image.open(BytesIO(thumbnail([mesh], (100, 100), (1.0, 0.0, 0.0)))))[::-1]
    row, column = np.divmod(np.arange(0, 256 ** 2, 37), 256)
    starts = np.stack([(column + 0.5) / 2.56, (row + 0.5) / 2.56, np.full(len(row), 99.0)], axis=1)
    hit = mesh.ray.intersects_any(starts, np.tile((0.0, 0.0, -1.0), (len(row), 1)))
    assert np.mean(hit != (picture[row, column, 1] < 120)) < 0.002
