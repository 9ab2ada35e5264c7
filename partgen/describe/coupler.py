"""The magnetic coupler that all wagons of the train share."""

from typing import Literal

from partgen.describe.field import SLACK, Table, choice, number


class Coupler(Table):
    """A pivoting drawbar with captive disc magnets in its head."""

    height: float = number(
        "mm", 3, 120, "coupler height: rail top to the middle of the magnets", default=13.0,
        why="drawbars hang between the rails and the frame",
        measure="depth rod from the coupler's middle on the locomotive down to the rail top")
    magnet_diameter: float = number(
        "mm", 2, 15, "diameter of the disc magnet", default=6.0,
        why="smaller pulls nothing, larger pinches fingers", measure="caliper on one magnet")
    magnet_length: float = number(
        "mm", 1, 10, "thickness of the disc magnet, along its axis", default=3.0,
        why="thinner cracks, longer does not fit the head", measure="caliper on one magnet")
    remanence: float = number(
        "T", 0.2, 1.5, "remanence of the magnet", default=1.2,
        why="ferrite about 0.4, the strongest neodymium 1.45",
        measure="from the magnet's grade: N35 about 1.2")
    layout: Literal["pair", "single"] = choice(
        "pair: two magnets side by side, any end meets any end; single: N in front, S behind",
        default="pair", measure="single only where the locomotive has one magnet in the middle")
    gap: float = number(
        "mm", 4, 80, "body to body distance of coupled wagons on straight track", default=22.0,
        why="corners meet in curves when it is short, drawbars weave when it is long",
        measure="choose; tight curves want more")
    swing: float = number(
        "deg", 10, 42, "how far the drawbar turns to either side before it meets its stop", default=35.0,
        why="under 10 it binds in curves, over 42 the guard behind it is gone", measure="choose")

    def conflicts(self):
        lowest = self.magnet_diameter / 2 + 1.5
        if self.height < lowest - SLACK:
            yield "height", (f"height = {self.height:g} mm lets a {self.magnet_diameter:g} mm magnet in its "
                             f"head drag over the rails: {lowest:g} mm or more, or a thinner magnet")
