"""What body and lid must have: found by points in plastic and in air of the drawn solid, and missed without it.

Each feature names the function that draws it. With such functions drawing nothing, some point is where it should not
be: so no feature can be lost unnoticed. Points come from the plan's sizes; the kernel says where a point lies.
"""

from functools import cache

import pytest
from features import before, is_missed, is_there, on_wall, without
from msgspec.structs import replace

from partgen.plan.body import fittings as fit
from partgen.plan.body.fittings import EYE
from partgen.plan.body.lid import DRIP
from partgen.plan.body.mounts import LIP_HEIGHT
from partgen.plan.body.shell import FENCE_HEIGHT
from partgen.plan.body.typeface import letters as typeface
from partgen.plan.fastening import RIM

pytestmark = pytest.mark.slow


# The body. Each gives (points in air, points in plastic)

def lips(plan):
    floor = plan.bottom + plan.floor
    assert len(plan.fittings.lips) >= 4
    return [(lip.x, lip.y, floor + LIP_HEIGHT + 0.2) for lip in plan.fittings.lips], [
        (lip.x, lip.y, floor + 0.7 * LIP_HEIGHT) for lip in plan.fittings.lips]


def bosses(plan):
    floor, found = plan.bottom + plan.floor, plan.fittings.bosses
    assert len(found) == 4
    return [(b.x, b.y, floor + b.height - 0.7 * b.depth) for b in found], [
        (b.x + (b.core + b.diameter) / 4, b.y, floor + 0.6 * b.height) for b in found]


def straps(plan):
    strap, = plan.fittings.straps
    half, low = strap.apart / 2, plan.bottom
    ways = [(half, 0.7 * plan.floor), (-half, 0.7 * plan.floor), (0.0, 0.3)]
    turn = (lambda a: (strap.x + a, strap.y)) if strap.turned else (lambda a: (strap.x, strap.y + a))
    return [(*turn(a), low + z) for a, z in ways], [(*turn(0.0), low + 0.9 * plan.floor)]


def tape_lands(plan):
    floor, (land, *_) = plan.bottom + plan.floor, plan.fittings.lands
    line = land.x + land.length / 2 - fit.MARK_WIDE / 2
    return [(line, land.y, floor - 0.7 * fit.MARK_DEEP)], [(land.x, land.y, floor - 0.7 * fit.MARK_DEEP),
                                                           (line, land.y, floor - 1.3 * fit.MARK_DEEP)]


def openings(plan):
    """One where the port looks out, and one for wires in both end walls."""
    floor, found = plan.bottom + plan.floor, plan.fittings.openings
    assert [o.names for o in found] == [("port",), (), ()] and {o.wall for o in found[1:]} == {"front", "back"}
    return [before(plan, o.wall, o.along, plan.wall / 3, floor + o.low + o.height / 2) for o in found], [
        before(plan, o.wall, o.along, plan.wall * 0.8, floor + o.top + 1.5) for o in found]


def vents(plan):
    fittings, floor = plan.fittings, plan.bottom + plan.floor
    middle = floor + (fittings.vent_low + fittings.vent_top) / 2
    assert len(fittings.vents) > 3
    return [on_wall(plan, wall, x, plan.wall / 2, middle) for x, wall in fittings.vents], [
        on_wall(plan, wall, x, plan.wall * 0.8, floor + fittings.vent_low - 0.4) for x, wall in fittings.vents]


def lamp_holes(plan):
    fittings = plan.fittings
    level = plan.bottom + plan.floor + fittings.lamp_level
    assert fittings.lamps
    return [on_wall(plan, wall, x, plan.wall / 2, level) for x, wall in fittings.lamps], [
        on_wall(plan, wall, x, plan.wall * 0.8, level - fittings.lamp / 2 - 0.4) for x, wall in fittings.lamps]


def cable_tie_eyes(plan):
    floor, half = plan.bottom + plan.floor, EYE / 2
    assert plan.fences
    y = plan.cable_gap / 2 + 1.6 + half
    return [(x, s * y, floor + half) for x in plan.fences for s in (1, -1)], [
        (x, s * (y + half + 0.5), floor + half) for x in plan.fences for s in (1, -1)]


def fences(plan):
    floor = plan.bottom + plan.floor
    return [(x, 0.0, floor + 1) for x in plan.fences], [
        (x, plan.cable_gap / 2 + 1.0, floor + 0.8 * FENCE_HEIGHT) for x in plan.fences]


def sides(plan):
    """Planks or panels: air where the field is sunk, plastic behind it."""
    (start, _), (low, high) = plan.fields(plan.length)[0], plan.field_z
    x, z, deep = start + plan.groove + 1.3, low + 0.3 * (high - low) + 0.21, 0.6 * plan.recess
    return [(x, s * (plan.width / 2 - deep), z) for s in (1, -1)], [
        (x, s * (plan.width / 2 - plan.groove - 0.2), z) for s in (1, -1)]


def raised_panels(plan):
    """The middle of a panel stands out again."""
    (start, end), (low, high) = plan.fields(plan.length)[0], plan.field_z
    at, deep = ((start + end) / 2, (low + high) / 2), plan.recess - 0.6 * plan.panel_rise
    assert deep > 0
    return [(start + plan.groove + 0.9, plan.width / 2 - deep, (low + high) / 2)], [
        (at[0], plan.width / 2 - deep, at[1])]


def name_plate(plan):
    """The tablet's ground is sunk: at its corner, before any letter, is air, behind it plastic."""
    plate, (long, high) = plan.nameplate, plan.nameplate.size
    assert {one.wall for one in plate.tablets} == {"left", "right"}
    corners = [(one.wall, one.along + 0.44 * long, one.z + 0.38 * high) for one in plate.tablets]
    return [before(plan, wall, along, 0.6 * plate.relief, z) for wall, along, z in corners], [
        before(plan, wall, along, plate.relief + 0.2, z) for wall, along, z in corners]


def letters(plan):
    """The T's upright stands on the ground, below its bar; to the left of it, as it is read, is air."""
    plate = plan.nameplate
    (one, x, y), *_ = plate.placed
    assert one == "T"
    x, y, size = x + typeface()["T"].width * plate.letter / 2, y + 0.4 * plate.letter, plate.letter
    return [before(plan, p.wall, p.along + x - 0.28 * size, 0.6 * plate.relief, p.z + y) for p in plate.tablets], [
        before(plan, p.wall, p.along + x, 0.3 * plate.relief, p.z + y) for p in plate.tablets]


def way_for_a_lead(plan):
    """Through the floor, of the eye that hangs under it."""
    place, = plan.leads
    return [(place.x, place.y, plan.bottom + plan.floor / 2)], [
        (place.x + place.length / 2 + 0.8, place.y, plan.bottom + plan.floor / 2)]


def beads(plan):
    """A ridge on the walls' inside for every nose of the lid's clips."""
    clips = plan.lid_clips
    found = []
    for socket in clips.sockets:
        for side in (1, -1):
            out, across = clips.gap - 0.15, side * clips.clip.nose
            found.append(_at(socket, out, across, plan.top - clips.bead_middle))
    return [(x, y, z + 2.5) for x, y, z in found], found


def _at(socket, out, across, z):
    from math import cos, radians, sin
    c, s = cos(radians(socket.yaw)), sin(radians(socket.yaw))
    return socket.x + c * out - s * across, socket.y + s * out + c * across, z


def strip_notches(plan):
    ways = plan.fittings.ways
    assert len(ways) == 2
    return [on_wall(plan, wall, x, plan.wall / 2, plan.top - 0.4) for x, wall in ways], [
        on_wall(plan, wall, x + 4.0, plan.wall / 2, plan.top - 1.2) for x, wall in ways]


def body_screws(plan):
    return [(x, y, plan.bottom + plan.floor / 2) for x, y in plan.screws], [
        (x, y + plan.screw_hole / 2 + 1.3, plan.bottom + 0.9) for x, y in plan.screws]


# The lid

def drip_groove(plan):
    y = plan.width / 2 - plan.drip_inset - plan.drip_width / 2
    return [(0.0, s * y, plan.bottom + DRIP / 2) for s in (1, -1)], [
        (0.0, s * (y + plan.drip_width / 2 + 0.3), plan.bottom + DRIP / 2) for s in (1, -1)]


def cradle_cores(plan):
    assert plan.screws
    deep = plan.top - 0.7 * plan.core_depth
    return [(x, y, deep) for x, y in plan.screws], [
        (x, y + s * (plan.core + plan.boss) / 4, deep) for (x, y), s in zip(plan.screws, (1, -1) * 4, strict=False)]


def lid_windows(plan):
    pane, = plan.panes
    one = pane.openings[0]
    return [(one.x, one.y, (plan.bottom + plan.top) / 2), (pane.recess.x + pane.recess.length / 2 - 0.7, pane.recess.y,
                                                           plan.bottom + plan.recess / 2)], [
        (pane.recess.x + pane.recess.length / 2 - 0.7, pane.recess.y, plan.top - 0.3)]


def strip_grooves(plan):
    strip = plan.strip
    return [(0.0, s * strip.middle, plan.bottom + strip.depth / 2) for s in (1, -1)], [
        (0.0, s * strip.middle, plan.bottom + strip.depth + 0.3) for s in (1, -1)]


def valances(plan):
    strip, level = plan.strip, plan.bottom - 0.7 * RIM
    y = plan.width / 2 - strip.valance / 2
    return [(0.0, s * (plan.width / 2 - strip.valance - 0.4), level) for s in (1, -1)], [
        (0.0, s * y, level) for s in (1, -1)]


def strip_ways(plan):
    y = (plan.rim.width - plan.rim.wall) / 2
    level = plan.bottom - 0.6 * plan.rim.depth
    ways = [(x, y if wall == "left" else -y) for x, wall in plan.strip.ways]
    return [(x, y, level) for x, y in ways], [(x + 4.0, y, level) for x, y in ways]


def clip_ways(plan):
    clips, level = plan.clips, plan.bottom - plan.clips.middle
    return [_at(socket, -plan.rim.wall / 2, s * clips.clip.nose, level) for socket in clips.sockets for s in (1, -1)], [
        _at(socket, -plan.rim.wall / 2, clips.hole / 2 + 3.0, level) for socket in clips.sockets]


def without_lamps(plan):
    """They are cut by what cuts openings too."""
    return replace(plan, fittings=replace(plan.fittings, lamps=()))


FEATURES = [
    ("lamped", "body", lips, "body.standing"),
    ("fitted", "body", bosses, "body.standing"),
    ("fitted", "body", bosses, "body.hollows"),
    ("fitted", "body", straps, "body.hollows"),
    ("fitted", "body", tape_lands, "body.hollows"),
    ("fitted", "body", openings, "body.cuts"),
    ("fitted", "body", vents, "body.cuts"),
    ("lamped", "body", lamp_holes, without_lamps),
    ("fitted", "body", cable_tie_eyes, "body.eyes"),
    ("fitted", "body", fences, "body._fences"),
    ("fitted", "body", sides, "body._fields"),
    ("fitted", "body", name_plate, "body.sinks"),
    ("fitted", "body", letters, "body.lettered"),
    ("fitted", "body", way_for_a_lead, "body.way"),
    ("fitted", "body", beads, "body.beads"),
    ("fitted", "body", body_screws, "body._screw_holes"),
    ("lit", "body", strip_notches, "body._notches"),
    ("lit", "body", sides, "body._fields"),
    ("lit", "body", raised_panels, "body._panelled"),
    ("carrying", "lid", drip_groove, "lid._drip_groove"),
    ("carrying", "lid", cradle_cores, "lid._cores"),
    ("lit", "lid", lid_windows, "lid._windows"),
    ("lit", "lid", strip_grooves, "lid._strip_grooves"),
    ("lit", "lid", valances, "lid._valances"),
    ("lit", "lid", strip_ways, "lid._strip_ways"),
    ("carrying", "lid", clip_ways, "lid._noses_way"),
]
"""On which train a part has a feature, what finds it, and what draws it, or takes it out of the plan."""
NAMED = pytest.mark.parametrize(("train", "part", "feature", "drawer"), FEATURES, ids=lambda one: getattr(
    one, "__name__", str(one)))


@cache
def plain(train, part):
    return without(train, part, {drawer for *kind, _, drawer in FEATURES if kind == [train, part]})


@NAMED
def test_feature_is_there(train, part, feature, drawer):
    is_there(train, part, feature)


@NAMED
def test_without_it_is_noticed(train, part, feature, drawer):
    assert is_missed(plain(train, part), train, part, feature)
