"""What is printed for the track and belongs to no wagon: markers, and gauges for track, wheels and cups."""

from collections.abc import Collection, Iterable, Iterator
from itertools import pairwise
from math import asin, ceil, floor, inf, pi, radians, sin, sqrt

from msgspec import Struct
from msgspec.structs import replace

from partgen.describe.description import Description
from partgen.describe.printer_tables import Printer
from partgen.describe.track_tables import Stop, Track
from partgen.formulas.traction import marker_length
from partgen.identity import TRACK, stems
from partgen.plan.fill_gauge import PLATE, fill_gauges
from partgen.plan.fits import outside
from partgen.plan.item import Beside, Core, Item, PartPlan, Place
from partgen.plan.wheel import jig_plan

SAMPLES = 3             # readings of the sensor while it is over the marker, at least
APART = 20.0            # stops nearer to each other than this are one
HAIR = 1e-6             # of rounding
SHORTEST = 24.0         # a shorter marker is lost between the sleepers
LONGER = 2              # times as long is the first stop's marker, by which a train knows where it is
TOLD = 1.5              # times as long at least, or it is mistaken for another at a scattering speed
UNDER_FLANGE = 0.8      # marker below the lowest flange
THINNEST, THICKEST = 0.8, 6.0
BESIDE_RAIL = 2.0       # marker to rail, each side
FOIL = 0.2              # recess for foil or bright tape, a layer at least
RIM = 2.0               # round it
RAMP = 6.0              # of the tile's ends, so that nothing is caught by them
TIP = 0.05              # of those ends beyond two lines
TAPE = 0.2              # thickness of the double-sided tape under it
NO_GO = 0.1             # beyond the tolerance, so that go and no-go differ where the tolerance is small
WHEEL_TOLERANCE = 0.1   # of the back-to-back distance, either way (common practice, no source)
LUG = 5.0               # depth of a gauge's lugs below the rail's top
WING, BACK = 12.0, 12.0         # of a track gauge beyond the rail, and its height
CHORD = 120.0           # of the radius template
WAIST = 4.0             # a wheel gauge is narrower between its lugs
HANDLE = 8.0            # height of the hole to hold a template by
TEMPLATE = 18.0         # height of its middle


class MarkerPlan(PartPlan, frozen=True):
    """A marker tile in its own frame: middle of its underside at the origin, x along the track; all in mm."""

    CENTROID = 0.47

    length: float           # of the recess that the sensor sees
    width: float
    height: float
    recess: float
    tip: float              # height of its ends, from which it rises to the middle

    @property
    def size(self) -> tuple[float, float, float]:
        """Extent [mm] along x, y, z."""
        return (self.length + 2 * (RIM + RAMP), self.width, self.height)

    @property
    def foil(self) -> tuple[float, float]:
        """Length and width [mm] of its recess."""
        return (self.length, self.width - 2 * RIM)

    @property
    def volume(self) -> float:
        """Volume [mm3]."""
        x, y, z = self.size
        length, width = self.foil
        return x * y * z - RAMP * y * (z - self.tip) - length * width * self.recess


class GaugePlan(PartPlan, frozen=True):
    """A go and no-go gauge, lying: lugs `go` and `no_go` wide [mm] on opposite edges of a back, x across the track."""

    go: float
    no_go: float
    back: float             # length of the back

    @property
    def size(self) -> tuple[float, float, float]:
        """Extent [mm] along x, y, z."""
        return (max(self.back, self.no_go), BACK + 2 * LUG, PLATE)

    @property
    def volume(self) -> float:
        """Volume [mm3], estimated."""
        return PLATE * (self.back * BACK + (self.go + self.no_go) * LUG)

    def cores(self, wall: float) -> Iterator[Core]:
        """Yield the back."""
        yield (self.back - 2 * wall) * (BACK - 2 * wall), PLATE


class TemplatePlan(PartPlan, frozen=True):
    """A template for the sharpest curve, lying: its round edge of `radius` [mm] lies against the outer rail."""

    radius: float
    chord: float

    @property
    def rise(self) -> float:
        """Height [mm] of the arc over its chord."""
        return self.radius - sqrt(self.radius**2 - self.chord**2 / 4)

    @property
    def size(self) -> tuple[float, float, float]:
        """Extent [mm] along x, y, z."""
        return (self.chord, TEMPLATE + self.rise, PLATE)

    @property
    def volume(self) -> float:
        """Volume [mm3], estimated."""
        turn = 2 * asin(self.chord / 2 / self.radius)
        held = HANDLE * self.chord / 2 - (1 - pi / 4) * HANDLE**2
        return PLATE * (self.chord * TEMPLATE + self.radius**2 * (turn - sin(turn)) / 2 - held)

    def cores(self, wall: float) -> Iterator[Core]:
        """Yield it whole, with the hole to hold it by."""
        yield self.volume / PLATE - wall * (2.1 * self.chord + 2 * TEMPLATE + self.chord + 2 * HANDLE), PLATE


class Pressed(Struct, frozen=True):
    """A kind of wheelset whose wheels are pressed on at home, by its name, and the wagons that run on it: `printed`
    ones on rods, bought ones on their own axles once bearings or a tube are slid on; `apart` [mm] is its back to
    back."""

    wheelset: str
    wagons: tuple[str, ...]
    printed: bool
    apart: float


class Trackside(Beside, frozen=True, kw_only=True):
    """The printed parts that belong to the track.

    `all_printed` where every wheel of the train is printed: none can be tried before it is on its rod. There is a jig
    for each kind of `pressed` wheelset; `mixed` where wagons run on several kinds of any sort.
    """

    name: str = TRACK
    marker: MarkerPlan | None = None
    first_marker: MarkerPlan | None = None      # the first stop's, where it is longer
    all_printed: bool = False
    pressed: tuple[Pressed, ...] = ()
    mixed: bool = False

    def serving(self, wagons: Collection[str]) -> "Trackside":
        """Return what serves one of those wagons, by name, or all of them."""
        items = tuple(item for item in self.items if not item.serves or set(item.serves) & set(wagons))
        if any(item.part == "marker" for item in items):
            return replace(self, items=items)
        return replace(self, items=items, marker=None, first_marker=None)


def marker_top(description: Description) -> float:
    """Return the upper face over rail top [mm] of a marker that is taped to the sleepers."""
    return marker_height(description) + TAPE - description.track.rail_height


def marker_height(description: Description) -> float:
    """Return the thickness [mm] of a marker: its upper face below every flange, where it can be made so thin."""
    printer = description.printer
    lowest = max(wheelset.flange_depth for wheelset in description.wheelset.values()) + UNDER_FLANGE
    least = max(THINNEST, printer.thinnest_wall + _recess(printer))
    return max(min(description.track.rail_height - lowest - TAPE, THICKEST), least)


def _recess(printer: Printer) -> float:
    return max(FOIL, printer.layer)


def marker_plan(description: Description) -> MarkerPlan:
    """Resolve the marker tile: long enough for three readings at running speed, in whole mm, as high as flanges let it
    be."""
    ride, track, printer = description.ride, description.track, description.printer
    length = float(max(ceil(marker_length(ride.speed, ride.sample_time, SAMPLES) - HAIR), SHORTEST))
    height = marker_height(description)
    return MarkerPlan(length, track.gauge - 2 * BESIDE_RAIL, height, _recess(printer),
                      tip=min(height, max(height / 2, printer.thinnest_wall + TIP)))


def first_marker_plan(description: Description) -> MarkerPlan | None:
    """Resolve the longer marker of the first stop that the train comes to; None where there is but one marker, or none
    so much longer fits the bed and lies straight between the rails of the sharpest curve."""
    marker, track = marker_plan(description), description.track
    ends = marker.size[0] - marker.length
    straight = sqrt(8 * track.min_radius * BESIDE_RAIL)     # chord of an arc that rises by what is free beside it
    most = floor(min(LONGER * marker.length, max(description.printer.room) - ends, straight - ends))
    if _tiles(track) < 2 or most < TOLD * marker.length:
        return None
    return replace(marker, length=float(most))


def stops(length: float, closed: bool, described: Iterable[Stop]) -> list[tuple[str, float]]:
    """Return (name, station [mm]) of the stops on a line of that `length` [mm] in running order: those `described`, and
    both ends of an open line.

    A closed line without any has one, at its start. Stops nearer than APART to the one before are left out.
    """
    wanted = sorted(((stop.name, float(stop.station)) for stop in described), key=lambda one: one[1])
    if not closed:
        end = next((name for name, station in wanted if station >= length - APART), "end")
        between = [one for one in wanted if APART < one[1] < length - APART]
        return [("start", 0.0), *_apart(between), (end, length)]
    kept = _apart(wanted) or [("start", 0.0)]
    if len(kept) > 1 and kept[0][1] + length - kept[-1][1] < APART:
        kept.pop()
    return kept


def _apart(stops: list[tuple[str, float]]) -> list[tuple[str, float]]:
    return stops[:1] + [one for before, one in pairwise(stops) if one[1] - before[1] >= APART]


def _tiles(track: Track) -> int:
    """Return how many stops the train comes to: each has its marker, the end of an open line too."""
    length = sum(piece.times * (piece.length or radians(piece.angle or 0.0) * (piece.radius or 0.0))
                 for piece in track.plan) or inf
    return len(stops(length, track.closed, track.stop)) - (not track.closed)


def resolve(description: Description, seeing: tuple[str, ...]) -> Trackside:
    """Resolve what is printed for the track: a marker a stop where wagons are `seeing` it, gauges if wished."""
    marker, first = (marker_plan(description), first_marker_plan(description)) if seeing else (None, None)
    places = (Place(),) * (_tiles(description.track) - bool(first))
    tiles = [Item("marker", "marker", marker, places, serves=seeing)] if marker else []
    if first:
        tiles.append(Item("marker", "first-marker", first, (Place(),), serves=seeing))
    gauges = (*_gauges(description), *fill_gauges(description)) if description.train.gauges else ()
    pressed = tuple(_pressed(description))
    return Trackside(items=(*tiles, *_jigs(description, pressed), *gauges), marker=marker, first_marker=first,
                     pressed=pressed,
                     mixed=len({wagon.wheelset for wagon in description.wagon}) > 1,
                     all_printed=all(wheelset.printed for wheelset in description.wheelset.values()))


def _pressed(description: Description) -> Iterator[Pressed]:
    for name, wheelset in description.wheelset.items():
        users = tuple(wagon.name for wagon in description.wagon if wagon.wheelset == name)
        if users and (wheelset.printed or wheelset.ends in ("bearing", "tube")):
            yield Pressed(name, users, wheelset.printed, wheelset.back_to_back)


def _jigs(description: Description, pressed: tuple[Pressed, ...]) -> Iterator[Item]:
    for name, called in stems((one.wheelset for one in pressed), "wheelset").items():
        yield Item("wheel-jig", "wheel-jig" if len(pressed) == 1 else f"wheel-jig-{called}",
                   jig_plan(description.wheelset[name], description.printer), (Place(),))


def _gauges(description: Description) -> Iterator[Item]:
    """Yield the gauges: for the track, for every kind of wheelset, for the sharpest curve."""
    track, printer = description.track, description.printer
    plan = GaugePlan(outside(track.gauge, printer), outside(track.gauge + track.gauge_tolerance + NO_GO, printer),
                     back=track.gauge + 2 * (track.rail_head + WING))
    yield Item("track-gauge", "track-gauge", plan, (Place(),))
    stem = stems(description.wheelset, "wheelset")
    for name, wheelset in description.wheelset.items():
        apart = wheelset.back_to_back
        plan = GaugePlan(outside(apart - WHEEL_TOLERANCE, printer), outside(apart + WHEEL_TOLERANCE + NO_GO, printer),
                         apart - WAIST)
        called = "wheel-gauge" if len(stem) == 1 else f"wheel-gauge-{stem[name]}"
        yield Item("wheel-gauge", called, plan, (Place(),))
    radius = track.min_radius + track.gauge / 2
    chord = min(CHORD, 0.7 * min(printer.room), radius)
    yield Item("radius-template", "radius-template", TemplatePlan(radius, chord), (Place(),))
