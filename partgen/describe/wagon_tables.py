"""A wagon as the maker wishes it, and the wheelsets that it runs on."""

from math import atan2, ceil, degrees, radians, tan
from typing import Literal

from partgen.describe.field import SLACK, Clashes, Name, Table, choice, listing, number, text

PLATE_MARKS = "-.&'+"
PLATE_LETTERS = f"ABCDEFGHIJKLMNOPQRSTUVWXYZÄÅÈÉÖØÜ0123456789{PLATE_MARKS} "
"""What a plate can be lettered with, in capitals."""

NOT_IN_NAMES = '/\\[]"'      # kept for paths and lists of names
JOINERS = "\u200c\u200d"     # unseen letters that some scripts need between others


class Wagon(Table):
    """One wagon, two-axle or on two bogies."""

    name: str = text("a name of your own; the files of its parts are named after it", longest=30,
                     measure="your own words: letters, digits, spaces and punctuation")
    wheelset: str = text("which [wheelset.NAME] it runs on", default="standard", longest=40, measure="choose")
    wheelbase: float = number(
        "mm", 12, 600, "axle to axle of a rigid frame: of the wagon, or with pivot_spacing of each bogie",
        why="shorter and the wheels touch, longer and no curve takes it",
        measure="choose; `check` tells the limit of the sharpest curve")
    pivot_spacing: float | None = number(
        "mm", 30, 600, "pivot to pivot of a wagon on bogies; left out: two-axle", default=None,
        why="nearer the bogies touch, farther no printed frame spans",
        measure="leave out, or choose where a long body wants a longer wheelbase than the curves take")
    travel: float = number(
        "mm", 0, 40, "how far each axle holder can be slid either way after printing; bogies have none",
        default=4.0, why="more than 40 mm of slot weakens the frame", measure="choose")
    length: float | None = number(
        "mm", 30, 700, "body length; left out: as short as the load allows", default=None,
        why="no shorter body holds two axles, no longer one prints", measure="leave out, or choose")
    width: float | None = number(
        "mm", 16, 250, "body width; left out: as narrow as the load allows", default=None,
        why="a body covers its wheels", measure="leave out, or choose")
    height: float | None = number(
        "mm", 8, 200, "body height, from its underside to the lid; left out: as high as the modules need",
        default=None, why="a body has a floor and a rim, and a higher one tips", measure="leave out, or choose")
    wall: float = number(
        "mm", 0.8, 4, "body wall", default=2.0,
        why="under two 0.4 mm lines cracks, over 4 mm costs a night of printing", measure="choose")
    lights: Literal["none", "lamps", "strip"] = choice(
        "lamps of 5 mm in a row under the roof's edge, one in every field of the side walls where room is behind, or a "
        "bought strip 8 mm wide under the eaves of either side, which shines down on it and makes the lid broader",
        default="none", measure="choose")
    sides: Literal["planked", "panelled", "plain"] = choice(
        "look of the side walls", default="planked", measure="choose")
    plate: str = text(
        "name on a plate in both side walls, in raised capitals; left empty: none", default="", shortest=0, longest=24,
        measure=f"choose: letters, digits, spaces and {' '.join(PLATE_MARKS)}, the shorter the larger; `check` tells "
                "what has room")
    modules: tuple[Name, ...] = listing(
        "names of the modules inside; where each goes is worked out", default=(), longest=12, measure="choose")
    levels: int = number("levels", 1, 2, "on how many levels modules may lie", default=1,
                         why="three lie too high for a narrow gauge", measure="choose")
    wires: tuple[tuple[Name, Name], ...] = listing(
        "pairs of its modules that a cable connects: they come to lie near each other", default=(), longest=40,
        measure="follow the cables", example='"controller", "driver"')
    sensor_station: float | None = number(
        "mm", -350, 350, "where what looks down at the track has its middle, forward from the wagon's middle; "
        "left out: wherever there is room", default=None, why="a wagon ends there",
        measure="leave out, or choose where it must see the marker")
    sensor_gap: float = number(
        "mm", 1, 30, "from the track sensor's face down to the marker; its holder can be slid by some millimetres",
        default=4.0, why="nearer it scrapes, farther it sees nothing", measure="from the sensor's data sheet")
    cups: tuple[Name, ...] = listing(
        "names of the cups on top, front to back", default=(), longest=40, measure="choose")
    columns: int = number(
        "columns", 0, 6, "columns of cups across the deck; 0: as many as a given width takes", default=0,
        why="no deck here is broader", measure="choose")
    inserts: tuple[Name, ...] = listing(
        "names of further cups that its seats take with a clip-in insert", default=(), longest=6, measure="choose")
    screw: Literal["M2", "M2.5", "M3"] = choice(
        "screws that hold holders, drawbars and body", default="M3", measure="whatever lies in the drawer")

    def conflicts(self) -> Clashes:
        if self.length is not None and self.wheelbase >= self.length:
            yield "wheelbase", (f"wheelbase = {self.wheelbase:g} mm must be shorter than the body "
                                f"(length = {self.length:g} mm): bring the axles in or lengthen the body")
        if self.length is not None and self.pivot_spacing is not None and self.pivot_spacing >= self.length:
            yield "pivot_spacing", (f"pivot_spacing = {self.pivot_spacing:g} mm must be shorter than the body "
                                    f"(length = {self.length:g} mm): bring the pivots in or lengthen the body")
        for name in ("columns", "inserts"):
            if getattr(self, name) and not self.cups:
                yield name, f"{name} is about seats, but the wagon has no cups: name its cups, or leave {name} out"
        if self.lights != "none" and not self.modules:
            yield "lights", (f"lights = {self.lights!r} are under the lid's edge, but the wagon has no modules and so "
                             "no lid: name its modules, or leave lights out")
        yield from self._wires()
        yield from self._plate()
        if any(c in NOT_IN_NAMES or not (c.isprintable() or c in JOINERS) for c in self.name) or not any(
                map(str.isalnum, self.name)):
            yield "name", (f"name = {self.name!r} is no name for a wagon: use at least one letter or digit, spaces and "
                           f"punctuation, but none of {' '.join(NOT_IN_NAMES)}")

    def _plate(self) -> Clashes:
        strange = "".join(dict.fromkeys(c for c in self.plate if not set(c.upper()) <= set(PLATE_LETTERS)))
        if strange:
            yield "plate", (f"plate = {self.plate!r} has {strange!r}, which no plate is lettered with: use letters A "
                            f"to Z and {PLATE_LETTERS[26:33]}, digits, spaces and {' '.join(PLATE_MARKS)}")
        elif self.plate and not self.plate.strip():
            yield "plate", f"plate = {self.plate!r} has no letter: name the wagon, or leave plate out"

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


class Wheelset(Table):
    """Two flanged wheels on one axle; the axle runs in holders between the wheels."""

    tread_diameter: float = number(
        "mm", 4, 120, "wheel diameter on the tread, where it rolls",
        why="smaller wheels drop into joints, larger ones leave no room for a wagon",
        measure="caliper on the tread beside the flange")
    flange_diameter: float = number(
        "mm", 4.4, 130, "wheel diameter over the flange",
        why="the flange must stand proud of the tread", measure="caliper over the flange")
    flange_thickness: float = number(
        "mm", 0.3, 8, "flange thickness at the tread", why="thinner breaks, thicker does not fit between the rails",
        measure="caliper jaws over the flange, where it meets the tread")
    flange_angle: float = number(
        "deg", 45, 90, "slope of the flange's outer face from the axle's direction; 90 is upright",
        default=90.0, why="below 45 degrees a flange climbs the rail",
        measure="not known: keep 90, the safe side for the wheelbase")
    back_to_back: float = number(
        "mm", 3, 128, "inner face to inner face of the two wheels",
        why="wheels stand inside the gauge of any track here",
        measure="inside jaws of the caliper between the wheels")
    width: float = number(
        "mm", 0.8, 25, "width of one wheel over all, flange included",
        why="a narrower wheel drops between the rails, a wider one fouls what lies beside them",
        measure="caliper across one wheel")
    axle_diameter: float = number(
        "mm", 0.8, 12, "axle diameter between the wheels",
        why="thinner bends, thicker leaves no wheel", measure="caliper on the axle")
    ends: Literal["plain", "tube"] = choice(
        "what turns in the axle holder: the bare axle (plain) or a metal tube over it (tube)",
        default="plain", measure="plain unless you slide a metal tube over the axle")
    tube_diameter: float = number(
        "mm", 1, 16, "outer diameter of the metal tube; used when ends is tube", default=4.0,
        why="the tube goes over the axle", measure="caliper on the tube")
    mass: float = number(
        "g", 0.1, 500, "mass of one wheelset", default=12.0, why="a wheelset weighs something",
        measure="kitchen scale: weigh them all and divide")

    @property
    def tread_radius(self) -> float:
        """Tread radius [mm]."""
        return self.tread_diameter / 2

    @property
    def flange_depth(self) -> float:
        """How far the flange reaches below the tread [mm]."""
        return (self.flange_diameter - self.tread_diameter) / 2

    @property
    def bearing_diameter(self) -> float:
        """Diameter of what sits in the holder [mm]: the axle, or the tube over it."""
        return self.tube_diameter if self.ends == "tube" else self.axle_diameter

    def conflicts(self) -> Clashes:
        if self.flange_diameter < self.tread_diameter + 0.4 - SLACK:
            yield "flange_diameter", (
                f"flange_diameter = {self.flange_diameter:g} mm must exceed tread_diameter = "
                f"{self.tread_diameter:g} mm by 0.4 mm or more: a flatter flange guides nothing")
        if self.width < 1.2 * self.flange_thickness - SLACK:
            yield "width", (f"width = {self.width:g} mm must exceed flange_thickness = "
                            f"{self.flange_thickness:g} mm by a fifth or more: the rest is the tread")
        largest = 0.6 * self.tread_diameter
        if self.bearing_diameter > largest + SLACK:
            name = "tube_diameter" if self.ends == "tube" else "axle_diameter"
            yield name, (f"{name} = {self.bearing_diameter:g} mm is over {largest:g} mm, 0.6 of the "
                         "tread: no wheel is left round it")
        if self.ends == "tube" and self.tube_diameter < self.axle_diameter + 0.2 - SLACK:
            yield "tube_diameter", (f"tube_diameter = {self.tube_diameter:g} mm must exceed axle_diameter = "
                                    f"{self.axle_diameter:g} mm by 0.2 mm or more: it goes over the axle")
        reach = self.flange_depth / tan(radians(self.flange_angle)) if self.flange_angle < 90 else 0.0
        if reach > self.flange_thickness:
            smallest = ceil(degrees(atan2(self.flange_depth, self.flange_thickness)))
            yield "flange_angle", (f"flange_angle = {self.flange_angle:g} deg runs the flange to an edge above its "
                                   f"tip: at this depth and thickness it takes {smallest} deg or more")
