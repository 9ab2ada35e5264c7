"""The track as measured: gauge, rails, curves, its plan piece by piece, and what stands beside it.

A plan lists pieces as the train runs over them, so a crossing at grade stands in it at each passage: twice where the
plan crosses itself, though it is one piece in the box, once where its other way belongs to nobody. Walking along the
track tells that; which of two passages lies on which is found by geometry, and held to be the same place.
"""

from math import radians, sin
from typing import Literal

from partgen.describe.field import SLACK, Clashes, Table, choice, listing, number, text, upside_down

MOST_PIECES = 2000
SHORTEST_PIECE = 20.0       # mm
FLATTEST_CROSSING = 10.0    # deg
NEEDS = {"straight": ("a straight piece", ("length",), "take it out, or go left or right"),
         "crossing": ("a crossing", ("length", "angle", "gap"), "take it out"),
         "curve": ("a curve", ("radius", "angle"), "give radius and angle")}
"""By kind of piece: its name, what it needs, and what to do about what does not go with it."""


class PlanPiece(Table):
    """One piece of track, or several alike in a row: straight by its length, a curve by radius and angle, a crossing at
    grade by its length, the angle of its two ways and the gap in its rails."""

    go: Literal["straight", "left", "right", "crossing"] = choice(
        ..., "which way it goes, seen running forward; a crossing once for each passage", "look along it")
    length: float | None = number(None, "mm", 1, 20000, "length of a straight or a crossing",
                                  "shorter is a gap, longer a hall", "ruler along the rails")
    radius: float | None = number(None, "mm", 60, 100000, "radius of a curve, to the track centre line",
                                  "a curve tighter than this is a turntable, one wider is straight",
                                  "as min_radius, for this curve")
    angle: float | None = number(None, "deg", 1, 360, "angle that a curve turns through, or of a crossing's ways",
                                 "a curve turns, at most once round",
                                 "360 over the pieces in a full circle; protractor on a crossing's rails")
    gap: float | None = number(None, "mm", 0.3, 40, "gap in a crossing's rails, along them",
                               "flanges are thicker than the least; into the widest wheels fall",
                               "ruler along the rail")
    flangeway: float | None = number(None, "mm", 0.3, 20, "depth of its flangeways; left out: deeper than any flange",
                                     "a flange is no longer", "depth rod of the caliper")
    times: int = number(1, "pieces", 1, 500, "how many such pieces in a row", "it lies once at least", "count them")

    def conflicts(self) -> Clashes:
        what, needs, cure = NEEDS.get(self.go, NEEDS["curve"])
        for name, unit in (("length", "mm"), ("radius", "mm"), ("angle", "deg"), ("gap", "mm"), ("flangeway", "mm")):
            given = getattr(self, name) is not None
            if name in needs and not given:
                yield name, f"{name} is missing: {what} needs its {name}, in {unit}"
            if given and name not in needs and (name, self.go) != ("flangeway", "crossing"):
                cure = "take it out, or set go to crossing" if name in ("gap", "flangeway") else cure
                yield name, f"{name} does not go with {what}: {cure}"
        if self.go == "crossing" and self.angle is not None and not FLATTEST_CROSSING <= self.angle <= 90:
            yield self.amiss("angle", "is no crossing: give the smaller angle of its ways, "
                                      f"{FLATTEST_CROSSING:g} to 90 deg")


class Obstacle(Table):
    """A thing beside the track: a table edge, a lamp, a tunnel mouth, a platform."""

    name: str = text(..., "what it is", "your own words", longest=40)
    station: float = number(..., "mm", 0, 200000, "where it begins, along the plan from its start",
                            "a plan has a length", "string laid along the track")
    length: float = number(0.0, "mm", 0, 200000, "how far it goes on", "a plan has a length", "string along the track")
    side: Literal["left", "right"] = choice(..., "on which side, seen running forward", "look along the track")
    distance: float = number(..., "mm", 1, 2000, "from the track centre line to its nearest face",
                             "what is nearer lies on the track", "ruler from the middle of the track")
    low: float = number(-50.0, "mm", -100, 2000, "lower edge above rail top", "it has a height", "ruler from rail top")
    high: float = number(500.0, "mm", -50, 2000, "upper edge above rail top", "it has a height", "ruler from rail top")

    def conflicts(self) -> Clashes:
        yield from upside_down(self)


class Stop(Table):
    """A place where the train stops to serve."""

    name: str = text(..., "what is there", "your own words", longest=40)
    station: float = number(..., "mm", 0, 200000, "where the locomotive's front stands, along the plan from its start",
                            "a plan has a length", "string laid along the track")


class ClearanceBand(Table):
    """Free room beside the straight track between two heights above rail top."""

    low: float = number(0.0, "mm", -100, 2000, "lower edge of the band above rail top",
                        "a band starts near the rails and ends below the ceiling", "ruler from the rail top")
    high: float = number(..., "mm", 0, 2000, "upper edge of the band above rail top",
                         "a band starts near the rails and ends below the ceiling", "ruler from the rail top")
    half_width: float = number(..., "mm", 5, 2000, "free room from the track centre line to what stands beside it",
                               "nearer than the rails is no room", "ruler from the middle of the track")

    def conflicts(self) -> Clashes:
        yield from upside_down(self)


class Track(Table):
    """The track that the train runs on."""

    gauge: float = number(..., "mm", 6, 130, "inner face to inner face of the rails",
                          "smaller gauges need finer parts than a nozzle prints; larger ones carry people",
                          "inside jaws of the caliper between the rail heads, at five places; take the smallest")
    gauge_tolerance: float = number(0.2, "mm", 0, 2, "how much wider than that the gauge is in places",
                                    "no home-laid track is true to nothing; over 2 mm wheels drop in",
                                    "largest less smallest of the five places")
    rail_head: float = number(2.5, "mm", 0.4, 12, "width of the rail's head", "a rail is narrower than the wheel",
                              "caliper across the top of one rail")
    rail_height: float = number(4.0, "mm", 0.5, 40, "rail top above whatever lies between the rails",
                                "sensor, flanges and drawbars must pass over the sleepers",
                                "depth rod of the caliper from rail top down to the sleepers")
    min_radius: float = number(..., "mm", 60, 10000, "smallest curve radius, to the track centre line",
                               "a curve tighter than this is a turntable, one wider is straight",
                               "lay a half circle, measure from rail to opposite rail across the middle, halve it")
    twist: float = number(4.0, "mm/m", 0, 20, "how much higher one rail comes to lie over the other, at most, within a "
                          "metre of track", "more is no track that lies on a floor",
                          "spirit level across the rails 250 mm apart: four times what one rail is packed up more")
    joint_spacing: float = number(200.0, "mm", 0, 5000, "from one joint of the rails to the next, the shortest; 0: a "
                                  "track without joints",
                                  "sectional track has 100 to 250 mm (common practice, no source), longer rails bend",
                                  "ruler over the shortest piece of track")
    clearance: tuple[ClearanceBand, ...] = listing((ClearanceBand(low=0.0, high=200.0, half_width=60.0),),
                                                   "structure clearance by height: bands of free room beside the track",
                                                   "nothing within reach of the tables: keep the default", longest=20)
    plan: tuple[PlanPiece, ...] = listing(
        (), "the pieces of track in running order; left out: straight, sharpest curve left, sharpest curve right, "
        "straight", "walk along the track", longest=MOST_PIECES,
        example='{ go = "straight", length = 300 }, { go = "left", radius = 320, angle = 45, times = 4 }')
    closed: bool = choice(False, "does the plan end where it begins", "look")
    obstacle: tuple[Obstacle, ...] = listing((), "what stands beside the track nearer than the clearance",
                                             "look along the track", longest=200,
                                             example='{ name = "lamp", station = 400, side = "left", distance = 50 }')
    stop: tuple[Stop, ...] = listing((), "where along the plan the train stops to serve", "walk along the track",
                                     longest=100, example='{ name = "reading table", station = 600 }')
    spacing: float | None = number(
        None, "mm", 20, 1000, "distance of a second track beside this one, centre line to centre line; left out: none",
        "nearer the tracks lie in each other, farther they do not meet", "ruler from left rail to left rail")
    spacing_side: Literal["left", "right"] = choice("left", "side of the second track, seen running forward", "look")

    @property
    def crosses(self) -> bool:
        """Does a crossing at grade lie in it?"""
        return any(piece.go == "crossing" for piece in self.plan)

    @property
    def ground(self) -> float:
        """Highest over rail top [mm] of what of the track lies between the rails: over a crossing, the other way's
        rails; elsewhere the sleepers."""
        return 0.0 if self.crosses else -self.rail_height

    def conflicts(self) -> Clashes:
        if self.min_radius < 2.5 * self.gauge - SLACK:
            yield self.amiss("min_radius", f"is under 2.5 gauges ({2.5 * self.gauge:g} mm): no rigid wagon turns in so "
                                           "tight a curve; measure the radius to the track centre line again")
        if self.rail_head > self.gauge / 3 + SLACK:
            yield self.amiss("rail_head", f"is over a third of the gauge ({self.gauge / 3:.3g} mm): measure across one "
                                          "rail, not across both")
        for place, band in enumerate(self.clearance, 1):
            if band.half_width <= self.gauge / 2:
                yield band.amiss("half_width", f"lies inside the rails (half gauge {self.gauge / 2:g} mm): measure "
                                               "from the track centre line outwards", f"clearance[{place}].")
        if 0 < self.joint_spacing < SHORTEST_PIECE - SLACK:
            yield self.amiss("joint_spacing", f"is no piece of track: {SHORTEST_PIECE:g} mm or more, or 0 for rails "
                                              "without joints")
        yield from self._plan_conflicts()

    def _plan_conflicts(self) -> Clashes:
        count = sum(piece.times for piece in self.plan)
        if count > MOST_PIECES:
            yield "plan", (f"plan has {count} pieces, and one plan holds at most {MOST_PIECES}: describe the part "
                           "with the sharpest and most reversing curves")
        for place, piece in enumerate(self.plan, 1):
            if piece.radius is not None and piece.radius < self.min_radius - SLACK:
                yield piece.amiss("radius", f"is tighter than min_radius = {self.min_radius:g} mm, the smallest of the "
                                            "track: lower min_radius to it, or measure this curve again",
                                  f"plan[{place}].")
            if piece.go == "crossing" and piece.gap and piece.angle:
                yield from self._crossing_conflicts(piece, f"plan[{place}].")
        if self.crosses and self.spacing is not None:
            yield "spacing", ("spacing does not go with a crossing, which the second track would cross too: take out "
                              "either")
        if self.closed and not self.plan:
            yield "closed", "closed = true needs a plan: describe its pieces, or leave closed out"
        length = sum(piece.times * (piece.length or radians(piece.angle or 0) * (piece.radius or 0))
                     for piece in self.plan)
        for place, stop in enumerate(self.stop, 1):
            if self.plan and stop.station > length + SLACK:
                yield stop.amiss("station", f"lies beyond the plan's end at {length:.0f} mm: measure it from the "
                                            "plan's start", f"stop[{place}].")
        if self.stop and not self.plan:
            yield "stop", "stop needs a plan to stand on: describe the track's pieces, or leave stop out"
        if self.spacing is not None and self.spacing <= self.gauge + 2 * self.rail_head:
            yield self.amiss("spacing", "puts one track into the other: it is over "
                                        f"{self.gauge + 2 * self.rail_head:g} mm")
        if self.spacing is not None and self.spacing >= self.min_radius - 2 * self.gauge:
            yield self.amiss("spacing", "leaves no room for the second track inside the sharpest curve: it is under "
                                        f"{self.min_radius - 2 * self.gauge:g} mm")

    def _crossing_conflicts(self, piece: PlanPiece, path: str) -> Clashes:
        """Yield what of a crossing does not fit the gauge: each way's rails need room between the other's."""
        way = sin(radians(piece.angle or 0.0))
        if (piece.gap or 0.0) * way >= self.gauge / 2:
            yield piece.amiss("gap", f"at {piece.angle:g} deg is a flangeway of half the gauge: measure one gap along "
                                     f"the rail, under {self.gauge / 2 / way:.3g} mm", path)
        least = self.gauge / way
        if piece.length is not None and piece.length < least - SLACK:
            yield piece.amiss("length", f"ends before the other way's rails are crossed: at {piece.angle:g} deg and "
                                        f"gauge {self.gauge:g} mm a crossing is over {least:.0f} mm long", path)
