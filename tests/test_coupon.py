"""The coupon: it prints, says the truth about its sizes, and gives back the offsets it was printed with."""

import json
import re
import tomllib
from math import hypot

import numpy as np
import pytest
from conftest import DEMO, bare, described
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import maximum_inscribed_circle
from shapely.geometry import Point, Polygon

from partgen.describe.coupon_form import HOW, MeasuredLadder, form, load_measured
from partgen.describe.load import load, loads
from partgen.describe.printer_tables import Printer
from partgen.errors import DescriptionError, FormError
from partgen.export import threemf
from partgen.lettering import lettering
from partgen.pipeline.coupon_files import draw, write
from partgen.plan.train import resolve as wagons
from partgen.printing.calibration import calibrate
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
    words = [word for one in plan.ladders for word in (one.heading, *(rung.label for rung in one.rungs))]
    wide = sum(lettering(word, plan.letter, plan.printer.line_width).area() for word in words)
    cut = [solid(mesh).slice(plan.thickness - deep).area() for deep in (0.59, 0.61)]
    assert cut[1] - cut[0] == pytest.approx(wide, abs=1.0) and wide > 200


def test_magnet_pockets_are_larger_than_the_magnet_by_their_label(plan, mesh):
    for step in ladder(plan, "magnet").rungs:
        x0, y0, x1, y1 = around(mesh, plan.block - 0.3, step.x, step.y).bounds
        assert (x1 - x0, y1 - y0) == pytest.approx((6 + step.size, 3 + step.size), abs=1e-6)


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


# Readings made from known offsets

def printed(drawn, hollow, bore=0.0, peg=0.0, shrink=0.0):
    """What a printer with these offsets [mm, %] makes of sizes as drawn."""
    return tuple(round(size * (1 - shrink / 100) + (-bore if hollow else peg), 4) for size in drawn)


AXLE, GAPS, PEGS, LENGTH = (3.0, 3.1, 3.2, 3.3, 3.4, 3.5), (0.8, 0.9, 1.0, 1.1, 1.2), (4.0, 6.0, 8.0), (96.9,)


def a_form(bore, peg, shrink, slip=lambda: 0.0):
    def rung(drawn, hollow):
        sizes = printed(drawn, hollow, bore, peg, shrink)
        return MeasuredLadder(drawn=drawn, measured=tuple(size + slip() for size in sizes))
    return dict(axle=rung(AXLE, True), gap=rung(GAPS, True), peg=rung(PEGS, False), length=rung(LENGTH, False))


@given(bore=st.floats(-0.3, 0.6), peg=st.floats(-0.3, 0.6), shrink=st.floats(0.0, 1.5))
def test_known_offsets_are_recovered(bore, peg, shrink):
    found = calibrate(a_form(bore, peg, shrink), Printer())
    assert found.printer.bore_offset == pytest.approx(bore, abs=0.01)
    assert found.printer.peg_offset == pytest.approx(peg, abs=0.01)
    assert found.printer.shrink == pytest.approx(shrink, abs=0.01)
    assert found.worst < 1e-3 and found.readings == 15 and found.notes == ()


@given(bore=st.floats(-0.3, 0.6), peg=st.floats(-0.3, 0.6), seed=st.integers(0, 10**6))
@settings(max_examples=30)
def test_a_caliper_that_reads_to_a_fiftieth_is_good_enough(bore, peg, seed):
    """Readings off by up to 0.02 mm either way: the offsets come out within as much, the residual says how well."""
    slips = np.random.default_rng(seed)
    found = calibrate(a_form(bore, peg, 0.2, lambda: slips.uniform(-0.02, 0.02)), Printer())
    assert found.printer.bore_offset == pytest.approx(bore, abs=0.02)
    assert found.printer.peg_offset == pytest.approx(peg, abs=0.025)
    assert 0 < found.residual <= found.worst <= 0.04


@given(bore=st.floats(0.02, 0.48))
def test_what_just_fits_brackets_the_offset(bore):
    """The first hole that a true axle goes into is at most a step too large, so half a step is the doubt."""
    first = next(size for size in AXLE if printed([size], True, bore)[0] >= 3.0)
    found = calibrate(dict(axle=MeasuredLadder(drawn=AXLE, gauge=3.0, fits=first)), Printer())
    assert abs(found.printer.bore_offset - bore) <= 0.05 + 1e-6
    assert (found.printer.peg_offset, found.printer.shrink) == (Printer().peg_offset, Printer().shrink)


@given(place=st.integers(0, 5), wrong=st.sampled_from([-0.4, -0.3, 0.3, 0.5]), bore=st.floats(0.0, 0.3))
def test_a_figure_that_contradicts_the_rest_is_refused_by_name(place, wrong, bore):
    good = a_form(bore, 0.05, 0.2)
    sizes = list(good["axle"].measured)
    sizes[place] += wrong
    bad = good | {"axle": good["axle"].model_copy(update={"measured": tuple(sizes)})}
    with pytest.raises(FormError) as refused:
        calibrate(bad, Printer())
    [fault] = refused.value.faults
    assert fault.path == f"axle.measured[{place + 1}]"
    said = float(re.search(r"makes bore_offset ([+-][\d.]+) mm", fault.message)[1])
    assert said == pytest.approx(bore - wrong, abs=0.016)       # two decimals, a form's figures three
    assert "measure it again" in fault.message


def test_holes_and_feel_that_contradict_each_other_are_refused():
    feel = MeasuredLadder(drawn=GAPS, gauge=0.76, fits=1.2)               # half a step under 1.2 for 0.76: offset +0.39
    with pytest.raises(FormError, match=r"gap\.fits.*bore_offset \+0\.39 mm.*\+0\.10 mm"):
        calibrate(dict(gap=feel, axle=MeasuredLadder(drawn=AXLE, measured=printed(AXLE, True, 0.1))), Printer())


def test_offsets_out_of_reach_are_refused():
    scaled = MeasuredLadder(drawn=PEGS, measured=tuple(size * 0.5 for size in PEGS))
    with pytest.raises(FormError):
        calibrate(dict(peg=scaled), Printer())
    with pytest.raises(FormError, match="shrink = 10.00 .* outside 0 to 3"):
        calibrate(a_form(0.1, 0.1, 10.0), Printer())


def test_length_without_pegs_leaves_shrinkage_alone():
    axle = MeasuredLadder(drawn=AXLE, measured=printed(AXLE, True, 0.1))
    alone = {"length": MeasuredLadder(drawn=LENGTH, measured=(96.5,)), "axle": axle}
    with pytest.raises(FormError):          # 0.4 mm short and no shrinkage allowed for: something is wrong
        calibrate(alone, Printer())
    near = alone | {"length": MeasuredLadder(drawn=LENGTH, measured=(96.95,))}
    found = calibrate(near, Printer())
    assert found.printer.shrink == 0.0 and "measure a peg" in found.notes[0]


def test_the_smallest_hole_that_fits_already_tells_nothing():
    pegs = MeasuredLadder(drawn=PEGS, measured=printed(PEGS, False, peg=0.1))
    found = calibrate({"axle": MeasuredLadder(drawn=AXLE, gauge=3.0, fits=3.0), "peg": pegs}, Printer(bore_offset=0.11))
    assert found.printer.bore_offset == 0.11 and "tells nothing" in found.notes[0]


# The form and the command line

def test_the_form_holds_every_ladder_and_reads_back_empty(plan, tmp_path):
    ladders = [(ladder.name, ladder.drawn, ladder.gauge) for ladder in plan.ladders]
    path = tmp_path / "measured.toml"
    path.write_text(form([*ladders, ("length", (plan.length,), 0.0)], "Any", "any.toml"))
    data = tomllib.loads(path.read_text())
    assert set(data) == set(HOW) - {"tube"}
    assert load_measured(path)["axle"].drawn == ladder(plan, "axle").drawn
    with pytest.raises(FormError, match="nothing was measured"):
        calibrate(load_measured(path), Printer())


def fill(path, **ladders):
    """Write figures into the form at `path`: measured, or fits."""
    data = tomllib.loads(path.read_text())
    for name, values in ladders.items():
        data[name] |= values
    lines = [f"[{name}]\n" + "".join(f"{key} = {value}\n" for key, value in table.items())
             for name, table in data.items()]
    path.write_text("\n".join(lines))


@pytest.fixture(scope="module")
def coupon_folder(tmp_path_factory):
    from click.testing import CliRunner

    from partgen.cli import main
    out = tmp_path_factory.mktemp("out")
    done = CliRunner().invoke(main, ["coupon", str(DEMO), "-o", str(out), "--json"])
    assert done.exit_code == 0, done.output
    return out, json.loads(done.stdout)


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


def test_measured_offsets_become_a_preset_that_a_description_uses(coupon_folder, run, tmp_path):
    out, _ = coupon_folder
    form_ = out / "reading-room-tea-line-coupon" / "measured.toml"
    fill(form_, axle={"measured": list(printed(AXLE, True, 0.22, shrink=0.4))}, snap={"fits": 0.94},
         peg={"measured": list(printed(PEGS, False, peg=-0.03, shrink=0.4))},
         length={"measured": list(printed((96.92,), False, peg=-0.03, shrink=0.4))})
    done = run("coupon", DEMO, "-o", out, "--measured", form_, "--json")
    said = json.loads(done.stdout)
    assert done.exit_code == 0 and said["residual"] < 0.01 and said["readings"] == 10
    assert said["printer"] == pytest.approx(
        {"bore_offset": 0.22, "peg_offset": -0.03, "shrink": 0.4, "snap_share": 0.94}, abs=0.01)
    mine = tmp_path / "mine.toml"
    (tmp_path / "printer.toml").write_bytes((out / "reading-room-tea-line-coupon" / "printer.toml").read_bytes())
    mine.write_text(bare().replace('use = "bed-220"', 'use = "printer.toml"\nlayer = 0.15'))
    printer = load(mine).printer
    assert (printer.snap_share, printer.layer, printer.bed_x) == (0.94, 0.15, load(DEMO).printer.bed_x)
    assert run("check", mine).exit_code in (0, 1)


def test_a_filled_in_form_is_never_written_over(coupon_folder, monkeypatch):
    out, _ = coupon_folder
    form_ = out / "reading-room-tea-line-coupon" / "measured.toml"
    form_.write_text(form_.read_text() + "\n# mine\n")
    before = form_.read_bytes()
    monkeypatch.setattr("partgen.pipeline.coupon_files.render", lambda *scene: "no picture")
    _, _, notes = write(load(DEMO), coupon_mesh(resolve(load(DEMO))), out, "reading-room.toml", quiet)
    assert any("stays as you filled it in" in note for note in notes) and form_.read_bytes() == before


@pytest.mark.parametrize(("text", "path"), [
    ("[axle]\ndrawn = [3.0, 3.1]\nmeasured = [2.9]", "axle.measured"),
    ("[axle]\ndrawn = [3.0, 3.1]\nmeasured = [2.9, -1.0]", "axle.measured[2]"),
    ("[axle]\ndrawn = [3.0, 3.1]\nfits = 3.05", "axle.fits"),
    ("[axel]\ndrawn = [3.0]", "axel"),
    ("[peg]\ndrawn = [4.0]\nmessured = [4.0]", "peg.messured"),
    ("axle = 3", "axle"),
    ("[axle]\ndrawn = [3.0, 3.1, 3.2]\nmeasured = [2.9, 3.0, 3.6]", "axle.measured[3]"),
    ("[axle\n", ""),
])
def test_forms_that_cannot_be_end_with_exit_2_and_their_place(run, tmp_path, text, path):
    form_ = tmp_path / "measured.toml"
    form_.write_text(text)
    done = run("coupon", DEMO, "-o", tmp_path / "out", "--measured", form_, "--json")
    assert done.exit_code == 2 and not (tmp_path / "out").exists()
    faults = json.loads(done.stdout)["faults"]
    assert any(fault["path"].startswith(path) for fault in faults), faults
    assert "form cannot be used" in done.stderr


@pytest.mark.parametrize(("text", "said"), [
    ("[printer]\nnozzle = 0.4\n[track]\n", "is no preset of a printer"), (None, "there is no such file"),
    ('source = "mine"\n[printer]\nnozzel = 0.4', "nozzel")])
def test_an_own_preset_that_cannot_be_is_named(tmp_path, text, said):
    if text is not None:
        (tmp_path / "printer.toml").write_text(text)
    mine = tmp_path / "mine.toml"
    mine.write_text(bare().replace('use = "bed-220"', 'use = "printer.toml"'))
    with pytest.raises(DescriptionError, match=said):
        load(mine)
