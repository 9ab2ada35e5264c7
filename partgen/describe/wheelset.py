"""A wheelset: two wheels on an axle, as the caliper finds it."""

from math import atan2, ceil, degrees, radians, tan
from typing import Literal

from partgen.describe.field import SLACK, Table, choice, number


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
        "mm", 0.3, 8, "flange thickness at the tread",
        why="thinner breaks, thicker does not fit between the rails",
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

    def conflicts(self):
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
            yield "flange_angle", (f"flange_angle = {self.flange_angle:g} deg runs the flange to an edge "
                                   "above its tip: at this depth and thickness it takes "
                                   f"{smallest} deg or more")
