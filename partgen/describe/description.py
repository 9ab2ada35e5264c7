"""The whole description, and the rules that hold between its tables."""

from collections import Counter
from collections.abc import Collection, Iterable, Mapping
from math import ceil, floor, hypot, inf, sqrt
from typing import Self, TypedDict

from pydantic import field_validator

from partgen.describe.cable_table import MOTOR, RAILS, Cable, End
from partgen.describe.cargo_tables import Module
from partgen.describe.cup_table import Cup
from partgen.describe.field import SLACK, Clashes, Table, choice, listing, text
from partgen.describe.printer_tables import Printer
from partgen.describe.track_tables import Track
from partgen.describe.train_tables import Coupler, Ride, Supply, Train
from partgen.describe.wagon_tables import Wagon, Wheelset
from partgen.describe.wording import did_you_mean, path_text, stands, unseen
from partgen.identity import LOCOMOTIVE, TRACK

NAMED: dict[str, type[Table]] = {"wheelset": Wheelset, "module": Module, "cup": Cup}
LISTED: dict[str, type[Table]] = {"wagon": Wagon, "cable": Cable}
KINDS: dict[str, type[Table]] = {"track": Track, "train": Train, "coupler": Coupler, "ride": Ride, "supply": Supply,
                                 "printer": Printer, **NAMED, **LISTED}

OURS = ("locomotive", "track", "train")   # what no wagon may be called: nobody could tell who is meant
BOGIE_GAP = 4.0     # mm between two bogies' wheels on straight track: room to swing


class Description(Table):
    """A train: everything measured or wished, nothing worked out; but cups of one label get their names behind it."""

    title: str = text("My train", "a title; the output folder is named after it", "your own words", longest=60)
    invented: bool = choice(False, "are the figures made up? The report says so", "false as soon as you have measured")
    track: Track
    wheelset: dict[str, Wheelset] = listing(..., "the wheelsets by name", "", shortest=1)
    train: Train = Train()
    coupler: Coupler = Coupler()
    ride: Ride = Ride()
    supply: Supply = Supply()
    printer: Printer = Printer()
    module: dict[str, Module] = listing({}, "the pieces of electronics by name", "")
    cup: dict[str, Cup] = listing({}, "the cups by name", "")
    wagon: tuple[Wagon, ...] = listing(..., "the wagons, front to back", "", shortest=1, longest=60)
    cable: tuple[Cable, ...] = listing((), "cables between any two ends of the train", "", longest=60)

    @field_validator("cup")
    @classmethod
    def _told_apart(cls, cups: dict[str, Cup]) -> dict[str, Cup]:
        """Give every cup a label that is its own, by which it is called wherever cups are spoken of."""
        often = Counter(cup.label.casefold() for cup in cups.values())
        return {name: cup if often[cup.label.casefold()] == 1 else
                cup.model_copy(update={"label": f"{cup.label} ({name})"}) for name, cup in cups.items()}

    @property
    def load_current(self) -> float:
        """Mean current behind the converter [A]: of all modules that ride and give one, else the supply's; where only
        some do, the larger of both."""
        given = sum(module.current or 0.0 for module in self._fed) / 1000
        return given if self.currents_given else max(given, self.supply.load_current)

    @property
    def currents_given(self) -> bool:
        """Does every module that rides tell what it takes, so that the supply's current is not asked for?"""
        return any(module.current for module in self._fed) and all(module.current is not None for module in self._fed)

    @property
    def _fed(self) -> list[Module]:
        """What rides and is no battery."""
        return [self.module[name] for wagon in self.wagon for name in wagon.modules if not self.module[name].battery]

    def called(self, who: str) -> str:
        """Return what the cup of that name is called; any other who as it is."""
        return self.cup[who].label if who in self.cup else who

    @property
    def joint_step(self) -> float:
        """Highest step at a joint of the rails [mm]; 0 on a track without joints."""
        return self.ride.joint_step if self.track.joint_spacing else 0.0

    def with_only(self, wagons: Collection[str]) -> Self:
        """Return the train with only those of its wagons, by name, in the order that they have."""
        order = tuple(name for name in self.train.order if name in wagons)
        cables = tuple(cable for cable in self.cable
                       if all(end.outside or end.place in wagons for end in cable.ends))
        return self.model_copy(update={"train": self.train.model_copy(update={"order": order}), "cable": cables,
                                       "wagon": tuple(wagon for wagon in self.wagon if wagon.name in wagons)})


class Known(TypedDict, total=False):
    """Tables by their kind, each as it stands in a Description; what is missing or faulty in itself is None."""

    title: str | None
    track: Track | None
    wheelset: Mapping[str, Wheelset | None] | None
    train: Train | None
    coupler: Coupler | None
    ride: Ride | None
    supply: Supply | None
    printer: Printer | None
    module: Mapping[str, Module | None] | None
    cup: Mapping[str, Cup | None] | None
    wagon: tuple[Wagon | None, ...] | None
    cable: tuple[Cable | None, ...] | None


def between(tables: Known) -> Clashes:
    """Yield the path and a message for values that clash between tables; rules on what is not known are skipped."""
    yield from _title(tables.get("title"))
    yield from _wheels_on_track(tables)
    yield from _wagons(tables)
    yield from _order(tables)
    yield from _cables(tables)


def _title(title: str | None) -> Clashes:
    if title and (hidden := unseen(title)):
        yield "title", f"{stands('title', title)} {hidden}"
    elif title and not any(letter.isalnum() for letter in title):
        yield "title", f"title = {title!r} names the output folder: give it a letter or a digit at least"


def _wheels_on_track(tables: Known) -> Clashes:
    track = tables.get("track")
    for name, wheelset in (tables.get("wheelset") or {}).items():
        if track is None or wheelset is None:
            continue
        path, over_flanges = f"{path_text('wheelset', name)}.", wheelset.back_to_back + 2 * wheelset.flange_thickness
        if wheelset.back_to_back >= track.gauge:
            yield wheelset.amiss("back_to_back", f"is not below the gauge {track.gauge:g} mm: these wheels are for a "
                                                 "wider track", path)
        elif over_flanges >= track.gauge:
            yield f"{path}flange_thickness", (
                f"the flanges stand {over_flanges:g} mm apart over their outer faces and do not go between "
                f"rails {track.gauge:g} mm apart: narrow back_to_back to less than "
                f"{track.gauge - 2 * wheelset.flange_thickness:g} mm")
        else:
            # With one flange against its rail, the other wheel still has to rest on the other rail.
            narrowest = track.gauge + track.gauge_tolerance - wheelset.back_to_back - wheelset.flange_thickness + 0.2
            if wheelset.width < narrowest - SLACK:
                least = ceil(100 * (narrowest - SLACK)) / 100
                yield wheelset.amiss("width", f"drops between the rails when the other flange touches: {least:g} mm or "
                                              "more, or wheels further apart", path)
        if wheelset.flange_depth >= track.rail_height:
            yield f"{path}flange_diameter", (
                f"the flange reaches {wheelset.flange_depth:g} mm below rail top but the sleepers lie "
                f"{track.rail_height:g} mm below it: measure track.rail_height again")


def _wagons(tables: Known) -> Clashes:
    seen: dict[str, int] = {}
    for place, wagon in enumerate(tables.get("wagon") or [], 1):
        if wagon is None:
            continue
        path = f"wagon[{place}]."
        if wagon.name in seen:
            yield wagon.amiss("name", f"is that of wagon[{seen[wagon.name]}]: give each wagon its own", path)
        if wagon.name.casefold() in OURS:
            yield wagon.amiss("name", "is what we call it ourselves in every table: give the wagon another name", path)
        seen.setdefault(wagon.name, place)
        yield from _unknown_names(f"{path}wheelset", "wheelset", (wagon.wheelset,), tables.get("wheelset"))
        yield from _unknown_names(f"{path}modules", "module", wagon.modules, tables.get("module"))
        yield from _unknown_names(f"{path}cups", "cup", wagon.cups, tables.get("cup"))
        yield from _unknown_names(f"{path}inserts", "cup", wagon.inserts, tables.get("cup"))
        yield from _sensor(path, wagon, tables.get("module"))
        yield from _against_track(path, wagon, tables)
        yield from _against_printer(path, wagon, tables.get("printer"))


def _unknown_names(path: str, kind: str, names: Iterable[str], known: Mapping[str, Table | None] | None) -> Clashes:
    if known is None:
        return
    for name in dict.fromkeys(names):
        if name not in known:
            yield path, f"{name!r} is not described: add a table [{path_text(kind, name)}]" + did_you_mean(name, known)


def _sensor(path: str, wagon: Wagon, modules: Mapping[str, Module | None] | None) -> Clashes:
    """A wish for the sensor's station needs a sensor, and two cannot be at one place."""
    known = [module for module in map((modules or {}).get, wagon.modules) if module]
    if wagon.sensor_station is None or modules is None or len(known) < len(wagon.modules):
        return
    down = sum(any(opening.side == "bottom" for opening in module.looks_out) for module in known)
    if down != 1:
        found = f"{down} of its modules look" if down else "none of its modules looks"
        yield wagon.amiss("sensor_station", f", but {found} down at the track: give exactly one "
                                            'looks_out = [{ side = "bottom", ... }]', path)


def _against_track(path: str, wagon: Wagon, tables: Known) -> Clashes:
    track = tables.get("track")
    wheelset = (tables.get("wheelset") or {}).get(wagon.wheelset)
    if track is not None and wagon.width is not None:
        room = 2 * max((band.half_width for band in track.clearance), default=inf)
        if wagon.width > room + SLACK:
            yield wagon.amiss("width", f"is over the {room:g} mm that the structure clearance leaves at its widest: "
                                       "narrow the body or clear the track", path)
    if wheelset is not None and wagon.wheelbase < wheelset.flange_diameter + 1 - SLACK:
        yield wagon.amiss("wheelbase", f"lets the two wheels touch: it takes {wheelset.flange_diameter + 1:g} mm, 1 mm "
                                       "over the flange's diameter", path)
    if wagon.pivot_spacing is not None and wheelset is not None and wheelset.ends == "pin":
        yield f"{path}wheelset", (f"{wagon.wheelset!r} has axles with points, which only axle holders take: leave "
                                  "pivot_spacing out, or choose other ends")
    if wagon.pivot_spacing is not None:
        yield from _bogies(path, wagon, wagon.pivot_spacing, track, wheelset)
    if track is not None and wagon.wheelbase >= 2 * (track.min_radius - track.gauge / 2):
        yield wagon.amiss("wheelbase", "is longer than the sharpest curve is wide "
                                       f"({2 * track.min_radius - track.gauge:g} mm): shorten it", path)


def _bogies(path: str, wagon: Wagon, spacing: float, track: Track | None, wheelset: Wheelset | None) -> Clashes:
    if wheelset is not None:
        bogie = wagon.wheelbase + wheelset.flange_diameter
        if spacing < bogie + BOGIE_GAP - SLACK:
            yield wagon.amiss("pivot_spacing", f"lets the two bogies touch: it takes {bogie + BOGIE_GAP:g} mm, "
                                               f"{BOGIE_GAP:g} mm over a bogie with its wheels", path)
    if track is not None and wagon.wheelbase < 2 * track.min_radius - track.gauge <= hypot(spacing, wagon.wheelbase):
        longest = floor(10 * sqrt((2 * track.min_radius - track.gauge)**2 - wagon.wheelbase**2)) / 10
        yield wagon.amiss("pivot_spacing", "is longer than the sharpest curve is wide: on these bogies it takes "
                                           f"{longest:g} mm or less", path)


def _against_printer(path: str, wagon: Wagon, printer: Printer | None) -> Clashes:
    if printer is None:
        return
    if wagon.wall < printer.thinnest_wall - SLACK:
        yield wagon.amiss("wall", f"is under two printed lines ({printer.thinnest_wall:g} mm): it would crack", path)
    longest = hypot(printer.bed_x, printer.bed_y)
    if wagon.length is not None and wagon.length > longest + SLACK:
        yield wagon.amiss("length", f"is over the bed's diagonal {longest:.4g} mm: shorten the body or choose the "
                                    "printer with the larger bed", path)


def _order(tables: Known) -> Clashes:
    train = tables.get("train")
    if train is None or not train.order:
        return
    wagons = tables.get("wagon") or ()
    names = [wagon.name for wagon in wagons if wagon]
    if not names or len(names) < len(wagons):
        return
    for name in dict.fromkeys(train.order):
        if name not in names:
            yield "train.order", f"{name!r} is no wagon's name" + did_you_mean(name, names)
        elif train.order.count(name) > 1:
            yield "train.order", f"{name!r} stands in it {train.order.count(name)} times: once is enough"
    missing = [name for name in names if name not in train.order]
    if missing:
        yield "train.order", f"leaves out {', '.join(missing)}: name every wagon, or leave order empty"


def _cables(tables: Known) -> Clashes:
    """Every end of a cable must be there."""
    wagons = tables.get("wagon") or ()
    known = {wagon.name: wagon.modules for wagon in wagons if wagon}
    for place, cable in enumerate(tables.get("cable") or (), 1):
        if cable is not None and len(known) == len(wagons):
            for name, end in zip(("from", "to"), cable.ends, strict=True):
                for found in _no_end(end, known):
                    yield cable.amiss(name, found, f"cable[{place}].")


def _no_end(end: End, known: Mapping[str, tuple[str, ...]]) -> Iterable[str]:
    """Yield why there is no such end."""
    own = {LOCOMOTIVE: (MOTOR,), TRACK: RAILS} | dict(known)
    place = end.place.casefold() if end.outside else end.place
    if place not in own:
        yield f"begins with no wagon's name, nor with {LOCOMOTIVE} or {TRACK}" + did_you_mean(end.place, own)
    elif end.what not in own[place]:
        yield "names nothing that is there" + did_you_mean(end.what, dict.fromkeys(own[place]))
    elif own[place].count(end.what) < end.which:
        yield f"is not there: {place} has {own[place].count(end.what)} of {end.what}"
