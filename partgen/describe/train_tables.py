"""The train as a whole: the locomotive, how it is driven, its couplers, what feeds it."""

from typing import Literal

from partgen.describe.field import SLACK, Clashes, Name, Table, choice, listing, number, text, upside_down


class Ride(Table):
    """Speed and braking as the maker wants them, what the floor does to them, and how sure it must be."""

    speed: float = number(250.0, "mm/s", 10, 3000, "running speed", "slower stalls, faster flies off the table",
                          "stopwatch over one lap of known length")
    stop_time: float = number(1.0, "s", 0.1, 20, "wished time from running speed to standstill",
                              "stops happen within about a second (common practice, no source)")
    start_time: float = number(2.0, "s", 0.1, 20, "wished time from standstill to running speed",
                               "a motor under full power takes no less", "choose; longer strains couplers less")
    ramp: Literal["even", "shaped"] = choice(
        "even", "how the controller starts and stops, on the ride card and in the firmware's constants: at an even "
        "rate, or shaped so that the drinks come to rest with the train",
        "shaped where the firmware takes partgen's constants, even where it or a hand knows one rate only")
    sample_time: float = number(0.02, "s", 0.0005, 1, "time between two readings of the track sensor",
                                "slower than a second misses every marker", "from the firmware's loop")
    speed_scatter: float = number(5.0, "%", 0, 20, "how far the speed scatters either way of the wished one",
                                  "no motor holds one per cent, over 20 the controller is at fault",
                                  "time ten laps: half of longest less shortest, over the mean, times 100")
    floor_tilt: float = number(1.0, "deg", 0, 10, "how far out of level the floor or table is at worst",
                               "over 10 degrees nothing stays on a table",
                               "spirit level and ruler: 17 mm over a metre is 1 deg")
    gradient: float = number(0.0, "%", 0, 15, "steepest rise that is laid into the track, over the floor's own tilt",
                             "no smooth wheel climbs more", "ruler: rise over length along the rails, times 100")
    joint_step: float = number(0.3, "mm", 0, 3, "highest step from one rail to the next at a joint of the track",
                               "a step beyond that throws a wheel off",
                               "straight edge along the higher rail, feeler gauge under it; a sheet of paper is 0.1 mm")
    rolling: float = number(
        0.04, "N/N", 0.001, 0.3, "force that keeps a wagon rolling on level straight track, over its weight; 0.035 is "
        "a dry plain bearing's by f (W + w) + W mu d/D (Molesworth's pocket-book) with d/D 3/17 and mu 0.2",
        "ball bearings have 0.002, a jammed axle 0.3", "tip a straight until a pushed wagon rolls on: rise over length")
    breakaway: float | None = number(
        None, "N/N", 0.001, 0.5, "force that sets a standing wagon rolling, over its weight; left out: half as much "
        "again as rolling", "ball bearings have 0.003, a jammed axle 0.5",
        "tip a straight until a wagon that stands on it starts by itself: rise over length")
    wheel_friction: float = number(0.3, "N/N", 0.05, 1, "friction of wheel on rail", "greased steel has 0.05, rubber 1",
                                   "not known: keep 0.3, dry and unfavourable")
    reserve: float = number(3.0, "mm", 0, 30, "freeboard to stay dry at the highest swing", "more is an empty cup")
    tip_safety: float = number(1.5, "times", 1, 5, "how many times over wagon and cup must be held against tipping: "
                               "a push in passing, a warped rail, a figure measured amiss", "below 1 it tips")
    pull_safety: float = number(1.2, "times", 1, 5, "how many times the need magnets and locomotive must pull",
                                "below 1 the train stays where it is")

    @property
    def fastest(self) -> float:
        """Speed at the upper end of its scatter [mm/s]."""
        return self.speed * (1 + self.speed_scatter / 100)


class Adaptor(Table):
    """A printed magnet head for a locomotive that is there already: the flat face under its rear end, as measured."""

    under: float = number(..., "mm", 5, 150, "height of the face over rail top", "the coupler's seat hangs below it",
                          "depth rod from the face down to the rail top")
    length: float = number(..., "mm", 8, 150, "how far the face is flat from the body's end inwards",
                           "the pivot needs ground under the end", "ruler")
    width: float = number(..., "mm", 8, 150, "how wide the face is flat, evenly about the middle",
                          "the pivot needs ground on both sides", "ruler")
    mount: Literal["tape", "glue", "screws"] = choice(
        "tape", "what holds it on: double-sided foam tape, glue, or two screws up into the locomotive",
        "tape comes off again; glue and screws hold more")


class Locomotive(Table):
    """The locomotive that pulls the train, as measured."""

    length: float = number(120.0, "mm", 20, 800, "length over the body", "a toy locomotive is no shorter and no longer",
                           "ruler or caliper")
    width: float = number(50.0, "mm", 8, 300, "width over the widest place", "no toy is narrower or wider", "caliper")
    mass: float = number(400.0, "g", 10, 10000, "mass ready to run", "no toy is lighter or heavier", "kitchen scale")
    wheelbase: float = number(60.0, "mm", 5, 400, "distance of its outermost guided axles", "it has two axles at least",
                              "caliper, axle to axle, or bogie middle to bogie middle")
    bogie_wheelbase: float = number(0.0, "mm", 0, 200, "axle to axle of each of its bogies; 0: it has none",
                                    "a bogie is shorter than the locomotive", "caliper, axle to axle of one bogie")
    low: float = number(5.0, "mm", 0, 100, "lowest wide place above rail top", "it clears the rails", "ruler")
    high: float = number(70.0, "mm", 10, 400, "highest place above rail top", "it passes under a table", "ruler")
    adhesion: float = number(
        0.3, "N/N", 0.05, 1, "pull at the rail when its wheels begin to slip, over the weight on them",
        "oiled rails give 0.05, soft rubber tyres 1", "spring scale on the coupler, wheels held: pull over weight")
    adhesive_share: float = number(1.0, "g/g", 0.1, 1, "share of its mass that stands on driven wheels",
                                   "something drives it, no more than all", "kitchen scale under them, over the whole")
    coupler_height: float | None = number(
        None, "mm", 3, 120, "height of its own coupler's middle over rail top; left out: as coupler.height",
        "drawbars hang between the rails and the frame", "depth rod down to the rail top")
    coupler_inset: float = number(6.0, "mm", 0, 200, "how far behind its body's end the coupler pivots",
                                  "the pivot lies under the body", "ruler from the body's end to the pivot's middle")
    adaptor: Adaptor | None = choice(
        None, "prints a magnet head for it, to be fastened under its rear end; its coupler's height and inset are then "
        "worked out; left out: it has a coupler of its own",
        "where nothing under its end holds magnets at the wagons' height")

    def conflicts(self) -> Clashes:
        if self.wheelbase >= self.length:
            yield self.amiss("wheelbase", f"must be shorter than the locomotive (length = {self.length:g} mm): measure "
                                          "axle to axle again")
        yield from upside_down(self)
        if self.bogie_wheelbase > 0.9 * self.wheelbase:
            yield self.amiss("bogie_wheelbase", f"makes the two bogies meet: it is under {0.9 * self.wheelbase:g} mm")
        if self.coupler_inset >= self.length / 2:
            yield self.amiss("coupler_inset", "puts the pivot beyond the locomotive's middle: it is under "
                                              f"{self.length / 2:g} mm, half its length")
        for name in ("coupler_height", "coupler_inset"):
            if self.adaptor and name in self.model_fields_set and getattr(self, name) is not None:
                yield self.amiss(name, "is of a coupler of its own, but adaptor prints one that stands where the "
                                       f"wagons' do: delete {name}, or adaptor")
        if self.adaptor and self.adaptor.width > self.width + SLACK:
            yield "adaptor.width", (f"width = {self.adaptor.width:g} mm is wider than the locomotive ({self.width:g} "
                                    "mm): measure the flat face under its end again")
        if self.adaptor and self.adaptor.length > self.length / 2 + SLACK:
            yield "adaptor.length", (f"length = {self.adaptor.length:g} mm reaches beyond the locomotive's middle: "
                                     f"{self.length / 2:g} mm or less")


class Train(Table):
    """The train as a whole."""

    order: tuple[Name, ...] = listing((), "names of the wagons, front to back; empty: as described", longest=60)
    gauges: bool = choice(True, "print gauges for the track, the wheels, the sharpest curve and the fill of each cup")
    locomotive: Locomotive = Locomotive()
    maker_note: str = text("-", "a line of your own for the report", "your own words", longest=200)


class Coupler(Table):
    """A pivoting drawbar with captive disc magnets in its head."""

    height: float = number(13.0, "mm", 3, 120, "coupler height: rail top to the middle of the magnets",
                           "drawbars hang between the rails and the frame",
                           "depth rod from the coupler's middle on the locomotive down to the rail top")
    magnet_diameter: float = number(6.0, "mm", 2, 15, "diameter of the disc magnet",
                                    "smaller pulls nothing, larger pinches fingers", "caliper on one magnet")
    magnet_length: float = number(3.0, "mm", 1, 10, "thickness of the disc magnet, along its axis",
                                  "thinner cracks, longer does not fit the head", "caliper on one magnet")
    remanence: float = number(1.2, "T", 0.2, 1.5, "remanence of the magnet",
                              "ferrite about 0.4, the strongest neodymium 1.45", "from its grade: N35 about 1.2")
    layout: Literal["pair", "single"] = choice(
        "pair", "pair: two magnets side by side, any end meets any end; single: N in front, S behind",
        "single only where the locomotive has one magnet in the middle")
    gap: float = number(22.0, "mm", 4, 80, "body to body distance of coupled wagons on straight track",
                        "corners meet in curves when short, drawbars weave when long", "choose; tight curves want more")
    swing: float = number(35.0, "deg", 10, 42, "how far the drawbar turns to either side before it meets its stop",
                          "under 10 it binds in curves, over 42 the guard behind it is gone")

    def conflicts(self) -> Clashes:
        lowest = self.magnet_diameter / 2 + 1.5
        if self.height < lowest - SLACK:
            yield self.amiss("height", f"lets a {self.magnet_diameter:g} mm magnet in its head drag over the rails: "
                                       f"{lowest:g} mm or more, or a thinner magnet")


class Supply(Table):
    """The battery and its converter, for the run time."""

    capacity: float = number(2000.0, "mAh", 10, 100000, "capacity of the battery, printed on it",
                             "a coin cell has less, a car more", "printed on the power bank or cell")
    cells: int = number(1, "cells", 1, 24, "cells in series; a power bank is one", "more are no toy", "count them")
    cell_voltage: float = number(3.7, "V", 0.8, 4.5, "voltage of one cell at which its capacity is counted",
                                 "a tired dry cell has 0.8, a full lithium cell 4.2", "power bank 3.7, dry cell 1.2")
    efficiency: float = number(0.8, "Wh/Wh", 0.3, 1, "share of the energy that leaves the converter; 1: no converter",
                               "a converter below that burns", "not known: keep 0.8")
    load_voltage: float = number(5.0, "V", 1, 60, "voltage behind the converter", "over 60 V is no toy", "multimeter")
    load_current: float = number(1.0, "A", 0.01, 20, "mean current behind the converter while the train runs",
                                 "over 20 A the wires glow", "multimeter in line, over one lap with full cups")
    most_current: float = number(
        1.5, "A", 0.05, 30, "largest current that it gives behind the converter; asked where cables are described",
        "less moves no train, over 30 A is no toy", "printed on it; a charging port of 5 V gives 1.5 at least")
    least_current: float = number(
        0.0, "A", 0, 2, "current below which it switches itself off, as power banks do after half a minute; 0: it "
        "stays on", "over 2 A it is no power bank", "leave a small lamp on it and look a minute later")
    motor_current: float | None = number(
        None, "A", 0.01, 20, "what of load_current the motor takes while the train runs; left out: all of it",
        "over 20 A the wires glow", "multimeter in the motor's wire, over one lap with full cups")
    current_limit: float | None = number(
        None, "A", 0.05, 30, "at which the motor's driver limits its current; left out: a motor at standstill takes "
        "ten times what it does running", "below 0.05 A no motor turns, over 30 A is no toy",
        "from the driver's data sheet, or its little screw")
