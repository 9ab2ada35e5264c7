"""Cautions: each where it applies and nowhere else, with the figures of this train."""

import re

from conftest import bare
from loops import planned

from partgen.describe.load import loads
from partgen.dynamics import ride as rides
from partgen.paper.assembly import told
from partgen.paper.bill import bill
from partgen.paper.cautions import cautions
from partgen.plan.train import resolve


def said(**lines):
    return dict(cautions(planned(**lines)))


def test_magnets_are_named_with_their_flux_index():
    """16 CFR 1262: 50 kG2 mm2. A 6 mm x 3 mm magnet of 1.2 T has 0.3735 T on its axis 0.38 mm off the pole, by the
    axis formula worked by hand: 0.6 (3.38/4.519 - 0.38/3.024) = 0.3734 T; 3.734^2 x 28.27 = 394."""
    text = said()["Small strong magnets"]
    assert "Each magnet" in text and "about 394 kG2 mm2; from 50" in text


def test_what_is_not_there_is_not_warned_of():
    assert set(said()) == {"Small strong magnets", "Before guests come"}
    cold = said(wagon="cups = ['tea']")
    assert "Hot drinks" not in cold and "not food-safe" in cold["Cups and glass"]


def test_printed_wheels_are_told_to_wear_only_where_they_run():
    text = said(wheelset="printed = true")["Printed wheels"]
    assert "out of round by more than 0.2 mm" in text and "once 0.3 mm are gone" in text


def test_hot_drinks_are_named_with_fill_and_speed():
    text = said(wagon="cups = ['tea']", cup="hot = true", ride="[ride]\nspeed = 180")["Hot drinks"]
    # 60 mm high on a floor of 2.5 mm, 40 mm deep; 18 mm would be half a millimetre more room than there is, 17 too full
    assert "40 mm deep, 17.5 mm below the rim" in text and "180 mm/s at most" in text and "near 60 degrees C" in text


def test_mark_of_a_hot_drink_is_never_rounded_towards_the_rim():
    toml = bare(wagon="cups = ['tea']", cup="hot = true").replace("fill = 40", "fill = 39.96")   # 17.54 mm left
    assert "17.6 mm below the rim" in dict(cautions(rides.resolve(resolve(loads(toml)))))["Hot drinks"]


BEND = "plan = [{ go = 'straight', length = 1500 }, { go = 'left', radius = 320, angle = 90 },\n" \
       "        { go = 'straight', length = 1500 }]"


def too_full(fill=44):
    return planned(track=BEND, wagon="cups = ['espresso']",
                   ride="[ride]\nspeed = 500.06\nstop_time = 1.2\nstart_time = 2",
                   cup=f"[cup.espresso]\nuse = 'espresso-cup'\nfill = {fill}")


def test_a_hot_drink_that_is_described_too_full_is_told_as_the_ride_bears_it():
    """As on the card: the level that stays in, the speed that is run and the slower one of the bend, never what is
    described."""
    ride, text = too_full(), dict(cautions(too_full()))["Hot drinks"]
    [cup], [curve] = ride.cups, ride.curves
    assert 0 < cup.level < 40 and curve.speed < 450
    assert f"{cup.level:g} mm deep" in text and "not 44 mm as described" in text and "Fill no more than" in text
    mark, = re.findall(r"([\d.]+) mm below the rim", text)
    assert cup.liquid.rim - cup.level <= float(mark) < cup.liquid.rim - cup.level + 0.1
    assert f"{int(ride.speed)} mm/s at most, {int(curve.speed)} mm/s on radius 320" in text and "500.06" not in text


def test_a_fill_gauge_that_stands_too_high_for_the_ride_is_told_of():
    """The gauge is printed for the depth described: its step tells the depth that stays in instead, and none is to be
    marked by it; at the depth told it is hung again."""
    ride = too_full()
    [cup], step = ride.cups, next(step for step in told(ride) if step.title == "Fill marks on the cups")
    assert "gauge for espresso cup stands too high" in step.text and "make no mark by it" in step.text
    assert f"{cup.level:g} mm deep" in step.text and "Hang" not in step.text
    mark, = re.findall(r"water up to ([\d.]+) mm below", step.text)
    assert cup.liquid.rim - float(mark) <= cup.safe
    mended = next(step for step in told(too_full(cup.level)) if step.title == "Fill marks on the cups").text
    assert "Hang the gauge over the rim of espresso cup" in mended and "too high" not in mended


def test_batteries_are_named_with_their_energy_and_a_fuse():
    text = said(wagon="modules = ['box']", module="battery = true",
                ride="[supply]\ncapacity = 5000\ncell_voltage = 3.7\nload_current = 0.6")["Batteries"]
    assert text.startswith("18.5 Wh") and "fuse the supply at 1.2 A" in text and "never bare lithium cells" in text


def test_dry_cells_have_words_of_their_own():
    """Common practice, no source: one kind, right way round, never charged unless made for it."""
    cells = {"wagon": "modules = ['box']", "module": "battery = true\ndry = true"}
    found = said(**cells)
    assert "Batteries" not in found and "lithium" not in found["Dry cells"]
    for words in ("the right way round", "none mixed", "Never charge them, unless", "fuse the supply at 2 A"):
        assert words in found["Dry cells"]
    line, = (line for line in bill(planned(**cells).train) if line.use.startswith("inside"))
    assert "bare cells" not in line.use and "one kind and age" in line.use
    assert "Dry cells" not in said(**cells | {"module": "battery = true"})
