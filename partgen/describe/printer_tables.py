"""The printer at hand, how true it prints and how its slicing program is set."""

from typing import Literal

from partgen.describe.field import SLACK, Clashes, Table, choice, number

LONGEST_BRIDGE = 50.0   # mm; what only some printers manage at their best


class Slicing(Table):
    """How the slicing program is set: only estimates of filament and time hang on it, no dimension does."""

    perimeters: float = number(3.0, "1", 1, 10, "lines side by side round every outline",
                               "without one there is no wall, more than ten is solid", "as set in the slicing program")
    skins: float = number(4.0, "1", 0, 20, "solid layers below and above every hollow", "more is solid",
                          "as set in the slicing program")
    infill: float = number(20.0, "%", 0, 100, "how full the inside is", "a share", "as set in the slicing program")
    outline_speed: float = number(45.0, "mm/s", 5, 500, "speed along outlines", "no printer here is slower or faster",
                                  "as set in the slicing program")
    fill_speed: float = number(70.0, "mm/s", 5, 800, "speed of skins and infill", "no printer here is slower or faster",
                               "as outline_speed")
    first_speed: float = number(20.0, "mm/s", 5, 200, "speed of the first layer", "faster lets go", "as outline_speed")
    travel_speed: float = number(130.0, "mm/s", 10, 1000, "speed of moves without printing",
                                 "no printer here is slower or faster", "as outline_speed")
    acceleration: float = number(1000.0, "mm/s2", 50, 50000, "how fast speed rises and falls",
                                 "less never gets under way, more shakes the printer to pieces",
                                 "in the slicing program's or the printer's own settings")
    corner_speed: float = number(8.0, "mm/s", 0.1, 100, "by how much speed may jump, as round a corner",
                                 "none stands still at every corner, more loses steps", "as acceleration")
    retraction: float = number(0.1, "s", 0, 2, "drawing the filament back before a jump and pushing it forth again",
                               "longer than a jump takes", "its length, twice, over its speed: 2 mm at 40 mm/s")
    least_layer_time: float = number(5.0, "s", 0, 120, "a layer that would be done sooner is slowed down, so that it "
                                     "cools", "two minutes let any layer cool", "as outline_speed, under cooling")
    heating: float = number(240.0, "s", 0, 3600, "heating up and levelling before each plate", "an hour is too long",
                            "stopwatch")
    filament: float = number(1.75, "mm", 1.5, 3.1, "diameter of the filament", "it is sold as 1.75 and 2.85",
                             "printed on the spool")


class Printer(Table):
    """Bed, nozzle and the offsets measured on a printed coupon."""

    bed_x: float = number(180.0, "mm", 60, 1000, "usable bed along x", "a wagon part is longer than a smaller bed",
                          "the maker's figure less a 5 mm border each side")
    bed_y: float = number(180.0, "mm", 60, 1000, "usable bed along y", "a wagon part is wider than less", "as bed_x")
    bed_z: float = number(160.0, "mm", 40, 1000, "usable height", "a wagon part is taller than less", "as bed_x")
    nozzle: float = number(0.4, "mm", 0.2, 1.0, "nozzle bore", "finer clogs, coarser loses the fits", "stamped on it")
    layer: float = number(0.2, "mm", 0.06, 0.6, "layer height", "between a tenth and three quarters of the nozzle",
                          "as set in the slicing program")
    line_width: float = number(0.45, "mm", 0.2, 1.0, "width of one printed line",
                               "a line is about as wide as the nozzle", "as set in the slicing program")
    bore_offset: float = number(0.15, "mm", -0.5, 0.8, "added to every bore diameter so that it prints true",
                                "bores print 0.1 to 0.2 mm small (common practice)",
                                "print a bore of known diameter; nominal less measured")
    peg_offset: float = number(0.05, "mm", -0.5, 0.8, "taken off every peg so that it prints true",
                               "pegs print slightly large", "print a peg of known diameter; measured less nominal")
    shrink: float = number(
        0.0, "%", 0, 3, "how much the plastic shrinks as it cools; 0 where the slicing program scales for it already",
        "no filament here shrinks more", "on the coupon, or a printed bar of 100 mm: 100 less measured")
    snap_share: float = number(0.9, "1", 0.8, 0.98, "opening of a snap clip over the diameter that it snaps round",
                               "narrower presses hard, wider lets go", "on the coupon: what holds and does not crack")
    spools: int = number(4, "colours", 1, 4, "how many colours of filament there are; 1: all parts on common plates",
                         "a train has four", "count them")
    bridge: float = number(10.0, "mm", 5, LONGEST_BRIDGE, "longest bridge that prints level: openings up to it get a "
                           "flat top, wider ones rise to it at 45 degrees", "every printer spans 5 mm, few over 50",
                           "print a table on two legs: the widest whose underside is still level")
    material: Literal["PLA", "PETG", "ABS", "ASA"] = choice("PLA", "filament", "printed on the spool")
    slicing: Slicing = Slicing()

    @property
    def thinnest_wall(self) -> float:
        """Two lines side by side [mm]: anything thinner cracks or is not printed at all."""
        return 2 * self.line_width

    @property
    def grown(self) -> float:
        """How much larger everything is printed along the bed than it shall be once it has cooled [1]; upwards the
        layers lie where the nozzle was, and nothing is added (common practice, no source)."""
        return 1 / (1 - self.shrink / 100)

    @property
    def room(self) -> tuple[float, float]:
        """Length and width [mm] that what is printed on the bed may have once it has cooled."""
        return self.bed_x / self.grown, self.bed_y / self.grown

    def conflicts(self) -> Clashes:
        if self.layer > 0.8 * self.nozzle + SLACK:
            yield self.amiss("layer", f"is over 0.8 of the nozzle ({0.8 * self.nozzle:g} mm): layers will not bond; "
                                      "lower it")
        if not 0.8 * self.nozzle - SLACK <= self.line_width <= 2 * self.nozzle + SLACK:
            yield self.amiss("line_width", f"is outside {0.8 * self.nozzle:g} to {2 * self.nozzle:g} mm for a "
                                           f"{self.nozzle:g} mm nozzle")
