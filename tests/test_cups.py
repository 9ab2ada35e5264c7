"""What is in a cup and by what its seat holds it: stemmed and thick-footed glasses, and all ways to tell how full.

Volumes by scipy's quadrature; invented glasses after common practice.
"""

from math import atan, hypot, pi, radians, tan

import numpy as np
import pytest
from conftest import described
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.integrate import quad
from teas import teas

from partgen.checks.drinks import spill_curve
from partgen.cli import ride_tables, show
from partgen.describe.load import loads
from partgen.dynamics import ride as rides
from partgen.dynamics.liquids import liquid_of
from partgen.dynamics.ramps import rates
from partgen.dynamics.stability import in_seats, sideways
from partgen.errors import DescriptionError
from partgen.paper.assembly import steps
from partgen.paper.bill import bill
from partgen.paper.cautions import cautions
from partgen.paper.sizes import sizes
from partgen.plan.deck.cups import dry_centre, liquid_centre, liquid_mass
from partgen.plan.train import resolve
from partgen.remedies.levers import levers

G = 9806.65
STEMMED = """label = 'wine glass'
profile = [[0, 64], [3, 62], [7, 9], [70, 8], [78, 24], [95, 56], [115, 64], [150, 54]]
mass = 120
wall = 1.2
"""
STRAIGHT = "label = 'tumbler'\nprofile = [[0, 60], [90, 60]]\nmass = 200\nwall = 2\n"


def cup(lines):
    return described(wagon="cups = ['glass']", cup=f"[cup.glass]\n{lines}").cup["glass"]


def faults(lines):
    with pytest.raises(DescriptionError) as caught:
        cup(lines)
    return {fault.path.removeprefix("cup.glass."): fault.message for fault in caught.value.faults}


def held(pairs, low, high, k=0):
    """Volume [mm3], or its first moment about the table, of a turned hollow between two heights."""
    at, wide = np.transpose(pairs)
    inner = [h for h in at if low < h < high]
    return quad(lambda h: pi / 4 * np.interp(h, at, wide)**2 * h**k, low, high, points=inner, limit=200)[0]


# ---- the inside

def test_a_stemmed_glass_is_filled_in_its_bowl():
    """40 mm of wine are 70 g in the bowl, not 12 g in foot and stem."""
    glass = cup(STEMMED + "inner_floor = 77\nfill = 40")
    bowl = [(77, 8 + 7 / 8 * 16 - 2.4), (78, 21.6), (95, 53.6), (115, 61.6), (150, 51.6)]
    assert np.array(glass.inside) == pytest.approx(np.array(bowl))
    assert liquid_mass(glass) == pytest.approx(held(bowl, 77, 117) / 1000, rel=1e-6)
    assert 65 < liquid_mass(glass) < 80
    assert liquid_centre(glass) == pytest.approx(held(bowl, 77, 117, 1) / held(bowl, 77, 117), rel=1e-6)
    assert glass.freeboard == 33 and glass.stem == 8
    liquid = liquid_of("glass", glass)
    assert (liquid.rim, liquid.freeboard) == (73, 33)
    assert liquid.radius == pytest.approx(np.interp(117, *np.transpose(bowl)) / 2)
    solid = [held(glass.profile, 0, 150, k) - held(bowl, 77, 150, k) for k in (0, 1)]
    assert dry_centre(glass) == pytest.approx(solid[1] / solid[0], rel=1e-6), "its stem is solid"


def test_a_stem_asks_where_the_inside_begins():
    assert "stem of 8 mm" in faults(STEMMED)["inner_floor"]
    assert cup(STRAIGHT.replace("[90, 60]", "[45, 36], [90, 60]")).stem is None, "a waist is filled"


@pytest.mark.parametrize("floor, hollow", [(2.0, False), (9.0, True)])
def test_under_its_inside_a_cup_is_taken_as_whichever_puts_its_weight_higher(floor, hollow):
    """A tumbler 60 mm wide, 90 mm high, wall 2 mm, by cylinders: hollow it has rings below its floor of 2 mm."""
    found = dry_centre(cup(f"{STRAIGHT}inner_floor = {floor}\nfill = 20"))
    parts = [(60**2 * 90, 45), (-56**2 * (90 - floor), (90 + floor) / 2)]
    parts += [(-56**2 * (floor - 2), (floor - 2) / 2)] * hollow
    assert found == pytest.approx(sum(v * z for v, z in parts) / sum(v for v, _ in parts))


def test_a_double_wall_is_given_by_its_inner_shape():
    double = cup(f"{STRAIGHT}inner = [[12, 40], [90, 52]]\nfill = 30".replace("wall = 2\n", ""))
    assert (double.floor, double.freeboard) == (12, 48)
    assert liquid_mass(double) == pytest.approx(held([(12, 40), (90, 52)], 12, 42) / 1000)


# ---- how full

@settings(max_examples=40)
@given(st.floats(20, 150), st.floats(0.8, 1.2), st.sampled_from(["volume", "full_mass"]))
def test_volume_and_full_mass_tell_the_depth(poured, density, told):
    """56 mm wide inside: depth is volume over area, a mass more by density."""
    value = poured if told == "volume" else 200 + poured * density
    found = cup(f"{STRAIGHT}density = {density}\n{told} = {value}")
    assert found.fill == pytest.approx(poured * 1000 / (pi / 4 * 56**2), abs=0.1)
    assert liquid_mass(found) == pytest.approx(poured * density, rel=0.02)


@pytest.mark.parametrize("lines, field, words", [
    ("fill = 40\nvolume = 150", "volume", "comes to a depth of 60.9 mm inside, but fill is 40 mm"),
    ("volume = 100\nfull_mass = 350", "full_mass|volume", "give one of them"),
    ("full_mass = 190", "full_mass", "under the empty cup's 200 g"),
    ("full_mass = 600", "full_mass", "the cup holds 216.7 ml"),
    ("inner_floor = 90", "inner_floor", "no inside in a cup 90 mm high"),
    ("inner = [[12, 40], [90, 56]]\ninner_floor = 20", "inner_floor", "inner begins at 12 mm"),
    ("inner = [[12, 40], [90, 52]]", "wall", "inner leaves 4 mm at the rim"),
    ("inner = [[12, 61], [90, 56]]", "inner", "60 mm across outside"),
    ("inner = [[12, 40], [80, 56]]", "inner", "inner ends at 80 mm"),
    ("inner = [[12, 56]]", "inner", "two pairs"),
    ("inner_floor = 60\nfill = 35", "fill", "over the 30 mm")])
def test_what_is_told_twice_must_agree(lines, field, words):
    found = faults(STRAIGHT + lines)
    assert set(found) <= set(field.split("|")) and all(words in message for message in found.values()), found


def test_what_agrees_within_a_ruler_and_a_kitchen_scale_is_taken():
    """100 ml are 40.6 mm."""
    assert cup(f"{STRAIGHT}fill = 39\nvolume = 100\nfull_mass = 300").fill == 39


def test_a_file_may_tell_the_fill_otherwise_than_its_preset():
    text = ("title = 'x'\n[track]\nuse = 'toy-37.5'\n[wheelset.standard]\nuse = 'toy-37.5'\n"
            "[cup.one]\nuse = 'tea-glass'\nvolume = 60\n[cup.two]\nuse = 'wine-glass'\nfill = 30\n"
            "[[wagon]]\nname = 'a'\nwheelbase = 70\n")
    cups = loads(text).cup
    assert liquid_mass(cups["one"]) == pytest.approx(60, abs=0.3)
    assert (cups["two"].fill, cups["two"].volume) == (30, None)


# ---- what holds it

def test_a_seat_holds_a_stemmed_glass_by_its_foot_alone():
    """Its foot draws in by half a millimetre more than the seat's gap 1.5 mm up: about its foot it tips, whatever
    stands round its stem, since it would lean by a third before it touched that edge."""
    profile = ((0.0, 64.0), (3.0, 62.0), (7.0, 9.0), (70.0, 8.0), (78.0, 24.0), (95.0, 56.0), (150.0, 54.0))
    made = {"profile": profile, "inner_floor": 77.0, "wall": 1.2, "mass": 120.0, "friction": 0.6}
    (_, empty), = in_seats(train := teas(cup=made | {"fill": 0.0}, ride={"joint_step": 0.0}))
    glass = train.description.cup["tea"]
    assert empty.edge == pytest.approx(1.5) and train.wagons[0].cups[0][0].height == 12.0
    hardest = hypot(sideways(train, 0.0), max(rates(train)))
    lean = radians(train.description.ride.floor_tilt) + atan(train.description.ride.gradient / 100)
    assert empty.times == pytest.approx(G * tan(atan(32.0 / dry_centre(glass)) - lean) / hardest)
    (_, full), = in_seats(teas(cup=made | {"fill": 40.0}))
    assert empty.way == full.way == "tips over the edge" and full.times < 0.7 * empty.times


def test_a_foot_thinner_than_a_millimetre_slides_over():
    profile = ((0.0, 64.0), (0.6, 62.0), (4.0, 9.0), (70.0, 8.0), (95.0, 56.0), (150.0, 54.0))
    train = teas(cup={"profile": profile, "inner_floor": 77.0, "wall": 1.2, "fill": 40.0, "friction": 0.1})
    (_, found), = in_seats(train)
    assert found.way == "climbs the wall" and found.edge < 1


def test_a_remedy_changes_the_fill_by_what_tells_it():
    """A depth beside a volume that is told would be a clash; no remedy takes more than half of the drink."""
    for told, start, least in (("fill", 70, 35), ("volume", 170, 85), ("full_mass", 290, 205)):
        lines = f"{STRAIGHT.replace('mass = 200', 'mass = 120')}{told} = {start}"
        train = resolve(described(wagon="cups = ['glass']", cup=f"[cup.glass]\n{lines}", ride="[ride]\nspeed = 900"))
        finding = next(one for one in spill_curve(train) if one.verdict == "fail")
        lever = next(levers(finding, train, train))
        assert lever.steps == ("cup", "glass", told) and lever.bound == pytest.approx(least)


def test_cups_of_one_label_are_told_apart_wherever_they_are_spoken_of(capsys):
    """Two kinds labelled alike, a third that is not: each is called by its label, the two by their names too."""
    cups = "".join(f"[cup.{name}]\nuse = 'espresso-cup'\nlabel = '{label}'\nfill = {fill}\n"
                   for name, label, fill in (("red", "mug", 24), ("blue", "Mug", 28), ("tall", "glass", 30)))
    train = resolve(described(wagon="cups = ['red', 'blue', 'tall']", cup=cups, track=(
        "plan = [{go = 'straight', length = 900}, {go = 'left', radius = 400, angle = 90}]")))
    ride = rides.resolve(train)
    ride_tables.show(ride)
    show.sizes(sizes(train))
    told = capsys.readouterr().out
    names = ["mug (red)", "Mug (blue)", "glass"]
    fills = told.split("fill marks")[1].split("where to brake, ")[0]
    assert [line.split("  ")[0] for line in fills.splitlines()[2:5]] == names
    assert all(f"1 x {name}, " in told for name in names)
    assert all(cup["mark_mm"] == round(cup["mark_mm"], 2) for cup in ride_tables.record(ride)["cups"])
    ((spills, way),) = {(curve.spills, curve.spill_way) for curve in ride.curves}
    assert spills in train.description.cup and f"  {train.description.called(spills)} {way}\n" in told
    gauges, = [step.text for step in steps(train) if step.title == "Fill marks on the cups"]
    hot = " ".join(text for _, text in cautions(ride))
    assert all(name in gauges and name in hot for name in names)
    assert [line.what for line in bill(train) if line.use == "on top"] == names
