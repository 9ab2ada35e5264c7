"""The track's plan: its pieces in running order, and what stands beside it."""

from typing import Literal

from partgen.describe.field import Table, choice, number, text

MOST_PIECES = 2000


class PlanPiece(Table):
    """One piece of track, or several alike in a row: straight by its length, a curve by radius and angle."""

    go: Literal["straight", "left", "right"] = choice(
        "which way the piece goes, seen running forward", measure="look along the track")
    length: float | None = number(
        "mm", 1, 20000, "length of a straight piece", default=None, why="shorter is a gap, longer a hall",
        measure="ruler along the rails")
    radius: float | None = number(
        "mm", 60, 100000, "radius of a curve, to the track centre line", default=None,
        why="a curve tighter than this is a turntable, one wider is straight",
        measure="as min_radius, for this curve")
    angle: float | None = number(
        "deg", 1, 360, "angle that a curve turns through", default=None, why="a curve turns, at most once round",
        measure="how many such pieces make a full circle; divide 360 by it")
    times: int = number("pieces", 1, 500, "how many pieces of this kind in a row", default=1,
                        why="a piece lies once at least", measure="count them")

    def conflicts(self):
        if self.go == "straight":
            if self.length is None:
                yield "length", "length is missing: a straight piece needs its length, in mm"
            for name in ("radius", "angle"):
                if getattr(self, name) is not None:
                    yield name, f"{name} does not go with a straight piece: take it out, or go left or right"
        else:
            for name, unit in (("radius", "mm"), ("angle", "deg")):
                if getattr(self, name) is None:
                    yield name, f"{name} is missing: a curve needs its {name}, in {unit}"
            if self.length is not None:
                yield "length", "length does not go with a curve: give radius and angle"


class Obstacle(Table):
    """A thing beside the track: a table edge, a lamp, a tunnel mouth, a platform."""

    name: str = text("what it is", longest=40, measure="your own words")
    station: float = number("mm", 0, 200000, "where it begins, along the plan from its start",
                            why="a plan has a length", measure="string laid along the track")
    length: float = number("mm", 0, 200000, "how far it goes on along the track", default=0.0,
                           why="a plan has a length", measure="string laid along the track")
    side: Literal["left", "right"] = choice("on which side, seen running forward", measure="look along the track")
    distance: float = number("mm", 1, 2000, "from the track centre line to its nearest face",
                             why="what is nearer lies on the track", measure="ruler from the middle of the track")
    low: float = number("mm", -100, 2000, "its lower edge above rail top", default=-50.0,
                        why="it has a height", measure="ruler from the rail top")
    high: float = number("mm", -50, 2000, "its upper edge above rail top", default=500.0,
                         why="it has a height", measure="ruler from the rail top")

    def conflicts(self):
        if self.high <= self.low:
            yield "high", (f"high = {self.high:g} mm is not above low = {self.low:g} mm: "
                           "raise high or lower low")


class Stop(Table):
    """A place where the train stops to serve."""

    name: str = text("what is there", longest=40, measure="your own words")
    station: float = number("mm", 0, 200000, "where the locomotive's front comes to stand, along the plan from its start",
                            why="a plan has a length", measure="string laid along the track")
