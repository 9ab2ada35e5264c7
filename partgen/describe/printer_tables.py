"""The printer at hand, how true it prints and how its slicing program is set."""

from typing import Literal

from partgen.describe.field import SLACK, Clashes, Table, choice, number


class Slicing(Table):
    """How the slicing program is set: only estimates of filament and time hang on it, no dimension does."""

    perimeters: float = number(
        "1", 1, 10, "lines side by side round every outline", default=3.0,
        why="without one there is no wall, more than ten is solid", measure="as set in the slicing program")
    skins: float = number(
        "1", 0, 20, "solid layers below and above every hollow", default=4.0,
        why="more is solid", measure="as set in the slicing program")
    infill: float = number(
        "%", 0, 100, "how full the inside is", default=20.0, why="it is a share",
        measure="as set in the slicing program")
    outline_speed: float = number(
        "mm/s", 5, 500, "speed along outlines", default=45.0, why="no printer here is slower or faster",
        measure="as set in the slicing program; corners and short lines never reach it: take two thirds")
    fill_speed: float = number(
        "mm/s", 5, 800, "speed of skins and infill", default=70.0, why="no printer here is slower or faster",
        measure="as outline_speed")
    first_speed: float = number(
        "mm/s", 5, 200, "speed of the first layer", default=20.0, why="faster does not hold to the bed",
        measure="as outline_speed")
    travel: float = number(
        "%", 0, 200, "what moves without printing, layer changes and slow corners add to the time", default=20.0,
        why="more than twice as long is another fault", measure="a print's real time over the estimate")
    heating: float = number(
        "s", 0, 3600, "heating up and levelling before each plate", default=240.0, why="an hour is too long",
        measure="stopwatch")
    filament: float = number(
        "mm", 1.5, 3.1, "diameter of the filament", default=1.75, why="it is sold as 1.75 and 2.85",
        measure="printed on the spool")


class Printer(Table):
    """Bed, nozzle and the offsets measured on a printed coupon."""

    bed_x: float = number("mm", 60, 1000, "usable bed along x", default=180.0,
                          why="a wagon part is longer than a smaller bed",
                          measure="the maker's figure less a 5 mm border each side")
    bed_y: float = number("mm", 60, 1000, "usable bed along y", default=180.0,
                          why="a wagon part is wider than a smaller bed", measure="as bed_x")
    bed_z: float = number("mm", 40, 1000, "usable height", default=160.0,
                          why="a wagon part is taller than less", measure="as bed_x")
    nozzle: float = number("mm", 0.2, 1.0, "nozzle bore", default=0.4,
                           why="finer clogs, coarser loses the fits", measure="stamped on the nozzle")
    layer: float = number("mm", 0.06, 0.6, "layer height", default=0.2,
                          why="between a tenth and three quarters of the nozzle",
                          measure="as set in the slicing program")
    line_width: float = number("mm", 0.2, 1.0, "width of one printed line", default=0.45,
                               why="a line is about as wide as the nozzle",
                               measure="as set in the slicing program")
    bore_offset: float = number(
        "mm", -0.5, 0.8, "added to every bore diameter so that it prints true", default=0.15,
        why="bores print 0.1 to 0.2 mm small (common practice)",
        measure="print a bore of known diameter; nominal less measured")
    peg_offset: float = number(
        "mm", -0.5, 0.8, "taken off every peg so that it prints true", default=0.05,
        why="pegs print slightly large", measure="print a peg of known diameter; measured less nominal")
    shrink: float = number(
        "%", 0, 3, "how much the plastic shrinks as it cools; 0 where the slicing program scales for it already",
        default=0.0, why="no filament here shrinks more",
        measure="on the coupon, or a printed bar of 100 mm: 100 less measured")
    snap_share: float = number(
        "1", 0.8, 0.98, "opening of a snap clip over the diameter that it snaps round", default=0.9,
        why="narrower cracks the arms, wider lets go", measure="on the coupon: the clip that holds and does not crack")
    material: Literal["PLA", "PETG", "ABS", "ASA"] = choice("filament", default="PLA", measure="printed on the spool")
    slicing: Slicing = Slicing()

    @property
    def thinnest_wall(self) -> float:
        """Two lines side by side [mm]: anything thinner cracks or is not printed at all."""
        return 2 * self.line_width

    def conflicts(self) -> Clashes:
        if self.layer > 0.8 * self.nozzle + SLACK:
            yield "layer", (f"layer = {self.layer:g} mm is over 0.8 of the nozzle "
                            f"({0.8 * self.nozzle:g} mm): layers will not bond; lower it")
        if not 0.8 * self.nozzle - SLACK <= self.line_width <= 2 * self.nozzle + SLACK:
            yield "line_width", (f"line_width = {self.line_width:g} mm is outside {0.8 * self.nozzle:g} to "
                                 f"{2 * self.nozzle:g} mm for a {self.nozzle:g} mm nozzle")
