"""Every preset loads, says where its figures come from, and keeps the published rows that it claims."""

import re
import tomllib
from pathlib import Path

import pytest

from partgen.describe import presets
from partgen.describe.description import KINDS, NAMED
from partgen.describe.load import examine
from partgen.describe.starter import starter
from partgen.errors import DescriptionError, PartgenError

FOLDER = Path(__file__).parents[1] / "presets"
ALL = [(kind, name) for kind, names in presets.catalogue().items() for name in names]
INCH = 25.4
# A source is a published standard by its number, or says in words where a figure is from.
HONEST = re.compile(r"\b[A-Z]{2,} [A-Z]?-?\d|"
                    r"\b(common practice|invented|measured with|read on|from memory|data sheet)\b")
STANDARDS = set("B K N T D NEM NMRA RP S O No IEC R03 R6 R14 R20 N35 AA AAA C NAME FILE".split())
HANDBOOK = {"Linden", "Handbook", "Batteries"}

# NEM 310 (2009), row 16.5, mm: SEEN in a copy of the standard (chemnitz-modellbahn.de, page 87), where the
# upper end of D is cut off. NMRA S-4.2, older revision, inches: SEEN (nmra.org/node/1649).
# NEM 310 (1977), 45 mm: SEEN-2 on a secondary page (themt.de/mr-0170-w-t-49.html), the standard was not read.
WHEELS = [
    ("gauge-16.5", "NEM 310 (2009), row 16.5", 1,
     {"B": (14.4, 14.6), "K": (15.1, 15.3), "N": (2.7, 2.9), "T": (0.7, 0.9), "D": (0.6, None)}),
    ("gauge-22.5", "NMRA S-4.2 (older revision), row S", INCH,
     {"B": (.800, None), "K": (None, .839), "N": (.108, None), "D": (None, .030)}),
    ("gauge-32", "NMRA S-4.2 (older revision), row O", INCH,
     {"B": (1.118, None), "K": (None, 1.179), "N": (.172, None), "D": (None, .047)}),
    ("gauge-45", "NMRA S-4.2 (older revision), row No. 1", INCH,
     {"B": (1.567, None), "K": (None, 1.660), "N": (.235, None), "D": (None, .064)}),
    ("gauge-45", "NEM 310 (1977)", 1,
     {"B": (39.8, None), "K": (None, 41.8), "N": (5.7, None), "T": (1.5, 1.7), "D": (None, 2.2)}),
]
# NMRA RP-25, SEEN (nmra.org/standards/sandrp/rp25.html), inches: width N', thickness T, depth D'.
CONTOURS = [("gauge-22.5", 110, .110, .030, .025), ("gauge-32", 175, .175, .048, .045)]
# NMRA S-3.2 track, older revision, SEEN (nmra.org), inches: least and greatest gauge, check gauge C, greatest
# span S.
TRACKS = [("gauge-16.5", .649, .672, .605, .564), ("gauge-22.5", .883, .905, .839, .798),
          ("gauge-32", 1.250, 1.285, 1.179, 1.115), ("gauge-45", 1.766, 1.793, 1.660, 1.563)]
# NEM 010, SEEN in a scan of the standard: scale and gauge; all stand for 1435 mm, to 2.5 %.
SCALES = [("gauge-16.5", 87), ("gauge-22.5", 64), ("gauge-32", 45), ("gauge-45", 32)]
# IEC 60086 sizes, SEEN in Linden's Handbook of Batteries, table 4.9a: greatest diameter and height, mm.
CELLS = [("cell-r03", 10.5, 44.5), ("cell-r6", 14.5, 50.5), ("cell-r14", 26.2, 50.0)]


def train_with(kind, name):
    """Return the starter's data with one table started from the preset, wheels and track to match."""
    data = tomllib.loads(starter())
    matching = {"track": "wheelset", "wheelset": "track"}.get(kind)
    if matching and name in presets.catalogue()[matching]:
        data[matching] = {"standard": {"use": name}} if matching in NAMED else {"use": name}
    if kind in NAMED:
        first = next(iter(data[kind]))
        data[kind][first] = {"use": name}
    else:
        data[kind] = {"use": name}
    return data


def wheelset(name):
    description, faults = examine(train_with("wheelset", name))
    assert not faults
    return description.wheelset["standard"], description.track


@pytest.mark.parametrize("kind, name", ALL)
def test_preset_loads_without_a_fault_and_shows_up_in_the_description(kind, name):
    description, faults = examine(train_with(kind, name))
    assert not faults
    table = getattr(description, kind)
    table = next(iter(table.values())) if kind in NAMED else table
    assert set(presets.read(kind, name)) <= table.model_fields_set


@pytest.mark.parametrize("kind, name", ALL)
def test_preset_is_one_table_that_can_be_copied_and_begins_with_its_source(kind, name):
    text = presets.text(kind, name)
    assert re.match(r'source = "[^"]{10,100}"\n\n', text)
    data = tomllib.loads(text)
    assert list(data) == ["source", kind] and kind in KINDS
    assert kind not in NAMED or len(data[kind]) == 1
    assert HONEST.search(data["source"])
    assert max(map(len, text.splitlines())) <= 110
    assert presets.source(kind, name) == data["source"]


def test_every_kind_asked_for_has_its_presets():
    names = {kind: set(found) for kind, found in presets.catalogue().items()}
    gauges = {"gauge-16.5", "gauge-22.5", "gauge-32", "gauge-45", "toy-37.5"}
    assert names["track"] >= gauges and names["wheelset"] >= gauges | {"toy-37.5-tube"}
    assert {kind for kind in names} <= set(KINDS) and len(names["module"]) >= 10 and len(names["cup"]) >= 4
    assert list(presets.demos()) == ["reading-room"]


def test_only_demos_describe_wagons():
    with_wagons = [path.relative_to(FOLDER) for path in FOLDER.rglob("*.toml")
                   if re.search(r"^\[\[wagons?\]\]", path.read_text(encoding="utf-8"), re.MULTILINE)]
    assert with_wagons == [Path(f"{name}.toml") for name in presets.demos()]


@pytest.mark.parametrize("source, honest", [
    ("measured with a caliper and a kitchen scale", True), ("read on the spool", True), ("ISO 4032, table 1", True),
    ("NMRA S-4.2 (older revision), row O", True), ("common practice, no source", True),
    ("invented for the demo", True), ("my own idea of a board", False), ("the usual size", False)])
def test_what_an_honest_source_is(source, honest):
    assert bool(HONEST.search(source)) is honest


def names(text):
    """The words that are written with a capital though they begin no sentence, no comment and no text."""
    return set(re.findall(r'(?<![.:?] )(?<!# )(?<!["(])\b[A-Z]\w*', text))


def test_presets_name_no_maker():
    for path in FOLDER.rglob("*.toml"):
        assert names(path.read_text(encoding="utf-8")) <= STANDARDS | HANDBOOK, path.name
    assert names('source = "Measured with a caliper. The board is from Acme, after NEM 310"') == {"Acme", "NEM"}


@pytest.mark.parametrize("name, row, unit, limits", WHEELS, ids=[row for _, row, _, _ in WHEELS])
def test_wheelset_keeps_the_published_row(name, row, unit, limits):
    wheels, _ = wheelset(name)
    measured = {"B": wheels.back_to_back, "T": wheels.flange_thickness, "N": wheels.width,
                "D": wheels.flange_depth,
                "K": wheels.back_to_back + wheels.flange_thickness}     # NEM 310, SEEN on page 81 of the copy
    for letter, (low, high) in limits.items():
        assert low is None or measured[letter] >= low * unit - 1e-9, letter
        assert high is None or measured[letter] <= high * unit + 1e-9, letter
    assert row in presets.source("wheelset", name)


@pytest.mark.parametrize("name, code, width, thickness, depth", CONTOURS)
def test_wheelset_follows_the_published_contour(name, code, width, thickness, depth):
    wheels, _ = wheelset(name)
    assert f"RP-25 code {code}" in presets.source("wheelset", name)
    assert (wheels.width, wheels.flange_thickness, wheels.flange_depth) == pytest.approx(
        (width * INCH, thickness * INCH, depth * INCH), abs=0.006)      # rounded to 0.01 mm in the preset


@pytest.mark.parametrize("name, least, greatest, check_gauge, span", TRACKS)
def test_track_keeps_the_published_gauge_and_passes_its_wheels(name, least, greatest, check_gauge, span):
    wheels, track = wheelset(name)
    assert least * INCH <= track.gauge + 0.005 and track.gauge <= greatest * INCH
    assert wheels.back_to_back + wheels.flange_thickness <= check_gauge * INCH
    assert wheels.back_to_back >= span * INCH
    assert "NMRA S-3.2 (older revision)" in presets.source("track", name)


@pytest.mark.parametrize("name, scale", SCALES)
def test_gauge_stands_for_the_prototype(name, scale):
    assert presets.read("track", name)["gauge"] * scale == pytest.approx(1435, rel=0.025)
    assert f"NEM 010 ({name.removeprefix('gauge-')} mm, 1:{scale})" in presets.source("track", name)


def test_smallest_radius_of_gauge_16_5_is_a_step_of_the_published_ladder():
    # NEM 111's ladder for 16.5 mm, SEEN-2 on a secondary page (yumpu.com/de/document/view/3487945, page 6)
    assert presets.read("track", "gauge-16.5")["min_radius"] in (363, 412, 495, 577, 660, 742)


@pytest.mark.parametrize("name", presets.catalogue()["wheelset"])
def test_wheels_play_between_the_rails_and_reach_over_them(name):
    wheels, track = wheelset(name)
    play = track.gauge - wheels.back_to_back - 2 * wheels.flange_thickness
    resting = wheels.back_to_back + wheels.flange_thickness + wheels.width - track.gauge
    assert play > 0.3 and resting > 0.2 and wheels.flange_depth < track.rail_height


@pytest.mark.parametrize("name, diameter, height", CELLS)
def test_cell_has_its_published_greatest_size(name, diameter, height):
    cell = presets.read("module", name)
    assert (cell["width"], cell["height"], cell["length"]) == (diameter, diameter, height) and cell["battery"]


def test_holder_takes_two_cells_of_the_greatest_size_and_the_round_cell_carries_its_caution():
    holder, cell = presets.read("module", "battery-holder-2xaa"), presets.read("module", "cell-r6")
    assert holder["width"] > 2 * cell["width"] and holder["length"] > cell["length"] + 6
    assert holder["mass"] > 2 * cell["mass"]
    text = presets.text("module", "cell-18650")
    assert "Caution" in text and "never from bare lithium cells" in text


def test_unknown_presets_are_refused_with_the_names_that_come_near():
    with pytest.raises(DescriptionError, match="no track preset .* 'gauge-165'; did you mean gauge-16.5"):
        presets.read("track", "gauge-165")
    with pytest.raises(DescriptionError, match=r"no printer .* \(there are: bed-180, bed-220, bed-300\)"):
        presets.source("printer", "../../secret")
    with pytest.raises(DescriptionError, match=r"no boat preset .* \(there are: none\)"):
        presets.text("boat", "x")
    with pytest.raises(DescriptionError, match="no demo .* 'reading-rom'; did you mean reading-room"):
        presets.demo("reading-rom")


def test_what_a_caller_does_to_a_preset_changes_no_other_reading():
    presets.read("cup", "tea-glass")["profile"].clear()
    assert presets.read("cup", "tea-glass")["profile"]


def test_presets_are_found_in_a_checkout_and_in_an_installed_wheel(tmp_path, monkeypatch):
    assert Path(str(presets._root())) == FOLDER
    package = tmp_path / "partgen"
    package.mkdir()
    monkeypatch.setattr(presets, "files", lambda name: tmp_path / name)
    with pytest.raises(PartgenError, match="lacks its presets"):
        presets._root()
    (package / "presets").mkdir()
    assert presets._root() == package / "presets"
