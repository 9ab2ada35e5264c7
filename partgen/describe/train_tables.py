"""The train as a whole: the locomotive, how it is driven, its couplers, what feeds it."""

from typing import Literal

from partgen.describe.field import SLACK, Clashes, Name, Table, choice, listing, number, text, upside_down


class Ride(Table):
    """Speed and braking as the maker wants them, what the floor does to them, and how sure it must be."""

    speed: float = number(
        "mm/s", 10, 3000, "running speed", default=250.0, why="slower stalls, faster flies off the table",
        measure="stopwatch over one lap of known length")
    stop_time: float = number(
        "s", 0.1, 20, "wished time from running speed to standstill", default=1.0,
        why="stops happen within about a second (common practice, no source)", measure="choose")
    start_time: float = number(
        "s", 0.1, 20, "wished time from standstill to running speed", default=2.0,
        why="a motor under full power takes no less", measure="choose; longer asks less of wheels and couplers")
    ramp: Literal["even", "shaped"] = choice(
        "how the controller starts and stops: at an even rate, or shaped to the cups as the ride card says",
        default="even", measure="even unless the firmware holds partgen's constants")
    sample_time: float = number(
        "s", 0.0005, 1, "time between two readings of the track sensor", default=0.02,
        why="slower than a second misses every marker", measure="from the firmware's loop")
    floor_tilt: float = number(
        "deg", 0, 10, "how far out of level the floor or table is at worst", default=1.0,
        why="over 10 degrees nothing stays on a table", measure="spirit level and ruler: 17 mm over a metre is 1 deg")
    gradient: float = number(
        "%", 0, 15, "steepest rise that is laid into the track, over the floor's own tilt", default=0.0,
        why="no smooth wheel climbs more", measure="ruler: rise over length along the rails, times 100")
    joint_step: float = number(
        "mm", 0, 3, "highest step from one rail to the next at a joint", default=0.5,
        why="a step beyond that throws a wheel off", measure="straight edge over the joint, feeler or paper below it")
    rolling: float = number(
        "N/N", 0.001, 0.3, "force that keeps a wagon rolling on level straight track, over its weight", default=0.04,
        why="ball bearings have 0.002, a jammed axle 0.3",
        measure="tip a straight of track until a pushed wagon keeps rolling: rise over length")
    wheel_friction: float = number(
        "N/N", 0.05, 1, "friction of wheel on rail", default=0.3, why="greased steel has 0.05, rubber 1",
        measure="not known: keep 0.3, dry and unfavourable")
    reserve: float = number(
        "mm", 0, 30, "freeboard that must stay dry at the highest swing", default=3.0,
        why="over 30 mm is an empty cup", measure="choose")
    tip_safety: float = number(
        "times", 1, 5, "how many times over a wagon, or a cup in its seat, must be held against tipping", default=1.5,
        why="below 1 it tips", measure="choose")
    pull_safety: float = number(
        "times", 1, 5, "how many times over magnets and locomotive must pull what the train needs", default=1.2,
        why="below 1 the train stays where it is", measure="choose")


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
    adhesion: float = number(
        "N/N", 0.05, 1, "pull at the rail when its wheels begin to slip, over the weight on them", default=0.3,
        why="oiled rails give 0.05, soft rubber tyres 1",
        measure="spring scale on the coupler, wheels held still: pull over weight")
    adhesive_share: float = number(
        "g/g", 0.1, 1, "share of its mass that stands on driven wheels", default=1.0,
        why="something drives it, and no more than all",
        measure="kitchen scale under the driven wheels, over the whole")
    coupler_height: float | None = number(
        "mm", 3, 120, "height of its own coupler's middle over rail top; left out: as coupler.height", default=None,
        why="drawbars hang between the rails and the frame", measure="depth rod down to the rail top")
    coupler_inset: float = number(
        "mm", 0, 200, "how far behind its body's end the coupler pivots", default=6.0,
        why="the pivot lies under the body", measure="ruler from the body's end to the pivot's middle")

    def conflicts(self) -> Clashes:
        if self.wheelbase >= self.length:
            yield "wheelbase", (f"wheelbase = {self.wheelbase:g} mm must be shorter than the locomotive "
                                f"(length = {self.length:g} mm): measure axle to axle again")
        yield from upside_down(self)
        if self.bogie_wheelbase > 0.9 * self.wheelbase:
            yield "bogie_wheelbase", (f"bogie_wheelbase = {self.bogie_wheelbase:g} mm makes the two bogies meet: "
                                      f"it is under {0.9 * self.wheelbase:g} mm")
        if self.coupler_inset >= self.length / 2:
            yield "coupler_inset", (f"coupler_inset = {self.coupler_inset:g} mm puts the pivot beyond the locomotive's "
                                    f"middle: it is under {self.length / 2:g} mm, half its length")


class Train(Table):
    """The train as a whole."""

    order: tuple[Name, ...] = listing(
        "names of the wagons behind the locomotive, front to back; empty: as described", default=(),
        longest=60, measure="choose")
    gauges: bool = choice("print a set of gauges for the track, the wheels and the sharpest curve", default=True,
                          measure="choose")
    locomotive: Locomotive = Locomotive()
    maker_note: str = text("a line of your own for the report", default="-", longest=200, measure="your own words")


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
        "T", 0.2, 1.5, "remanence of the magnet", default=1.2, why="ferrite about 0.4, the strongest neodymium 1.45",
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

    def conflicts(self) -> Clashes:
        lowest = self.magnet_diameter / 2 + 1.5
        if self.height < lowest - SLACK:
            yield "height", (f"height = {self.height:g} mm lets a {self.magnet_diameter:g} mm magnet in its "
                             f"head drag over the rails: {lowest:g} mm or more, or a thinner magnet")


class Supply(Table):
    """The battery and its converter, for the run time."""

    capacity: float = number(
        "mAh", 10, 100000, "capacity of the battery, printed on it", default=2000.0,
        why="a coin cell has less, a car more", measure="printed on the power bank or cell")
    cells: int = number("cells", 1, 24, "cells in series; a power bank counts as one", default=1,
                        why="24 in series are no toy", measure="count them")
    cell_voltage: float = number(
        "V", 0.8, 4.5, "voltage of one cell at which its capacity is counted", default=3.7,
        why="a tired dry cell has 0.8, a full lithium cell 4.2", measure="power bank 3.7, dry cell 1.2")
    efficiency: float = number(
        "Wh/Wh", 0.3, 1, "share of the energy that leaves the converter; 1: no converter", default=0.8,
        why="a converter below that burns", measure="not known: keep 0.8")
    load_voltage: float = number("V", 1, 60, "voltage behind the converter", default=5.0,
                                 why="over 60 V is no toy", measure="multimeter")
    load_current: float = number(
        "A", 0.01, 20, "mean current behind the converter while the train runs", default=1.0,
        why="over 20 A the wires glow", measure="multimeter in line, over one lap with full cups")
