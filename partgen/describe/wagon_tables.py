"""A wagon as the maker wishes it, and the wheelsets that it runs on."""

from math import atan2, ceil, degrees, radians, tan
from typing import Literal

from partgen.describe.cargo_tables import Where
from partgen.describe.field import SLACK, Clashes, Name, Table, choice, listing, number, text
from partgen.describe.wording import unseen

PLATE_MARKS = "-.&'+"
PLATE_LETTERS = f"ABCDEFGHIJKLMNOPQRSTUVWXYZÄÅÈÉÖØÜ0123456789{PLATE_MARKS} "
"""What a plate can be lettered with, in capitals."""

NOT_IN_NAMES = '/\\[]"'      # kept for paths and lists of names


class Wagon(Table):
    """One wagon, two-axle or on two bogies."""

    name: str = text(..., "a name of your own; the files of its parts are named after it",
                     "your own words: letters, digits, spaces and punctuation", longest=30)
    wheelset: str = text("standard", "which [wheelset.NAME] it runs on", longest=40)
    wheelbase: float = number(..., "mm", 12, 600, "axle to axle of a rigid frame, or with pivot_spacing of each bogie",
                              "shorter the wheels touch, longer no curve takes it", "choose; `check` tells the limit")
    pivot_spacing: float | None = number(None, "mm", 30, 600, "pivot to pivot of a wagon on bogies; left out: two-axle",
                                         "nearer the bogies touch, farther no printed frame spans",
                                         "leave out, or choose for a long body in tight curves")
    coupler_on: Literal["body", "bogie"] = choice(
        "body", "what the couplers turn on: the body, or the bogies, where they stay near the track's middle in curves",
        "bogie for a long wagon on bogies in tight curves, above all in reverse curves")
    travel: float = number(4.0, "mm", 0, 40, "how far axle holders slide either way after printing; bogies have none",
                           "more than 40 mm of slot weakens the frame")
    length: float | None = number(None, "mm", 30, 700, "body length; left out: as short as the load allows",
                                  "no shorter body holds two axles, no longer one prints", "leave out, or choose")
    width: float | None = number(None, "mm", 16, 250, "body width; left out: as narrow as the load allows",
                                 "a body covers its wheels", "leave out, or choose")
    height: float | None = number(None, "mm", 8, 200, "body height, underside to lid; left out: as the modules need",
                                  "a body has a floor and a rim, and a higher one tips", "leave out, or choose")
    wall: float = number(2.0, "mm", 0.8, 4, "body wall", "under two 0.4 mm lines cracks, over 4 mm costs a night")
    lights: Literal["none", "lamps", "strip"] = choice(
        "none",
        "lamps of 5 mm in a row under the roof's edge, one in every field of the side walls where room is behind, or "
        "a bought strip 8 mm wide under the eaves of either side, which shines down on it and makes the lid broader")
    sides: Literal["planked", "panelled", "plain"] = choice("planked", "look of the side walls")
    plate: str = text(
        "", "name on a plate in both side walls, in raised capitals; left empty: none", "choose: letters, digits, "
        f"spaces and {' '.join(PLATE_MARKS)}, the shorter the larger; `check` tells what has room",
        shortest=0, longest=24)
    plate_print: Literal["on-wall", "apart"] = choice(
        "on-wall", "is the name plate printed on the wall, or lying flat as a part of its own, letters in a second "
        "colour by a change of filament, and glued in")
    modules: tuple[Name, ...] = listing((), "names of the modules inside; where each goes is worked out", longest=12)
    levels: int = number(1, "levels", 1, 2, "on how many levels modules may lie", "three lie too high for narrow gauge")
    wires: tuple[tuple[Name, Name], ...] = listing(
        (), "pairs of its modules that a cable connects: they come to lie near each other", "follow the cables",
        longest=40, example='"controller", "driver"')
    at: tuple[tuple[Name, Where], ...] = listing(
        (), "where in this wagon a module shall lie, in place of what the module's own at says", "as at of a module",
        longest=12, example='"bank", "middle"')
    sensor_station: float | None = number(None, "mm", -350, 350,
                                          "where the holder of what looks down at the track has its middle, "
                                          "forward from the wagon's; left out: wherever there is room",
                                          "a wagon ends there", "leave out, or choose where it must hang")
    sensor_gap: float = number(
        4.0, "mm", 1, 30, "from the track sensor's face down to the marker; its holder can be set some millimetres "
        "higher and lower",
        "nearer it scrapes, farther it sees nothing", "from the sensor's data sheet")
    cups: tuple[Name, ...] = listing((), "names of the cups on top, front to back", longest=40)
    columns: int = number(0, "columns", 0, 6, "columns of cups across the deck; 0: as many as a given width takes",
                          "no deck here is broader")
    inserts: tuple[Name, ...] = listing((), "further cups that its seats take with a clip-in insert", longest=6)
    ballast: float = number(0.0, "g", 0, 3000, "steel in the frame, under the body's floor: it holds a light or high "
                            "wagon down; 0: none; `check` tells how much the frame holds",
                            "no frame here holds three kilograms", "choose, then weigh it out on a kitchen scale")
    ballast_of: Literal["nuts", "shot"] = choice(
        "nuts", "what the ballast is: steel nuts or washers, M3 or smaller, or steel shot or balls of 2 to 3 mm, of "
        "which nearly twice as much goes in; never lead", "what lies in the drawer")
    screw: Literal["M2", "M2.5", "M3"] = choice("M3", "screws of holders, drawbars and body", "what lies in the drawer")

    def conflicts(self) -> Clashes:
        if self.length is not None and self.wheelbase >= self.length:
            yield self.amiss("wheelbase", f"must be shorter than the body (length = {self.length:g} mm): bring the "
                                          "axles in or lengthen the body")
        if self.length is not None and self.pivot_spacing is not None and self.pivot_spacing >= self.length:
            yield self.amiss("pivot_spacing", f"must be shorter than the body (length = {self.length:g} mm): bring the "
                                              "pivots in or lengthen the body")
        if self.coupler_on == "bogie" and self.pivot_spacing is None:
            yield "coupler_on", ('coupler_on = "bogie" asks for bogies, but the wagon has two axles: give its '
                                 'pivot_spacing, or coupler_on = "body"')
        for name in ("columns", "inserts"):
            if getattr(self, name) and not self.cups:
                yield name, f"{name} is about seats, but the wagon has no cups: name its cups, or leave {name} out"
        if self.lights != "none" and not self.modules:
            yield self.amiss("lights", "are under the lid's edge, but the wagon has no modules and so no lid: name its "
                                       "modules, or leave lights out")
        yield from self._wires()
        yield from self._at()
        yield from self._plate()
        if any(c in NOT_IN_NAMES or not (c.isprintable() or unseen(c)) for c in self.name) or not any(
                map(str.isalnum, self.name)):
            yield self.amiss("name", "is no name for a wagon: use at least one letter or digit, spaces and punctuation"
                                     f", but none of {' '.join(NOT_IN_NAMES)}")

    def _plate(self) -> Clashes:
        strange = "".join(dict.fromkeys(c for c in self.plate if not set(c.upper()) <= set(PLATE_LETTERS)))
        if strange:
            yield self.amiss("plate", f"has {strange!r}, which no plate is lettered with: use letters A to Z and "
                                      f"{PLATE_LETTERS[26:33]}, digits, spaces and {' '.join(PLATE_MARKS)}")
        elif self.plate and not self.plate.strip():
            yield self.amiss("plate", "has no letter: name the wagon, or leave plate out")
        if self.plate_print == "apart" and not self.plate:
            yield "plate_print", ("plate_print is about a name plate, but the wagon has none: letter its plate, or "
                                  "leave plate_print out")

    def _at(self) -> Clashes:
        names = [name for name, _ in self.at]
        for name in dict.fromkeys(names):
            if name not in self.modules:
                yield "at", f"at has {name!r}, which is not in modules: add it there, or take it out here"
            elif names.count(name) > 1:
                yield "at", f"at has {name!r} {names.count(name)} times: once is enough"

    def _wires(self) -> Clashes:
        for pair in self.wires:
            for name in dict.fromkeys(pair):
                if name not in self.modules:
                    yield "wires", f"wires has {name!r}, which is not in modules: add it there, or take it out here"
                elif self.modules.count(name) > 1:
                    yield "wires", (f"wires has {name!r}, of which modules has {self.modules.count(name)}: give each a "
                                    "table of its own, so that the right one is meant")
            if pair[0] == pair[1]:
                yield "wires", f"wires connects {pair[0]!r} with itself: name two modules"


DEEPEST, BESIDE_WHEEL = 1.2, 0.5        # mm: a cup for an axle's point, and what stays free beside a wheel

FLATTEST, UPRIGHT = 60.0, 90.0      # deg of a flange's face (common practice, no source)


class Wheelset(Table):
    """Two flanged wheels on one axle; the axle runs in holders between the wheels."""

    tread_diameter: float = number(..., "mm", 4, 120, "wheel diameter on the tread, where it rolls",
                                   "smaller drop into joints, larger leave no room", "caliper beside the flange")
    flange_diameter: float = number(..., "mm", 4.4, 130, "wheel diameter over the flange",
                                    "the flange must stand proud of the tread", "caliper over the flange")
    flange_thickness: float = number(..., "mm", 0.3, 8, "flange thickness at the tread",
                                     "thinner breaks, thicker does not fit between the rails",
                                     "caliper jaws over the flange, where it meets the tread")
    flange_angle: float | None = number(
        None, "deg", 45, 90, "slope of the flange's outer face from the axle, 90 is upright; left out: 60 where a "
        "flange may climb, 90 where it may bind", "below 45 degrees a flange climbs the rail",
        "photograph a wheel from the side, along its face; not known: leave out")
    back_to_back: float = number(..., "mm", 3, 128, "inner face to inner face of the two wheels",
                                 "wheels stand inside the rails", "inside jaws of the caliper between the wheels")
    width: float = number(..., "mm", 0.8, 25, "width of one wheel over all, flange included",
                          "narrower drops between the rails, wider fouls what is beside", "caliper across one wheel")
    axle_diameter: float = number(..., "mm", 0.8, 12, "axle diameter between the wheels",
                                  "thinner bends, thicker leaves no wheel", "caliper on the axle")
    ends: Literal["plain", "tube", "bearing", "pin"] = choice(
        "plain", "what sits in the axle holder: the bare axle, a tube over it, a ball bearing at either end, or the "
        "axle's points outside the wheels", "plain unless you slide a metal tube or bearings over the axle")
    over_points: float | None = number(None, "mm", 5, 160, "length of a pointed axle; needed when ends is pin",
                                       "its points stand out of the wheels", "caliper over both points")
    bearing_outer: float = number(7.0, "mm", 3, 30, "outer diameter of a ball bearing; used when ends is bearing",
                                  "smaller is no ball bearing, larger finds no room between wheels",
                                  "caliper; with an axle of 3 mm sold as 10 (4 wide), 7 (3 wide) and 6 (2.5 wide)")
    bearing_width: float = number(3.0, "mm", 1, 9, "its width; used when ends is bearing",
                                  "thinner is a washer, wider than any of that size", "caliper over both rings")
    tube_diameter: float = number(4.0, "mm", 1, 16, "outer diameter of the metal tube; used when ends is tube",
                                  "the tube goes over the axle", "caliper on the tube")
    mass: float = number(12.0, "g", 0.1, 500, "mass of one wheelset; a printed one is weighed by the plan",
                         "a wheelset weighs something", "kitchen scale: weigh them all and divide")
    printed: bool = choice(False, "are its wheels printed, to be pressed on a metal rod of the axle's diameter",
                           "only where none can be bought")
    ring: float | None = number(None, "mm", 0.5, 4, "thickness of a rubber ring's cord in the tread of printed wheels, "
                                "for those that drive or brake; left out: none", "thinner tears, thicker finds no room",
                                "caliper on the ring")

    @property
    def tread_radius(self) -> float:
        """Tread radius [mm]."""
        return self.tread_diameter / 2

    @property
    def flange_depth(self) -> float:
        """How far the flange reaches below the tread [mm]."""
        return (self.flange_diameter - self.tread_diameter) / 2

    @property
    def climbing_angle(self) -> float:
        """Flange angle [deg] to count on against climbing: the flattest in use where nobody measured it."""
        return self.binding_angle if self.printed else self.flange_angle or FLATTEST

    @property
    def binding_angle(self) -> float:
        """Flange angle [deg] to count with in curves: upright where nobody measured it, and so it is printed."""
        return self.flange_angle or UPRIGHT

    @property
    def bearing_diameter(self) -> float:
        """Diameter of what sits in the holder [mm]: the axle, the tube over it, or bearings."""
        return {"tube": self.tube_diameter, "bearing": self.bearing_outer}.get(self.ends, self.axle_diameter)

    @property
    def inner_ring(self) -> float:
        """Outer diameter [mm] of a bearing's inner ring: a quarter of the way out (common practice, no source)."""
        return self.axle_diameter + (self.bearing_outer - self.axle_diameter) / 4

    def conflicts(self) -> Clashes:
        if self.flange_diameter < self.tread_diameter + 0.4 - SLACK:
            yield self.amiss("flange_diameter", f"must exceed tread_diameter = {self.tread_diameter:g} mm by 0.4 mm or "
                                                "more: a flatter flange guides nothing")
        if self.width < 1.2 * self.flange_thickness - SLACK:
            yield self.amiss("width", f"must exceed flange_thickness = {self.flange_thickness:g} mm by a fifth or more"
                                      ": the rest is the tread")
        largest = 0.6 * self.tread_diameter
        if self.bearing_diameter > largest + SLACK:
            yield self.amiss({"tube": "tube_diameter", "bearing": "bearing_outer"}.get(self.ends, "axle_diameter"),
                             f"is over {largest:g} mm, 0.6 of the tread: no wheel is left round it")
        if self.ends == "tube" and self.tube_diameter < self.axle_diameter + 0.2 - SLACK:
            yield self.amiss("tube_diameter", f"must exceed axle_diameter = {self.axle_diameter:g} mm by 0.2 mm or more"
                                              ": it goes over the axle")
        if self.ends == "pin":
            yield from self._point_conflicts()
        if self.ends == "bearing":
            yield from self._bearing_conflicts()
        if self.ring is not None and not self.printed:
            yield self.amiss("ring", "lies in a printed wheel's groove: set printed = true, or leave ring out")
        reach = self.flange_depth / tan(radians(self.binding_angle)) if self.binding_angle < UPRIGHT else 0.0
        if reach > self.flange_thickness:
            smallest = ceil(degrees(atan2(self.flange_depth, self.flange_thickness)))
            yield self.amiss("flange_angle", "runs the flange to an edge above its tip: at this depth and thickness it "
                                             f"takes {smallest} deg or more")

    def _bearing_conflicts(self) -> Clashes:
        if self.bearing_outer < self.axle_diameter + 2 - SLACK:
            yield self.amiss("bearing_outer", f"must exceed axle_diameter = {self.axle_diameter:g} mm by 2 mm or more: "
                                              "two rings and the balls lie between")
        widest = (self.back_to_back - 4) / 2
        if self.bearing_width > widest + SLACK:
            yield self.amiss("bearing_width", f"is over {widest:g} mm: two do not go between the wheels")

    def _point_conflicts(self) -> Clashes:
        least = self.back_to_back + 2 * (self.width + DEEPEST + BESIDE_WHEEL)
        if self.over_points is None:
            yield "over_points", "over_points is missing: a pointed axle needs its length over both points, in mm"
        elif self.over_points < least - SLACK:
            yield self.amiss("over_points", f"is under {least:g} mm: no cups find room beside the wheels")
