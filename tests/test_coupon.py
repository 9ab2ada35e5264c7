"""The coupon: it prints, says the truth about its sizes, and is what outside readers take."""

import re
from itertools import pairwise
from math import hypot

import numpy as np
import pytest
from conftest import DEMO, described
from shapely import maximum_inscribed_circle
from shapely.geometry import Point, Polygon

from partgen.describe.load import load, loads
from partgen.export import threemf
from partgen.lettering import lettering
from partgen.pipeline.coupon_files import _form, draw
from partgen.plan.train import resolve as wagons
from partgen.printing.coupon import resolve
from partgen.printing.coupon_mesh import OVER, coupon_mesh
from partgen.solids.overlap import solid


def ladder(plan, name):
    return next(one for one in plan.ladders if one.name == name)


def quiet(what, share):
    """Progress that nobody watches."""


@pytest.fixture(scope="module")
def plan(demo):
    return resolve(demo)


@pytest.fixture(scope="module")
def mesh(plan):
    return coupon_mesh(plan)


def rings(mesh, z):
    """Closed outlines [shapely polygons] of a mesh at height z [mm], in the mesh's own axes."""
    path = mesh.section((0, 0, 1), (0, 0, z))
    down = [[1, 0, 0, 0], [0, 1, 0, 0], [0, 0, 1, -z], [0, 0, 0, 1]]
    return [Polygon(ring.exterior) for ring in path.to_2D(to_2D=down)[0].polygons_closed]


def around(mesh, z, x, y):
    """The smallest outline at height z round the point (x, y) [mm]."""
    return min((ring for ring in rings(mesh, z) if ring.contains(Point(x, y))), key=lambda ring: ring.area)


def test_every_step_is_as_large_as_its_label(plan, mesh):
    """Measured on the mesh by shapely: holes by their inscribed circle, pegs and walls by their width."""
    for name in ("axle", "core"):
        for step in ladder(plan, name).rungs:
            free = 2 * maximum_inscribed_circle(around(mesh, 1.2, step.x, step.y), tolerance=1e-4).length
            assert free == pytest.approx(step.size, abs=2e-3), step
    for name in ("gap", "wall"):
        for step in ladder(plan, name).rungs:
            x0, _, x1, _ = around(mesh, 1.2 if name == "gap" else 5.0, step.x, step.y).bounds
            assert x1 - x0 == pytest.approx(step.size, abs=1e-6), step
    for step in ladder(plan, "peg").rungs:
        corners = np.array(around(mesh, 5.0, step.x, step.y).exterior.coords) - (step.x, step.y)
        assert max(hypot(*corner) for corner in corners) == pytest.approx(step.size / 2, abs=1e-6)
    x0, y0, x1, y1 = max(rings(mesh, 1.2), key=lambda ring: ring.area).bounds
    assert x1 - x0 == pytest.approx(plan.length, abs=1e-6)


def test_every_heading_and_label_is_cut_0_6_mm_deep(plan, mesh):
    """So much more plastic is just below the letters' floor as all letters are wide, but for the slopes of 0.02 mm."""
    words = [word for one in plan.ladders for word in (*one.heading.split(), *(rung.label for rung in one.rungs))]
    wide = sum(lettering(word, plan.letter, plan.printer.line_width).area() for word in words)
    cut = [solid(mesh).slice(plan.thickness - deep).area() for deep in (0.59, 0.61)]
    assert cut[1] - cut[0] == pytest.approx(wide, abs=1.0) and wide > 200


def test_magnet_pockets_are_larger_than_the_magnet_by_their_label(plan, mesh):
    for step in ladder(plan, "magnet").rungs:
        x0, y0, x1, y1 = around(mesh, plan.block - 0.3, step.x, step.y).bounds
        assert (x1 - x0, y1 - y0) == pytest.approx((6 + step.size, 3 + step.size), abs=1e-6)


@pytest.mark.parametrize(("ends", "word", "over", "into"), [
    ("plain", "AXLE", "over the axle", "Snap the axle in"),
    ("tube", "TUBE", "over the metal tube", "Snap the axle with its metal tube in"),
    ("bearing", "BEARING", "over the ball bearing", "Snap the axle with a ball bearing on either end in")])
def test_form_and_plate_say_what_is_snapped_in(ends, word, over, into, tmp_path):
    description = described(wheelset=f'ends = "{ends}"')
    of = resolve(description)
    assert ladder(of, "snap").heading.split() == ["SNAP", word]
    assert _form(description, tmp_path / "measured.toml", "mine.toml") == []
    said = re.sub(r"\s*\n# ?", " ", (tmp_path / "measured.toml").read_text())
    assert f"labelled by their opening {over}. {into} ten times" in said
    # the opening of each clip is its label's share of that very thing
    wide = {"tube": description.wheelset["standard"].tube_diameter,
            "bearing": description.wheelset["standard"].bearing_outer}.get(ends, 3.0)
    for rung, clip in zip(ladder(of, "snap").rungs, of.clips, strict=True):
        assert clip.opening == pytest.approx(wide * rung.size + 0.15, abs=0.02)
    x = max(len(word), len("MAGNET")) * 0.8 * of.letter
    assert lettering(word, of.letter, of.printer.line_width).bounds()[2] < x + 3, "clear of the first clip"


def test_pointed_axles_have_no_clip_on_the_coupon_and_its_form_says_where_cups_are_tried(tmp_path):
    description = described(wheelset='ends = "pin"\nover_points = 49')
    of, drawn = resolve(description), coupon_mesh(resolve(description))
    assert {one.name for one in of.ladders} == {"axle", "core", "magnet", "gap", "peg", "wall"} and not of.clips
    assert drawn.is_watertight and drawn.body_count == 1 and drawn.extents[:2] == pytest.approx((of.length, of.width))
    _form(description, tmp_path / "measured.toml", "mine.toml")
    said = re.sub(r"\s*\n# ?", " ", (tmp_path / "measured.toml").read_text())
    assert "print one pin-holder" in said and "[snap]" not in said
    assert "pin-holder" not in re.sub(r"\s*\n# ?", " ", _written(described(), tmp_path / "plain.toml"))


def _written(description, path):
    _form(description, path, "mine.toml")
    return path.read_text()


@pytest.mark.parametrize("screw", ["M2", "M2.5", "M3"])
@pytest.mark.parametrize("line", [0.32, 0.42, 0.75])
def test_labels_of_a_row_keep_apart(screw, line):
    """By the letters as they are cut: M2.5 screws have cores of 2.05 mm, the longest labels that there are."""
    of = resolve(described(wagon=f"screw = '{screw}'", printer=f"line_width = {line}"))
    for one in of.ladders:
        wide = [lettering(rung.label, of.letter, line).bounds() for rung in one.rungs]
        for (rung, a), (after, b) in pairwise(zip(one.rungs, wide, strict=True)):
            assert after.x - rung.x - (a[2] - a[0]) / 2 - (b[2] - b[0]) / 2 > 0.25 * of.letter, (one.name, rung.label)


def test_printed_wheels_try_their_press_on_the_coupon():
    """Bores as long as the wheel's, in hubs as wide, the third as drawn for this printer; steps of 0.05 mm."""
    description = described(wheelset="printed = true")
    of, wheel = resolve(description), wagons(description).wagons[0].gear.wheel
    steps, drawn = ladder(of, "press"), coupon_mesh(of)
    assert of.hub == (wheel.hub, wheel.width) and steps.drawn[2] == pytest.approx(wheel.bore, abs=0.006)
    assert np.diff(steps.drawn) == pytest.approx(0.05) and drawn.is_watertight and drawn.body_count == 1
    for step in steps.rungs:
        free = 2 * maximum_inscribed_circle(around(drawn, wheel.width - 1.0, step.x, step.y), tolerance=1e-4).length
        assert free == pytest.approx(step.size, abs=2e-3)
    assert not any(one.name == "press" for one in resolve(described()).ladders)


def test_the_middle_clip_is_the_wagons_own(plan):
    """A maker who feels it feels the part: same arms, same length along the axle, same opening."""
    assert plan.clips[1] == wagons(load(DEMO)).wagons[0].gear.clip
    assert all(clip.width == 31.2 - 0.8 for clip in plan.clips)


def test_clips_open_by_their_label(plan, mesh):
    """At the throat the gap is the share of the axle, and what this printer's bores lose on top of it."""
    for step, clip in zip(ladder(plan, "snap").rungs, plan.clips, strict=True):
        assert clip.opening == pytest.approx(3 * step.size + 0.15)
        at = Point(step.x, step.y - (clip.block - OVER) - clip.throat)
        body = max(rings(mesh, 15.0), key=lambda ring: ring.intersection(at.buffer(4)).area)
        across = body.intersection(Polygon([(at.x - 3, at.y - 1e-3), (at.x + 3, at.y - 1e-3), (at.x + 3, at.y + 1e-3),
                                            (at.x - 3, at.y + 1e-3)]))
        left, right = sorted(across.geoms, key=lambda piece: piece.centroid.x)
        assert right.bounds[0] - left.bounds[2] == pytest.approx(clip.opening, abs=0.02)


@pytest.mark.parametrize("lines", [
    {"printer": "line_width = 0.75\nnozzle = 0.68\nlayer = 0.3", "coupler": "magnet_diameter = 10\nheight = 14"},
    {"printer": "line_width = 0.22\nnozzle = 0.2\nlayer = 0.1\nbed_x = 80\nbed_y = 120"},
    {"wheelset": 'ends = "tube"\ntube_diameter = 5', "wagon": 'screw = "M2"'}])
def test_coupons_print_without_supports_whatever_the_hardware(lines):
    body, found = draw(described(**lines), quiet)
    assert {f.check for f in found} >= {"closed-mesh", "one-body", "bed", "wall", "slot", "overhang", "bridge"}
    assert [(f.check, f.value, f.reason) for f in found if f.verdict == "fail"] == []
    assert body.is_volume and body.bounds[0][2] == 0


BOGIES = """title = "a"
[track]
use = "{track}"
[wheelset.standard]
use = "{track}"
{ends}
[train.locomotive]
mass = 2500
adhesion = 0.4
[coupler]
use = "{magnet}"
[printer]
{printer}
[[wagon]]
name = "a"
wheelbase = 60
pivot_spacing = 110
"""


@pytest.mark.parametrize(("track", "ends", "magnet", "printer"), [
    ("gauge-45", 'ends = "bearing"\nbearing_outer = 10\nbearing_width = 4', "magnet-6x3", ""),
    ("gauge-45", 'ends = "bearing"\nbearing_outer = 13\nbearing_width = 5', "magnet-8x3",
     "line_width = 0.7\nnozzle = 0.6\nlayer = 0.3"),
    ("gauge-32", "", "magnet-5x2", "line_width = 0.25\nnozzle = 0.2\nlayer = 0.1")])
def test_a_bogies_clip_prints_on_the_coupon_and_stands_back_as_on_the_bogie(track, ends, magnet, printer):
    """Its arms are cut at the middle of their thickness, its ends found by trimesh: 45 degrees from the pads up."""
    description = loads(BOGIES.format(track=track, ends=ends, magnet=magnet, printer=printer))
    body, found = draw(description, quiet)
    assert [(f.check, f.value, f.reason) for f in found if f.verdict == "fail"] == []
    own = wagons(description).wagons[0].gear.clip
    plan = resolve(description)
    assert plan.clips[1] == own
    step, drawn = ladder(plan, "snap").rungs[1], coupon_mesh(plan)
    low, high = drawn.bounds[:, 2]
    for share in (0.3, 0.9):
        up = own.pad + share * (own.root - own.pad)
        x, y = step.x + own.inner + own.arm / 2, step.y + OVER - own.block + up
        hits = sorted(drawn.ray.intersects_location([(x, y, -1.0)], [(0.0, 0.0, 1.0)])[0][:, 2])
        assert hits == pytest.approx([low + up - own.pad, low + own.width - (up - own.pad)], abs=2e-3)
    assert high >= low + own.width - 1e-3


def test_a_coupon_too_large_for_the_bed_says_so():
    _, found = draw(described(printer="bed_x = 60\nbed_y = 60"), quiet)
    assert ["bed"] == [f.check for f in found if f.verdict == "fail"]


def test_letters_are_filled_where_a_line_does_not_fit_between_their_strokes():
    """Closing a shape by a disc fills every notch narrower than it (mathematical morphology, by shapely)."""
    def shape(line):
        pieces = [Polygon(ring) for ring in lettering("MWA3.5", 4.2, line).to_polygons()]
        whole = Polygon()
        for piece in sorted(pieces, key=lambda piece: -piece.area):
            whole = whole.symmetric_difference(piece)
        return whole

    plain, closed = shape(1e-6), shape(0.45)
    by_shapely = plain.buffer(0.55 * 0.45).buffer(-0.55 * 0.45)
    assert closed.symmetric_difference(by_shapely).area < 0.02 * plain.area < closed.area - plain.area


def test_coupon_writes_what_a_maker_needs(coupon_folder):
    out, said = coupon_folder
    folder = out / "reading-room-tea-line-coupon"
    names = {record["path"] for record in said["files"]}
    assert names >= {"coupon.stl", "measured.toml"} and names <= {p.name for p in folder.iterdir()}
    assert said["folder"] == str(folder) and all(f["verdict"] == "pass" for f in said["findings"])
    assert (folder / "coupon.png").exists() or said["warnings"]


def test_stl_and_3mf_are_what_outside_readers_take(coupon_folder, mesh):
    from judges import stl_judged
    folder = coupon_folder[0] / "reading-room-tea-line-coupon"
    count, volume = stl_judged((folder / "coupon.stl").read_bytes())
    assert count == len(mesh.faces) and volume == pytest.approx(mesh.volume, rel=1e-4)
    if (folder / "coupon.3mf").exists():
        reader = (model := threemf.library()[1].CreateModel()).QueryReader("3mf")
        reader.SetStrictModeActive(True)
        reader.ReadFromBuffer(list((folder / "coupon.3mf").read_bytes()))
        assert reader.GetWarningCount() == 0 and model.GetBuildItems().Count() == 1
