"""How the train is driven, and the locomotive that pulls it."""

from partgen.describe.field import Name, Table, listing, number, text


class Ride(Table):
    """Speed and braking as the maker wants them."""

    speed: float = number(
        "mm/s", 10, 3000, "running speed", default=250.0, why="slower stalls, faster flies off the table",
        measure="stopwatch over one lap of known length")
    stop_time: float = number(
        "s", 0.1, 20, "wished time from running speed to standstill", default=1.0,
        why="stops happen within about a second (common practice, no source)", measure="choose")
    sample_time: float = number(
        "s", 0.0005, 1, "time between two readings of the track sensor", default=0.02,
        why="slower than a second misses every marker", measure="from the firmware's loop")


class Locomotive(Table):
    """The locomotive that pulls the train, as measured."""

    length: float = number("mm", 20, 800, "length over the body", default=120.0,
                           why="a toy locomotive is no shorter and no longer", measure="ruler or caliper")
    width: float = number("mm", 8, 300, "width over the widest place", default=50.0,
                          why="a toy locomotive is no narrower and no wider", measure="caliper")
    mass: float = number("g", 10, 10000, "mass ready to run", default=400.0,
                         why="a toy locomotive is no lighter and no heavier", measure="kitchen scale")
    wheelbase: float = number("mm", 5, 400, "distance of its outermost guided axles", default=60.0,
                              why="it has two axles at least",
                              measure="caliper, axle to axle, or bogie middle to bogie middle")
    bogie_wheelbase: float = number(
        "mm", 0, 200, "axle to axle of each of its bogies; 0: it has none", default=0.0,
        why="a bogie is shorter than the locomotive", measure="caliper, axle to axle of one bogie")
    low: float = number("mm", 0, 100, "lowest wide place above rail top", default=5.0,
                        why="it clears the rails", measure="ruler")
    high: float = number("mm", 10, 400, "highest place above rail top", default=70.0,
                         why="it passes under a table", measure="ruler")
    coupler_height: float | None = number(
        "mm", 3, 120, "height of its own coupler's middle over rail top; left out: as coupler.height", default=None,
        why="drawbars hang between the rails and the frame", measure="depth rod down to the rail top")
    coupler_inset: float = number(
        "mm", 0, 200, "how far behind its body's end the coupler pivots", default=6.0,
        why="the pivot lies under the body", measure="ruler from the body's end to the pivot's middle")

    def conflicts(self):
        if self.wheelbase >= self.length:
            yield "wheelbase", (f"wheelbase = {self.wheelbase:g} mm must be shorter than the locomotive "
                                f"(length = {self.length:g} mm): measure axle to axle again")
        if self.high <= self.low:
            yield "high", (f"high = {self.high:g} mm is not above low = {self.low:g} mm: "
                           "raise high or lower low")
        if self.bogie_wheelbase > 0.9 * self.wheelbase:
            yield "bogie_wheelbase", (f"bogie_wheelbase = {self.bogie_wheelbase:g} mm makes the two bogies meet: "
                                      f"it is under {0.9 * self.wheelbase:g} mm")


class Train(Table):
    """The train as a whole."""

    order: tuple[Name, ...] = listing(
        "names of the wagons behind the locomotive, front to back; empty: as described", default=(),
        longest=60, measure="choose")
    locomotive: Locomotive = Locomotive()
    maker_note: str = text("a line of your own for the report", default="-", longest=200,
                           measure="your own words")
