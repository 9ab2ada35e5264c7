"""What frame, running gear, couplers, cradles and track parts must have: found by points in plastic and in air of the
drawn solid, and missed without it.

Each feature names the function that draws it. With such functions drawing nothing, some point is where it should not
be: so no feature can be lost unnoticed. Points come from the plan's sizes; the kernel says where a point lies.
"""

from functools import cache
from itertools import pairwise

import pytest
from features import is_missed, is_there, without
from msgspec.structs import replace

from partgen.describe.turned import diameter_at
from partgen.parts import coupler
from partgen.plan.deck.cradle import BORDER
from partgen.plan.fill_gauge import PLATE
from partgen.plan.trackside import BACK, HANDLE, RAMP, TEMPLATE

pytestmark = pytest.mark.slow


# The frame

def sole_bar_panels(plan):
    middle = (plan.bottom + plan.top) / 2
    return [(0.0, s * (plan.width / 2 - 0.6 * plan.panel), middle) for s in (1, -1)], [
        (0.0, s * (plan.width / 2 - 1.4 * plan.panel), middle) for s in (1, -1)]


def frame_pockets(plan):
    near = [((p.near[0] + p.far[0]) / 2, (p.near[1] + p.far[1]) / 2) for p in plan.pockets]
    return [(x, y, plan.bottom + 0.4) for x, y in near], [(x, y, plan.top - plan.plate / 2) for x, y in near]


def frame_cores(plan):
    deep = plan.top - 0.8 * plan.core_depth
    return [(x, y, deep) for x, y in plan.screws], [(x + plan.core / 2 + 0.7, y, deep) for x, y in plan.screws]


def pivot_cores(plan):
    return [(p.x, 0.0, p.spigot_bottom + p.core_depth / 2) for p in plan.seats], [
        (p.x, (p.core + p.spigot) / 4, p.spigot_bottom + 1.0) for p in plan.seats]


def slots(plan):
    slide = plan.slide
    at = [(n0 + n1) / 2 for n0, n1 in slide.necks]
    return [(x, 0.0, plan.bottom + slide.neck_height / 2) for x in at], [
        (end + 1.2, 0.0, plan.top - 1.5) for _, end in slide.slots]


def grooves(plan):
    slide = plan.slide
    spans = [span for stretch in slide.groove_stretches for span in stretch]
    y = slide.groove_width / 2 - 0.6
    return [((a + b) / 2, y, plan.bottom + 0.5 * slide.groove_depth) for a, b in spans], [
        ((a + b) / 2, y, plan.bottom + 1.5 * slide.groove_depth) for a, b in spans]


def guards(plan):
    """A ring round each coupler's spigot, open to the outside."""
    found = [(sign, seat.x, (seat.guard_inner + seat.boss) / 2, (seat.guard_bottom + seat.boss_bottom) / 2)
             for sign, seat in zip((1, -1), plan.seats, strict=True)]
    return [(x + sign * r, 0.0, z) for sign, x, r, z in found], [(x - sign * r, 0.0, z) for sign, x, r, z in found]


def lead_way(plan):
    """The way for a sensor's lead through the frame, in its collar; its edge that lies on the bed is broken, 0.4 mm."""
    one, = plan.hung
    edge = one.way.y - one.way.width / 2
    return [(one.way.x, one.way.y, plan.bottom + 1.0), (one.way.x + one.way.length / 2 - 1, one.way.y, plan.top - 1),
            (one.way.x, edge - 0.2, plan.top - 0.1)], [
        (one.way.x, edge - 0.8, plan.bottom + 1.0), (one.way.x, edge - 0.2, plan.bottom + 0.1)]


def sensor_lug(plan):
    """The lug that a sensor's tray is clamped to, with its slot and the notches of its scale."""
    lug, = (one.lug for one in plan.hung)
    y, rear, front = lug.y + lug.thick / 2, lug.x - lug.half + 0.1, lug.x + lug.half - 0.1
    between = [(rear, y, (a + b) / 2) for a, b in pairwise(lug.marks)]
    return [(lug.x, y, z) for z in (lug.low, lug.middle, lug.high)] + [(rear, y, z) for z in lug.marks] + [
        (front, y, lug.middle)], [(lug.x, y, lug.bottom + 1.0), (lug.x, y, plan.bottom - 0.5), *between,
                                  (front, y, lug.marks[0]), (lug.x + lug.slot / 2 + 0.8, y, lug.middle)]


# Cradle and insert

def drip_moat(plan):
    """A raised border all round, within which a spill stays."""
    deck, z = plan.bottom + plan.plate, plan.bottom + plan.plate + 0.5 * plan.border
    inside = plan.length / 2 - BORDER - plan.border
    return [(s * (inside - 0.6), 0.0, z) for s in (1, -1)], [
        (s * (plan.length / 2 - 0.6 * BORDER), 0.0, deck + 0.3 * plan.border) for s in (1, -1)]


def seat_hollow(plan):
    deck, seat = plan.bottom + plan.plate, plan.seats[0]
    z = deck + 0.3 * seat.sill
    return [(seat.x, seat.y, z)], [(seat.x - 0.5 * (seat.profile[0][1] + seat.outer_profile[0][1]) / 2, seat.y, z)]


def finger_windows(plan):
    deck, seat = plan.bottom + plan.plate, plan.seats[0]
    z = deck + 0.8 * seat.height
    radius = (seat.profile[-1][1] + seat.outer_diameter) / 4
    return [(seat.x, seat.y + s * radius, z) for s in (1, -1)], [(seat.x + s * radius, seat.y, z) for s in (1, -1)]


def bead_groove(plan):
    seat = plan.seats[0]
    middle, depth = seat.groove
    assert depth > 0
    deck, (inside, above) = plan.bottom + plan.plate, (diameter_at(seat.profile, middle + k * depth) for k in (0, 2))
    return [(seat.x + inside / 2 + 0.5 * depth, seat.y, deck + middle)], [
        (seat.x + above / 2 + 0.5 * depth, seat.y, deck + middle + 2 * depth)]


def cradle_screws(plan):
    assert plan.screws
    return [(x, y, plan.bottom + 0.3 * plan.plate) for x, y in plan.screws], [
        (x, y - (1 if y > 0 else -1) * (plan.cone / 2 + 0.8), plan.bottom + 0.3 * plan.plate) for x, y in plan.screws]


def slit(plan):
    radius = diameter_at(plan.outer, 3.0) / 2 - 0.5
    return [(0.0, radius, 3.0)], [(0.0, -radius, 3.0)]


def ears(plan):
    assert plan.ear
    y = diameter_at(plan.outer, plan.height - 2) / 2 + 2.0
    return [(0.0, y, plan.height - 2)], [(s * (plan.slit + plan.ear) / 2, y, plan.height - 2) for s in (1, -1)]


# Coupler

def magnet_pockets(plan):
    x = plan.reach - plan.skin - plan.magnet_slot / 2
    return [(x, y, 0.0) for y in plan.pockets], [(plan.reach - plan.skin / 2, y, 0.0) for y in plan.pockets]


def cover_recess(plan):
    x, z = plan.reach - plan.skin - plan.cover_length / 2, plan.cover_depth / 2 - plan.thickness / 2
    edge = plan.cover_width / 2 - 0.25
    return [(x, s * edge, z) for s in (1, -1)], [(x, s * (plan.cover_width / 2 + 0.4), z) for s in (1, -1)]


def pole_marks(plan):
    """Read from below, N: its left stem is engraved; S: its upper bar; each where the other has none."""
    pitch = plan.head_width / len(plan.pockets)
    low, high = plan.mark_span
    wide, tall = high - low, min(coupler.LETTER, pitch - 2.2)
    middle, z = (low + high) / 2, 0.5 * coupler.ENGRAVED - plan.thickness / 2
    stem = [(middle - wide / 2 + plan.stroke / 2, y + 0.25 * tall, z) for y, pole in
            zip(plan.pockets, plan.marks, strict=True) if pole == "N"]
    bar = [(middle, y - tall / 2 + plan.stroke / 2, z) for y, pole in zip(plan.pockets, plan.marks, strict=True)
           if pole == "S"]
    assert stem and bar
    return stem + bar, [(middle - wide / 2 + plan.stroke / 2, y + 0.25 * tall, z) for y, pole in
                        zip(plan.pockets, plan.marks, strict=True) if pole == "S"]


def pivot_hole(plan):
    return [(0.0, 0.0, 0.0)], [(0.0, plan.pivot_hole / 2 + 0.5, 0.0)]


# Running gear

def teeth(plan):
    z = plan.top + 0.5 * plan.tooth_height
    xs = [x for x in plan.teeth if min(abs(x - plan.screw_x), abs(x + plan.screw_x)) > plan.screw_hole]
    assert xs
    return [(x + plan.tooth_pitch / 2, 0.0, z) for x in xs], [(x, 0.0, z) for x in xs]


def holder_screws(plan):
    return [(s * plan.screw_x, 0.0, plan.top - plan.plate / 2) for s in (1, -1)], [
        (s * plan.screw_x, -plan.screw_hole / 2 - 0.8, plan.top - plan.plate / 2) for s in (1, -1)]


def standing_back(plan):
    """Only the pads under it reach the wheels."""
    clip, y = plan.clip, plan.width / 2 - 0.1
    x = getattr(plan, "axle_x", 0.0)
    return [(x, s * y, clip.pad + 1.0) for s in (1, -1)], [(x, s * y, clip.pad - 0.3) for s in (1, -1)]


def nut_pockets(plan):
    z = plan.height - plan.nut_depth / 2
    return [(s * plan.screw_x, 0.0, z) for s in (1, -1)], [
        (s * plan.screw_x, 0.5 * plan.nut + 0.5, z) for s in (1, -1)]


def pin_hole(plan):
    z = (plan.under + plan.top) / 2
    return [(0.0, 0.0, z)], [(0.0, plan.pin_hole / 2 + 0.8, z)]


# For the track

def nut_pocket(plan):
    """Open upwards, its screw's hole before it; plastic before and behind the nut."""
    outside, z = plan.half_y + plan.block, plan.screw_z
    nut = outside - plan.plate - plan.nut_deep / 2
    return [(0.0, nut, z), (0.0, nut, plan.block_top - 0.3), (0.0, outside - plan.plate / 2, z)], [
        (0.0, plan.half_y - plan.wall / 2, z), (0.4 * plan.nut, outside - plan.plate / 2, z),
        (plan.nut / 2 + 0.8, nut, z)]


def pointers(plan):
    outside = plan.half_y + plan.block - 0.1
    ends = [s * (plan.block_half - 0.5) for s in (1, -1)]
    return [(x, outside, plan.screw_z) for x in ends], [(x, outside, plan.screw_z + s) for x in ends for s in (1, -1)]


def foil_recess(plan):
    return [(0.0, 0.0, plan.height - plan.recess / 2)], [(0.0, plan.width / 2 - 0.8, plan.height - plan.recess / 2)]


def ramps(plan):
    x = plan.size[0] / 2 - 0.2 * RAMP
    return [(s * x, 0.0, plan.height - 0.1) for s in (1, -1)], [(s * x, 0.0, plan.tip - 0.1) for s in (1, -1)]


def gauge_dots(plan):
    return [(0.0, 0.17 * BACK, PLATE / 2)], [(0.0, -0.17 * BACK, PLATE / 2)]


def template_handle(plan):
    return [(0.0, TEMPLATE / 2, PLATE / 2)], [(0.0, TEMPLATE / 2 + HANDLE / 2 + 1.0, PLATE / 2)]


FEATURES = [
    ("fitted", "frame", sole_bar_panels, "frame._panels"),
    ("carrying", "frame", frame_pockets, "frame._hollow"),
    ("fitted", "frame", frame_cores, "frame._cores"),
    ("fitted", "frame", pivot_cores, "frame._cores"),
    ("fitted", "frame", slots, "frame._slots"),
    ("fitted", "frame", grooves, "frame._grooves"),
    ("fitted", "frame", guards, "frame.turned_part"),
    ("fitted", "frame", lead_way, "frame.way"),
    ("fitted", "frame", sensor_lug, "sensor_holder._slot"),
    ("fitted", "frame", sensor_lug, "sensor_holder._scale"),
    ("carrying", "cradle", drip_moat, lambda plan: replace(plan, border=0.3)),
    ("carrying", "cradle", seat_hollow, "cradle._inside"),
    ("carrying", "cradle", finger_windows, "cradle._windows"),
    ("carrying", "cradle", bead_groove, lambda plan: replace(plan, seats=tuple(
        replace(seat, groove=(seat.groove[0], 0.0)) for seat in plan.seats))),
    ("carrying", "cradle", cradle_screws, "cradle._screw_holes"),
    ("carrying", "insert", slit, "cradle._slit"),
    ("carrying", "insert", ears, "cradle._ears"),
    ("fitted", "coupler", magnet_pockets, "coupler._pocket"),
    ("fitted", "coupler", cover_recess, "coupler._recess"),
    ("fitted", "coupler", pole_marks, "coupler._mark"),
    ("fitted", "coupler", pivot_hole, "coupler._pivot"),
    ("fitted", "axle-holder", teeth, "running_gear.tooth"),
    ("fitted", "axle-holder", holder_screws, "running_gear.screw_hole"),
    ("fitted", "axle-holder", standing_back, "running_gear._recess"),
    ("fitted", "clamp-bar", nut_pockets, "running_gear._nut"),
    ("long", "bogie", pin_hole, "running_gear.drop"),
    ("long", "bogie", standing_back, "running_gear._recess"),
    ("fitted", "sensor-holder", nut_pocket, "sensor_holder._nut"),
    ("fitted", "sensor-holder", pointers, "sensor_holder._pointers"),
    ("track", "marker", foil_recess, "trackside.rounded_box"),
    ("track", "marker", ramps, "trackside._ramps"),
    ("track", "track-gauge", gauge_dots, "trackside.cylinder"),
    ("track", "radius-template", template_handle, "trackside.rounded_box"),
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
