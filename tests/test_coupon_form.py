"""The coupon's form: what it asks for, line by line, and what it takes back; presets written and read again."""

import re

import pytest

from partgen.describe import presets
from partgen.describe.coupon_form import HOW, form, load_measured
from partgen.errors import DescriptionError, FormError

LADDER = [("axle", (3.0, 3.15, 3.3), 3.1), ("peg", (4, 6), 0.0), ("snap", (0.86, 0.9), 0.0), ("length", (97.5,), 0.0)]
FORM = form(LADDER, "Two\nlines", "mine.toml")


def block(name):
    """The lines of one ladder that are no comment."""
    lines = FORM[FORM.index(f"[{name}]"):].split("\n\n")[0]
    return lines.splitlines()


def test_each_ladder_asks_for_what_can_be_measured_on_it():
    assert block("axle") == ["[axle]", "drawn = [3.0, 3.15, 3.3]", "measured = [0.0, 0.0, 0.0]", "gauge = 3.1",
                             "fits = 0.0"]
    assert block("peg") == ["[peg]", "drawn = [4.0, 6.0]", "measured = [0.0, 0.0]"]
    assert block("snap") == ["[snap]", "drawn = [0.86, 0.9]", "fits = 0.0"]
    assert block("length") == ["[length]", "drawn = [97.5]", "measured = [0.0]"]


def test_the_form_says_how_and_what_then():
    prose = re.sub(r"\s*\n# ?", " ", FORM)
    assert FORM.startswith('# What the coupon of "Two lines" came out as.')
    assert "partgen coupon mine.toml --measured measured.toml" in FORM
    assert all(HOW[name].format(wide="axle", whole="axle") in prose for name, _, _ in LADDER)
    assert HOW["magnet"] not in prose
    assert max(map(len, FORM.splitlines())) <= 120


def read(tmp_path, text):
    file = tmp_path / "measured.toml"
    file.write_text(text)
    return load_measured(file)


def test_what_was_filled_in_is_read_back(tmp_path):
    filled = FORM.replace("measured = [0.0, 0.0]", "measured = [4.05, 0]").replace("fits = 0.0", "fits = 3.15", 1)
    found = read(tmp_path, filled.replace("measured = [0.0]", ""))
    assert found["peg"].measured == (4.05, 0) and (found["axle"].gauge, found["axle"].fits) == (3.1, 3.15)
    assert found["length"].measured == () and "tube" not in found


@pytest.mark.parametrize("text, path, words", [
    ("[axle]\ndrawn = [3.0, 3.1]\nmeasured = [2.9]", "axle.measured", "measured holds 1 figures for 2 steps"),
    ("[axle]\ndrawn = [3.0, 3.1]\nmeasured = [2.9, -0.5]", "axle.measured[2]", "-0.5 mm is no size"),
    ("[axle]\ndrawn = [3.0, 3.1]\nfits = 3.05", "axle.fits",
     "fits = 3.05 is no step's label: choose one of 3, 3.1, or 0"),
    ("[axle]\ndrawn = [3.0]\nfits = 61", "axle.fits", "fits = 61 mm is outside 0 to 60 mm: no step is larger"),
    ("[axle]\ndrawn = []", "axle.drawn", "at least 1"),
    ("[axel]\ndrawn = [3.0]", "axel", "axel is no ladder of a coupon (known: axle, tube, press, core, magnet,"),
    ("axle = 3", "axle", "write [axle] on a line of its own, its values below it"),
    ("[axle]\nlabel = 3", "axle.drawn", "drawn is missing"),
])
def test_a_form_that_cannot_be_says_where(tmp_path, text, path, words):
    with pytest.raises(FormError) as caught:
        read(tmp_path, text)
    assert any(fault.path == path and words in fault.message for fault in caught.value.faults), caught.value.faults
    assert caught.value.what == "the coupon's form" and caught.value.exit_code == 2


def test_every_fault_of_a_form_is_told_at_once(tmp_path):
    with pytest.raises(FormError) as caught:
        read(tmp_path, "peg = 1\n[axle]\ndrawn = [3.0]\nfits = 5\n[wall]\ndrawn = [0.9]\nmeasured = [-1]\n[x]\n")
    assert [fault.path for fault in caught.value.faults] == ["peg", "axle.fits", "wall.measured[1]", "x"]


def test_no_form_at_all_is_told(tmp_path):
    with pytest.raises(FormError, match="no such file; `partgen coupon FILE` writes one"):
        load_measured(tmp_path / "none.toml")


# ---- a preset of one's own

def test_a_preset_is_written_as_it_is_read(tmp_path):
    table = {"nozzle": 0.5, "material": "PETG", "shrink": None, "slicing": {"skins": 5.0}}
    file = tmp_path / "printer.toml"
    file.write_text(presets.written("printer", table, 'measured with a "caliper"'), encoding="utf-8")
    assert file.read_text().splitlines()[0] == 'source = "measured with a \\"caliper\\""'
    assert presets.own("printer", str(file)) == {"nozzle": 0.5, "material": "PETG", "slicing": {"skins": 5.0}}
    with pytest.raises(DescriptionError, match=r"is no preset of a track: it must hold a line `source` and one table"):
        presets.own("track", str(file))
    file.write_text(file.read_text() + "\n[ride]\nspeed = 3\n")
    with pytest.raises(DescriptionError, match="is no preset of a printer: .* nothing else"):
        presets.own("printer", str(file))
