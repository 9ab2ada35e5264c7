"""What was measured on a coupon gives back the offsets it was printed with, or is refused by name."""

import json
import re
import tomllib

import numpy as np
import pytest
from conftest import DEMO, bare
from hypothesis import given, settings
from hypothesis import strategies as st

from partgen.describe.coupon_form import HOW, MeasuredLadder, form, load_measured
from partgen.describe.load import load
from partgen.describe.printer_tables import Printer
from partgen.errors import DescriptionError, FormError
from partgen.pipeline.coupon_files import write
from partgen.printing.calibration import calibrate
from partgen.printing.coupon import resolve
from partgen.printing.coupon_mesh import coupon_mesh


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


# ---- the form and the command line

def quiet(what, share):
    """Progress that nobody watches."""


def test_the_form_holds_every_ladder_and_reads_back_empty(demo, tmp_path):
    plan = resolve(demo)
    ladders = [(ladder.name, ladder.drawn, ladder.gauge) for ladder in plan.ladders]
    path = tmp_path / "measured.toml"
    path.write_text(form([*ladders, ("length", (plan.length,), 0.0)], "Any", "any.toml"))
    data = tomllib.loads(path.read_text())
    assert set(data) == set(HOW) - {"tube", "press"}
    assert load_measured(path)["axle"].drawn == next(one for one in plan.ladders if one.name == "axle").drawn
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


def test_measured_offsets_become_a_preset_that_a_description_uses(coupon_folder, run, tmp_path):
    out, _ = coupon_folder
    form_ = out / "reading-room-tea-line-coupon" / "measured.toml"
    plate = load_measured(form_)["length"].drawn
    fill(form_, axle={"measured": list(printed(AXLE, True, 0.22, shrink=0.4))}, snap={"fits": 0.94},
         peg={"measured": list(printed(PEGS, False, peg=-0.03, shrink=0.4))},
         length={"measured": list(printed(plate, False, peg=-0.03, shrink=0.4))})
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
