"""Bought hardware against published rows: screws, nuts, inserts, cells, plugs; all in mm.

Marks of the figures: SEEN, read in the source; SEEN-2, read on a secondary page; MEM, from memory;
CALC, worked out from the rows beside it.
"""

from math import sqrt

import pytest
from conftest import described

from partgen.describe.presets import read as preset
from partgen.paper.bill import bill
from partgen.plan.hardware import SCREWS
from partgen.plan.pivot import WASHER
from partgen.plan.train import resolve

CLEARANCE = {  # SEEN-2: ISO 273, fine, medium, coarse (engineeringhardware.com)
    "M2": (2.2, 2.4, 2.6), "M2.5": (2.7, 2.9, 3.1), "M3": (3.2, 3.4, 3.6)}
SOCKET_HEAD = {  # SEEN-2: ISO 4762, head diameter plain and knurled at most, head height (geartoolkit.com)
    "M2": (3.8, 3.98, 2.0), "M2.5": (4.5, 4.68, 2.5), "M3": (5.5, 5.68, 3.0)}
NUT = {  # SEEN-2: ISO 4032:2001 table 1, s max, s min, e min, m max (engineersedge.com, trojansf.co.uk agree)
    "M2": (4.0, 3.82, 4.32, 1.6), "M2.5": (5.0, 4.82, 5.45, 2.0), "M3": (5.5, 5.32, 6.01, 2.4)}
PILOT = {  # SEEN-2: M3 pilot hole (accu.co.uk); M2, M2.5 (creative3dp.com, listed there as outer diameter)
    "M2": 3.2, "M2.5": 3.6, "M3": 4.0}
CELL = {  # SEEN: Linden, Handbook of Batteries, table 4.9a (IEC 60086 sizes): diameter, height, least and largest
    "cell-r03": ((9.5, 10.5), (43.3, 44.5)), "cell-r6": ((13.5, 14.5), (49.2, 50.5)),
    "cell-r14": ((24.9, 26.2), (48.6, 50.0)), "cell-r20": ((32.3, 34.2), (59.5, 61.5))}


def test_every_screw_of_the_package_has_its_published_rows():
    assert set(SCREWS) == set(CLEARANCE) == set(SOCKET_HEAD) == set(NUT) == set(PILOT)


@pytest.mark.parametrize("name", SCREWS)
def test_screws_pass_holes_of_the_medium_series(name):
    screw, (fine, medium, coarse) = SCREWS[name], CLEARANCE[name]
    assert screw.name == name and f"M{screw.thread:g}" == name
    assert screw.clearance == medium and screw.thread < fine < medium < coarse


@pytest.mark.parametrize("name", SCREWS)
def test_heads(name):
    screw, (plain, knurled, height) = SCREWS[name], SOCKET_HEAD[name]
    assert (screw.head, screw.head_height) == (plain, height) and plain < knurled
    assert height == screw.thread       # SEEN-2: rule k = d
    # SEEN-2: countersunk socket head of M3, sharp cone 6.72 and 1.86, M4 8.96 and 2.48 (codecupboard.com);
    # CALC: both are 2.24 d and 0.62 d, which M2 and M2.5 go by
    assert (screw.cone, screw.cone_height) == pytest.approx((6.72 / 3 * screw.thread, 1.86 / 3 * screw.thread))
    assert (screw.cone - screw.thread) / 2 == pytest.approx(screw.cone_height)       # 90 degrees


@pytest.mark.parametrize("name", SCREWS)
def test_nuts(name):
    screw, (largest, least, corners, high) = SCREWS[name], NUT[name]
    assert (screw.nut, screw.nut_height) == (largest, high)
    assert corners == pytest.approx(1.13 * least, abs=0.005)     # CALC: what e min is made from; a misread row fails
    # CALC: sharp hexagon 2 s / sqrt(3): 4.62, 5.77, 6.35
    assert 2 * screw.nut / sqrt(3) == pytest.approx({"M2": 4.62, "M2.5": 5.77, "M3": 6.35}[name], abs=0.005)


@pytest.mark.parametrize("name", SCREWS)
def test_inserts_and_cores_of_screws(name):
    screw = SCREWS[name]
    assert screw.insert == PILOT[name]
    # MEM: ISO 261, coarse pitch; SEEN-2: core of a screw in print is its diameter less the pitch, about 0.75 d or more
    assert screw.core == pytest.approx(screw.thread - {"M2": 0.4, "M2.5": 0.45, "M3": 0.5}[name])
    assert 0.75 * screw.thread < screw.core < screw.thread


@pytest.mark.parametrize("name", SCREWS)
def test_screws_in_plastic(name):
    """SEEN-2 (pages on screws in moulded plastic): engagement 2.3 d, relief 1.05 to 1.1 d over 0.25 to 0.5 d; MEM: the
    core is 0.5 mm deeper than the screw reaches."""
    screw = SCREWS[name]
    wide, deep = screw.relief
    assert 1.05 <= wide / screw.thread <= 1.1 + 1e-9 and 0.25 <= deep / screw.thread <= 0.5
    # The cone narrows evenly: where it is as wide as the thread by similar triangles.
    assert wide - screw.loose / deep * (wide - screw.core) == pytest.approx(screw.thread)
    for clamped in (1.6, 2.4, 4.8):
        driven = screw.driven(clamped)
        assert driven.length - clamped - screw.loose >= 2.3 * screw.thread
        assert driven.core_depth == pytest.approx(driven.length - clamped + 0.5)
    long = screw.driven(22)     # 30 mm: js15 allows 0.42 mm more, from memory, and 0.1 mm are left
    assert long.length == 30 and long.core_depth == pytest.approx(8 + 0.52)


@pytest.mark.parametrize("name", SCREWS)
def test_washers_bear_the_heads(name):
    outer, thick = WASHER[name]
    # MEM: large washers, outer diameter and thickness; ISO 7093-1 begins at M3
    assert (outer, thick) == {"M2": (6.0, 0.5), "M2.5": (8.0, 0.8), "M3": (9.0, 0.8)}[name]
    assert outer > SOCKET_HEAD[name][1]


@pytest.mark.parametrize("name", SCREWS)
def test_the_bill_names_the_standard_of_every_screw_nut_and_washer(name):
    lines = bill(resolve(described(wagon=f"screw = '{name}'\nmodules = ['box']\ncups = ['tea']")))
    standards = {what: {line.standard for line in lines if line.what == what and line.size.startswith(name)}
                 for what in ("socket head screw", "countersunk screw", "nut", "washer")}
    assert standards == {
        "socket head screw": {"ISO 4762"}, "nut": {"ISO 4032"}, "washer": {"ISO 7093-1" if name == "M3" else ""},
        "countersunk screw": {"ISO 10642" if name == "M3" else "ISO 7046"}}      # MEM: ISO 10642 begins at M3


@pytest.mark.parametrize("name", CELL)
def test_cells_are_as_large_as_they_may_be(name):
    cell, (across, along) = preset("module", name), CELL[name]
    assert (cell["width"], cell["height"], cell["length"]) == (across[1], across[1], along[1])
    assert cell["battery"] is True


def test_a_holder_takes_two_of_the_largest_cells():
    holder, (across, along) = preset("module", "battery-holder-2xaa"), CELL["cell-r6"]
    assert holder["width"] >= 2 * across[1] and holder["height"] >= across[1] and holder["length"] >= along[1]


def test_protected_18650():
    # SEEN-2: bare 18.0 +/- 0.2 by 65.0 +/- 0.5 (battsysbattery.com); protected 2.5 to 3 longer, up to 0.5 wider
    # (batteries18650.com), up to 70 long (imrbatteries.com)
    cell = preset("module", "cell-18650")
    assert cell["length"] == 70.0 >= 65.5 + 3.0
    assert cell["width"] == cell["height"] == pytest.approx(18.2 + 0.5)


def test_a_charging_plug_with_its_grip_goes_in():
    opening, = preset("module", "charging-port")["looks_out"]
    size = opening["width"], opening["height"]
    for published in ((8.25, 2.40),        # SEEN-2: plug's shell, type C (ct.nl)
                      (10.0, 4.0),         # SEEN: knock-out for it (OpenAT Design Guide)
                      (12.0, 6.0),         # SEEN: its keep-out for the grip (the same)
                      (12.35, 6.5)):       # MEM: largest grip by the connector's standard
        assert all(have > need for have, need in zip(size, published, strict=True))
