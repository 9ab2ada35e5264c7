"""Bought hardware in the loads: it weighs what handbooks say, there is as much as on the bill, and it lies in place."""

from collections import Counter
from functools import cache

import pytest
from conftest import described
from trains import random_description

from partgen.describe.load import load as read
from partgen.describe.load import loads
from partgen.describe.wagon_tables import Wheelset
from partgen.dynamics.load_states import unladen
from partgen.paper.bill import bought
from partgen.plan.fasteners import Fastener, fasteners
from partgen.plan.hardware import SCREWS
from partgen.plan.mass import loads as masses
from partgen.plan.small_things import hardware, nut_mass, screw_mass, washer_mass, wiring
from partgen.plan.train import resolve
from partgen.plan.wheel import bearing_mass

SOCKET_HEAD = {"M3": {8: 0.80, 10: 0.88, 12: 0.96, 16: 1.16, 20: 1.36}, "M2.5": {6: 0.405, 8: 0.465, 10: 0.525}}
COUNTERSUNK = {"M3": {8: 0.47, 10: 0.55, 12: 0.62, 16: 0.77}}
NUT = {"M2": 0.142, "M2.5": 0.28, "M3": 0.384}
"""Mass of a thousand [kg], as handbooks print it for steel (from memory)."""
LIGHT = {"terminal", "self-adhesive felt", "cable tie", "end of a lead", "steel rod, round and straight",
         "rubber ring", "wheelset"}
"""On the bill of a wagon from shelves that are weighed, but no hardware: too light, or weighed with the wheels."""
WEIGHED = ("wheels", "fasteners", "magnets", "sheets", "mounts")
KINDS = {
    "strip": {"wagon": 'modules = ["box"]\nlights = "strip"', "wheelset": 'ends = "bearing"'},
    "lamps": {"wagon": 'modules = ["box"]\nlights = "lamps"\nscrew = "M2"', "wheelset": 'ends = "tube"'},
    "printed": {"wagon": 'cups = ["tea"]', "wheelset": 'ends = "bearing"\nprinted = true\nring = 1.0'},
}


def driven(name, length, sunk=False, **more):
    return Fastener("it", SCREWS[name], length, 0.0, 0.0, 0.0, 5.0, 5.0, 1.0, sunk=sunk, **more)


@pytest.mark.parametrize(("sunk", "table"), [(False, SOCKET_HEAD), (True, COUNTERSUNK)])
def test_screws_weigh_what_handbooks_say(sunk, table):
    for name, row in table.items():
        for length, mass in row.items():
            assert screw_mass(driven(name, length, sunk)) == pytest.approx(mass, rel=0.1), (name, length)


def test_nuts_washers_and_bearings_weigh_what_handbooks_say():
    """Nuts as above; a washer of 9 x 3.2 x 0.8 mm 0.345 g; ball bearings 3 x 10 x 4 1.6 g, 4 x 13 x 5 3.1 g, 8 x 22 x 7
    12 g (all from memory)."""
    for name, mass in NUT.items():
        assert nut_mass(SCREWS[name]) == pytest.approx(mass, rel=0.04)
    assert washer_mass(SCREWS["M3"]) == pytest.approx(0.345, rel=0.04)
    for bore, outer, width, mass in ((3, 10, 4, 1.6), (4, 13, 5, 3.1), (8, 22, 7, 12.0)):
        wheels = Wheelset.model_construct(axle_diameter=bore, bearing_outer=outer, bearing_width=width)
        assert bearing_mass(wheels) == pytest.approx(mass, rel=0.08)


def test_an_open_wagon_by_hand():
    """The demo's cups wagon: each screw of the bill times its mass in the handbook, nuts and washers, and four discs of
    6 x 3 mm at 7.5 g/cm3: 0.64 g each."""
    train = resolve(read("presets/reading-room.toml"))
    plan = next(plan for plan in train.wagons if plan.name == "cups")
    table = {False: SOCKET_HEAD["M3"], True: COUNTERSUNK["M3"]}
    by_hand = sum(table[one.sunk][one.length] for one in fasteners(plan)) + 4 * 0.384 + 2 * 0.345 + 4 * 0.636
    assert sum(mass for _, mass, _ in hardware(plan)) == pytest.approx(by_hand, rel=0.05)
    assert 10 < by_hand < 15


def counted(plan):
    """What the bill of a wagon has of things that are hardware or wiring, by name."""
    on_bill = Counter()
    for line in bought(plan):
        if line.shelf in WEIGHED or line.what in ("fuse in a holder", "lamp, low voltage"):
            on_bill[line.what] += line.count
    return Counter({what: count for what, count in on_bill.items() if what not in LIGHT})


@cache
def drawn(seed):
    return resolve(loads(random_description(seed))).wagons


@pytest.mark.parametrize("seed", range(10))
def test_there_is_as_much_as_on_the_bill(seed):
    for plan in drawn(seed):
        assert Counter(name for name, *_ in (*hardware(plan), *wiring(plan))) == counted(plan)


@pytest.mark.parametrize("kind", KINDS)
def test_so_there_is_of_rarer_things(kind):
    plan, = resolve(described(**KINDS[kind])).wagons
    found = Counter(name for name, *_ in (*hardware(plan), *wiring(plan)))
    assert found == counted(plan)
    rare = {"strip": {"light strip, low voltage": 2, "ball bearing": 4, "shim ring": 4}, "lamps": {"metal tube": 2},
            "printed": {"ball bearing": 4, "shim ring": 0}}[kind]
    assert {name: found[name] for name in rare} == rare and (found["lamp, low voltage"] > 0) == (kind == "lamps")


def test_screws_nuts_and_washers_lie_along_their_way():
    """Up, down and from the left: head before the place where it bears, washer and nut behind, shank on the way."""
    for plan in drawn(0):
        for one in fasteners(plan):
            axis = 1 if one.across else 2
            sense = 1 if not (one.down or one.across) else -1
            things = [thing for thing in hardware(plan)
                      if (thing[2][0], thing[2][3 - axis]) == (one.x, (one.x, one.y, one.z)[3 - axis])]
            far = {name: sense * (at[axis] - (one.x, one.y, one.z)[axis]) for name, _, at in things}
            assert 0 < far[one.called] < one.length / 2
            assert not one.washer or 0 < far["washer"] < 1
            assert not one.nut or one.to_nut < far["nut"] < one.to_nut + one.screw.nut_height


def test_it_stands_within_the_wagon_and_counts_in_every_load_state():
    plan = next(plan for plan in resolve(read("presets/reading-room.toml")).wagons if plan.name == "pantry")
    printer = read("presets/reading-room.toml").printer
    found = [load for load in masses(plan, printer) if load.kind in ("hardware", "wiring")]
    reach = plan.frame.seats[0].x + plan.coupling.front.reach
    for load in found:
        assert abs(load.x) < reach and abs(load.y) <= plan.width / 2 and 0 < load.z < plan.deck_z + 1, load.name
    bare = sum(load.mass for load in masses(plan, printer) if load.kind not in ("cup", "liquid"))
    assert unladen(plan, printer).bare[:, 0].sum() == pytest.approx(bare)
    magnets = [load for load in found if load.name.startswith("disc")]
    assert sum(load.x * load.mass for load in magnets) == pytest.approx(0) and len(magnets) == 4
    fuse, = (load for load in found if load.name.startswith("fuse"))
    battery = next(one for one in plan.layout.placed if one.module.battery)
    assert (fuse.x, fuse.y) == (battery.x, battery.y)
