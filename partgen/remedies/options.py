"""Choices that may clear a finding: bigger moves than one number, each as the edits that make it."""

from collections.abc import Callable, Iterator
from itertools import count
from typing import Any

from partgen.describe.faults import Steps
from partgen.describe.wagon_tables import Wagon
from partgen.finding import Finding
from partgen.identity import ModulesId
from partgen.plan.train import TrainPlan
from partgen.remedies.levers import DERIVED, looks_out, places
from partgen.remedies.track_options import Move, as_it_crosses, closing, off_the_crossing

Moves = Callable[[Finding, TrainPlan], Iterator[Move]]

SHARES = (0.6, 0.5, 0.7, 0.4)       # of a body's length between the pivots of bogies, tried in this order
BESIDE_WHEELS = 6.0                 # mm of a bogie's wheelbase over its flanges
LONGEST_NAME = 30


def options(finding: Finding, train: TrainPlan) -> Iterator[Move]:
    """Yield the moves that may clear a finding of a train, in the order to try them in."""
    for moves in OPTIONS.get(finding.check, ()):
        yield from moves(finding, train)


def _wagons(finding: Finding, train: TrainPlan) -> Iterator[tuple[Steps, Wagon]]:
    """Yield where the wagons stand that a finding is about, and the wagons."""
    return ((steps, train.description.wagon[int(steps[1])]) for steps in places("wagon", finding, train))


def sizes_left_out(finding: Finding, train: TrainPlan) -> Iterator[Move]:
    """Let the load set a size of the body, or all."""
    for steps, wagon in _wagons(finding, train):
        given = [name for name in DERIVED if getattr(wagon, name) is not None]
        yield from ((((*steps, name), None),) for name in given)
        if len(given) > 1:
            yield tuple(((*steps, name), None) for name in given)


def bogies(finding: Finding, train: TrainPlan) -> Iterator[Move]:
    """Set a two-axle wagon on bogies."""
    for steps, wagon in _wagons(finding, train):
        if wagon.pivot_spacing is None:
            plan = next(plan for plan in train.wagons if plan.name == wagon.name)
            base = float(round(plan.wheelset.flange_diameter + BESIDE_WHEELS))
            yield from ((((*steps, "wheelbase"), base), ((*steps, "pivot_spacing"), float(round(share * plan.length))))
                        for share in SHARES)


def on_bogies(finding: Finding, train: TrainPlan) -> Iterator[Move]:
    """Let the couplers turn on the bogies, of a two-axle wagon once it has some; of all wagons that it is about where
    there are several."""
    there = [((*steps, "coupler_on"), "bogie") for steps, wagon in _wagons(finding, train)
             if wagon.pivot_spacing is not None and wagon.coupler_on == "body"]
    yield from ((one,) for one in there)
    if len(there) > 1:
        yield tuple(there)
    for move in bogies(finding, train):
        yield *move, ((*move[0][0][:2], "coupler_on"), "bogie")


def fewer_cups(finding: Finding, train: TrainPlan) -> Iterator[Move]:
    """Take one cup off, of each kind in turn; one stays, else the wagon would be there for nothing."""
    for steps, wagon in _wagons(finding, train):
        for place in {cup: place for place, cup in enumerate(wagon.cups)}.values() if len(wagon.cups) > 1 else ():
            yield ((*steps, "cups"), wagon.cups[:place] + wagon.cups[place + 1:]),


def other_deck(finding: Finding, train: TrainPlan) -> Iterator[Move]:
    """Set all cups of a wagon that carries modules too on another that carries cups."""
    for steps, wagon in _wagons(finding, train):
        gone = tuple(((*steps, name), none) for name, none in (("inserts", ()), ("columns", 0)) if getattr(wagon, name))
        for place, other in enumerate(train.description.wagon):
            if wagon.cups and wagon.modules and other is not wagon and other.cups:
                carried = (*other.inserts, *(name for name in wagon.inserts if name not in other.inserts))
                both = (("cups", (*other.cups, *wagon.cups)), ("inserts", carried))
                yield (((*steps, "cups"), ()), *gone, *((("wagon", place, name), value) for name, value in both
                                                        if value != getattr(other, name)))


def no_insert(finding: Finding, train: TrainPlan) -> Iterator[Move]:
    """Take one insert out."""
    for steps, wagon in _wagons(finding, train):
        yield from ((((*steps, "inserts"), tuple(name for name in wagon.inserts if name != one)),)
                    for one in wagon.inserts)


def other_wagon(finding: Finding, train: TrainPlan) -> Iterator[Move]:
    """Move modules to another wagon, with all that wires join them to: no wire is cut."""
    who = finding.subject
    for steps, wagon in _wagons(finding, train):
        meant = set(who.modules if isinstance(who, ModulesId) else wagon.modules)
        for group in [group for group in _groups(wagon) if group & meant]:
            for place, other in enumerate(train.description.wagon):
                if other is not wagon and group.isdisjoint(other.modules):
                    yield (*_rid_of(group, steps, wagon, train), *(
                        (("wagon", place, field), (*getattr(other, field), *gone))
                        for field, gone in _of(group, wagon).items() if gone))


def _groups(wagon: Wagon) -> list[set[str]]:
    """Return the names of a wagon's modules in groups that wires join, in order of their first ones."""
    names = tuple(dict.fromkeys(wagon.modules))
    groups = [{name} for name in names]
    for pair in wagon.wires:
        joined = [group for group in groups if not group.isdisjoint(pair)]
        groups = [group for group in groups if group not in joined] + [set().union(*joined)]
    return sorted(groups, key=lambda group: min(map(names.index, group)))


def _of(group: set[str], wagon: Wagon) -> dict[str, tuple[Any, ...]]:
    """Return by field what a wagon says of a group of its modules."""
    return {"modules": tuple(name for name in wagon.modules if name in group),
            "wires": tuple(pair for pair in wagon.wires if group.issuperset(pair)),
            "at": tuple(pair for pair in wagon.at if pair[0] in group)}


def orders(finding: Finding, train: TrainPlan) -> Iterator[Move]:
    """Move a wagon that a finding is about to each other place in the train."""
    names = [plan.name for plan in train.wagons]
    for name in finding.subject.wagons:
        rest = [one for one in names if one != name]
        for place in reversed(range(len(names))):
            if place != names.index(name):
                yield (("train", "order"), (*rest[:place], name, *rest[place:])),


def look_aside(finding: Finding, train: TrainPlan) -> Iterator[Move]:
    """Let what looks up look out at a side."""
    for steps in places("module", finding, train):
        module = train.description.module[str(steps[1])]
        ups = [place for place, one in zip(looks_out(module, str(steps[1])), module.looks_out, strict=True)
               if one.side == "top"]
        for side in ("left", "right", "front", "back") if ups else ():
            yield tuple(((*place, "side"), side) for place in ups)


def one_module_less(finding: Finding, train: TrainPlan) -> Iterator[Move]:
    """Take one module out, but none through which others are joined."""
    for steps, wagon in _wagons(finding, train):
        for name in dict.fromkeys(wagon.modules) if len(wagon.modules) > 1 else ():
            less = tuple(_without(name, steps, wagon, train))
            left = wagon.model_copy(update={str(place[-1]): value for place, value in less})
            if len(_groups(left)) <= len(_groups(wagon)):
                yield less


def _without(name: str, steps: Steps, wagon: Wagon, train: TrainPlan) -> Iterator[tuple[Steps, Any]]:
    """Yield the edits that take one module out of a wagon, and with the last of its name what the wagon says of it."""
    place = wagon.modules.index(name)
    stay = wagon.modules[:place] + wagon.modules[place + 1:]
    yield (*steps, "modules"), stay
    wires = tuple(pair for pair in wagon.wires if name not in pair or name in stay)
    lie = tuple(pair for pair in wagon.at if pair[0] != name or name in stay)
    yield from (((*steps, field), kept) for field, kept in (("wires", wires), ("at", lie))
                if kept != getattr(wagon, field))
    if wagon.sensor_station is not None and sum(train.description.module[one].looks_down for one in stay) != 1:
        yield (*steps, "sensor_station"), None


def split(finding: Finding, train: TrainPlan) -> Iterator[Move]:
    """Make two wagons of one: half of its cups, all of them, or half of its modules, no wire cut, go on a wagon of
    their own."""
    for steps, wagon in _wagons(finding, train):
        half = wagon.cups[(len(wagon.cups) + 1) // 2:]
        for cups in filter(None, dict.fromkeys((half, wagon.cups if wagon.modules else ()))):
            stay = wagon.cups[:len(wagon.cups) - len(cups)]
            alone = () if stay else (("inserts", ()), ("columns", 0))
            yield (((*steps, "cups"), stay), *(((*steps, name), none) for name, none in alone if getattr(wagon, name)),
                   *_new(wagon, train, cups=cups, inserts=() if stay else wagon.inserts))
        groups = _groups(wagon)
        if go := set().union(*groups[(len(groups) + 1) // 2:]):
            yield (*_rid_of(go, steps, wagon, train), *_new(wagon, train, **_of(go, wagon)))


def _rid_of(names: set[str], steps: Steps, wagon: Wagon, train: TrainPlan) -> Move:
    """Return the edits that take all modules of some names out of a wagon."""
    edits: dict[Steps, Any] = {}
    while going := [name for name in wagon.modules if name in names]:
        more = dict(_without(going[0], steps, wagon, train))
        edits |= more
        wagon = wagon.model_copy(update={str(place[-1]): value for place, value in more.items()})
    return tuple(edits.items())


ALONE = ("name", "cups", "inserts", "columns", "modules", "wires", "at", "sensor_station", "plate", "plate_print",
         "length", "height", "ballast", "lights")
"""What a wagon's description says of it alone: a wagon split off it takes the rest over."""


def _new(wagon: Wagon, train: TrainPlan, **cargo: Any) -> Iterator[tuple[Steps, Any]]:
    """Yield the edits that add a wagon like another with a cargo of its own, behind it where the train has an order."""
    taken = {one.name for one in train.description.wagon}
    names = (f"{wagon.name[:LONGEST_NAME - 4]} {number}" for number in count(2))
    name = next(name for name in names if name not in taken)
    alike = {key: value for key, value in wagon.model_dump(mode="json", exclude_unset=True).items() if key not in ALONE}
    yield ("wagon", len(train.description.wagon)), {
        "name": name, **alike, **{key: list(map(_listed, value)) for key, value in cargo.items() if value}}
    if order := train.description.train.order:
        place = order.index(wagon.name) + 1
        yield ("train", "order"), (*order[:place], name, *order[place:])


def _listed(entry: Any) -> Any:
    return list(entry) if isinstance(entry, tuple) else entry


def no_station(finding: Finding, train: TrainPlan) -> Iterator[Move]:
    """Let the window of the track sensor lie anywhere."""
    yield from ((((*steps, "sensor_station"), None),) for steps, wagon in _wagons(finding, train)
                if wagon.sensor_station is not None)


def lamps(finding: Finding, train: TrainPlan) -> Iterator[Move]:
    """Put single lamps under the lid's edge in place of a light strip."""
    yield from ((((*steps, "lights"), "lamps"),) for steps, wagon in _wagons(finding, train) if wagon.lights == "strip")


def levels(finding: Finding, train: TrainPlan) -> Iterator[Move]:
    """Lay modules on one level more, or fewer."""
    yield from ((((*steps, "levels"), 3 - wagon.levels),) for steps, wagon in _wagons(finding, train))


def columns(finding: Finding, train: TrainPlan) -> Iterator[Move]:
    """Set the cups in other columns."""
    for steps, wagon in _wagons(finding, train):
        if wagon.cups:
            yield from ((((*steps, "columns"), count),) for count in (2, 1, 3, 0) if count != wagon.columns)


def choose(kind: str, name: str, *values: Any) -> Moves:
    """Return moves that set one field of the tables of a `kind` that a finding is about to each of `values`."""
    def moves(finding: Finding, train: TrainPlan) -> Iterator[Move]:
        for steps in places(kind, finding, train):
            yield from ((((*steps, name), value),) for value in values)
    return moves


def as_the_locomotive(finding: Finding, train: TrainPlan) -> Iterator[Move]:
    """Set the couplers as high as the locomotive's own."""
    if (own := train.description.train.locomotive.coupler_height) is not None:
        yield (("coupler", "height"), own),


def no_adaptor(finding: Finding, train: TrainPlan) -> Iterator[Move]:
    """Make the locomotive's half of the coupler by hand."""
    yield (("train", "locomotive", "adaptor"), None),


def shorter_plate(finding: Finding, train: TrainPlan) -> Iterator[Move]:
    """Letter the plate with the beginning of its text, or leave it out."""
    for steps, wagon in _wagons(finding, train):
        starts = dict.fromkeys(wagon.plate[:count].rstrip() for count in range(len(wagon.plate) - 1, 0, -1))
        yield from ((((*steps, "plate"), start),) for start in starts)
        apart = ((((*steps, "plate_print"), "on-wall"),) if wagon.plate_print == "apart" else ())
        yield (((*steps, "plate"), ""), *apart)


BODY = (sizes_left_out, levels, columns)
LOAD = (fewer_cups, orders, other_deck, split)
LOWER = (levels, sizes_left_out, other_wagon)
OPTIONS: dict[str, tuple[Moves, ...]] = {
    "track-plan": (closing, as_it_crosses, off_the_crossing),
    "wheelbase": (bogies,), "attack-angle": (bogies,), "twist": (bogies,),
    "inner-throw": (sizes_left_out, bogies, levels, columns, fewer_cups, other_wagon, split),
    "outer-throw": (sizes_left_out, bogies, levels, columns, fewer_cups, other_wagon, split),
    "obstacle": (sizes_left_out, bogies, levels, columns, split),
    "passing": (sizes_left_out, levels, columns, split),
    "coupler-swing": (on_bogies, bogies, sizes_left_out, split),
    "body-gap": (on_bogies, bogies, sizes_left_out, split),
    "coupler-height": (as_the_locomotive, choose("wagon", "screw", "M2.5", "M2")),
    "adaptor": (choose("adaptor", "mount", "glue", "screws", "tape"), choose("wagon", "screw", "M2.5", "M2"),
                choose("coupler", "layout", "single"), no_adaptor),
    "ballast": (choose("wagon", "ballast_of", "shot", "nuts"), sizes_left_out),
    "string-line": (orders, fewer_cups),
    "coupler-pull": (orders, fewer_cups, choose("coupler", "layout", "pair")),
    "adhesion": (fewer_cups,),
    "axle-load": (sizes_left_out, fewer_cups, other_wagon, split, columns),
    "tip-curve": (*LOAD, *LOWER), "tip-stop": (*LOAD, *LOWER), "tip-standing": (*LOAD, *LOWER, columns),
    "cup-hold": (fewer_cups,), "handle-room": (columns, fewer_cups),
    "spill-curve": (fewer_cups,), "spill-stop": (choose("ride", "ramp", "shaped"), fewer_cups),
    "wheel-room": (sizes_left_out, choose("wagon", "screw", "M2.5", "M2")),
    "module-fit": (*BODY, no_station, lamps, no_insert, fewer_cups, other_wagon, split, one_module_less),
    "opening": (sizes_left_out, choose("lookout", "panel", 0.0)),
    "reach": (levels, choose("module", "lies_on_top", False), other_wagon),
    "warm-module": (sizes_left_out, other_wagon, split),
    "drip-path": (look_aside, other_wagon),
    "snap-strain": (choose("printer", "material", "PETG", "PLA"), sizes_left_out, no_insert),
    "snap-force": (choose("printer", "material", "PLA", "PETG"), choose("wheelset", "ends", "plain"),
                   sizes_left_out, no_insert),
    "grip": (choose("wagon", "screw", "M2.5", "M2"), choose("module", "standoff", 0.0)),
    "mount-fit": (choose("module", "mount", "tape", "strap", "lip", "bosses"),
                  choose("module", "lies_on_top", False)),
    "name-plate": (choose("wagon", "plate_print", "on-wall"), shorter_plate, choose("wagon", "sides", "plain")),
    "bed": (sizes_left_out, levels, columns, bogies, fewer_cups, other_wagon, split),
    "wall": (choose("wagon", "screw", "M3", "M2.5"),),
    "sensor-gap": (),
    "wire-way": (choose("cable", "plug", ()), sizes_left_out), "wire-slack": (orders, sizes_left_out),
}
"""By check: the moves that may clear it, the one that a maker would rather make first."""
