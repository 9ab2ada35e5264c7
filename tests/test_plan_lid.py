"""The shell of a body and its lid as planned, by outlines of shapely's and sums by hand; no CAD kernel."""

from math import pi

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from msgspec.structs import replace
from plans import flat, lines_of, made, plan_of, train_of, wagons
from shapely import LineString, Point, box

from partgen.checks.openings import opening
from partgen.plan.body.lid_clip import BEAD_LONG, WINDOW
from partgen.plan.body.shell import segment

SETS = (("tray",), ("tray", "chip"), ("board", "tray"), ("board", "port"), ("cell", "tray", "port"))


@settings(max_examples=40)
@given(wagons(modules=SETS))
def test_fields_stand_between_posts_of_3_mm_all_alike(drawn):
    plan = made(drawn)
    body = plan.body
    assert bool(body.groove) == (body.sides != "plain" and bool(body.fields(body.length)))
    for wall in (body.length, body.width):
        fields = body.fields(wall)
        if not body.groove:
            assert fields == ()
            continue
        ends = [end - start for start, end in fields]
        assert ends == pytest.approx([ends[0]] * len(ends)) and fields[0][0] == pytest.approx(-fields[-1][1])
        assert all(b - a == pytest.approx(3.0) for (_, a), (b, _) in zip(fields, fields[1:], strict=False))
        assert wall / 2 - fields[-1][1] == pytest.approx(body.corner + 1.0)
        span = wall - 2 * (body.corner + 1.0)
        rivals = [abs((span + 3) / count - 32) for count in (len(fields) - 1, len(fields) + 1) if count]
        assert all(abs((span + 3) / len(fields) - 32) < other + 9 for other in rivals), "about 29 mm"
    low, high = body.field_z
    assert (low - body.bottom, body.top - high) == pytest.approx((3.0, 2.4))
    if body.groove:
        assert body.wall - body.groove >= 2 * lines_of(drawn) - 1e-9 and 0.3 <= body.groove <= 1.0
        assert body.recess == pytest.approx(body.groove * (0.5 if body.sides == "planked" else 1.0))
    steps = np.diff([low, *body.planks, high])
    assert steps == pytest.approx(steps[0]) and 3.0 < steps[0] < 8.0


@given(st.floats(0.5, 5), st.floats(0.01, 0.99))
def test_a_segment_is_what_a_line_cuts_off_a_circle(radius, share):
    height = share * radius
    cut = Point(0, 0).buffer(radius, quad_segs=512).intersection(box(radius - height, -9, 9, 9))
    assert segment(radius, height) == pytest.approx(cut.area, rel=1e-3, abs=1e-5)
    assert segment(radius, radius) == pytest.approx(pi / 2 * radius**2)


def test_a_thick_wall_is_fluted_for_the_screws_heads():
    """Heads of 6.88 mm, their middles 5.13 mm in: 1.69 mm stay to the outside, and 0.3 mm are to stay free."""
    thin, thick = plan_of({"wall": 1.2}).body, plan_of({"wall": 2.6}).body
    x, y = thick.screws[0]
    room = min(thick.length / 2 - x, thick.width / 2 - y) - thick.cone / 2
    assert thin.flute == 0.0 and thick.flute == pytest.approx(0.3 - (room - 2.6))


def test_vents_stay_off_fences_and_the_ways_of_screws_heads():
    """A head goes down within 0.3 mm all round; half a millimetre of whole wall stays beside its way."""
    body = plan_of({"wall": 3.4, "sides": "plain", "modules": ["tray", "board"]}).body
    heads = [Point(screw).buffer(body.cone / 2 + 0.3) for screw in body.screws]
    face = LineString([(-body.length, body.inside[1] / 2), (body.length, body.inside[1] / 2)])
    flutes = [head.intersection(face).bounds for head in heads if head.intersects(face)]
    assert body.fittings.vents and body.fences and flutes
    for x, _ in body.fittings.vents:
        assert all(x + 1.0 <= low - 0.5 or x - 1.0 >= high + 0.5 for low, _, high, _ in flutes)
        assert all(abs(x - fence) >= (body.rib + 2.0) / 2 for fence in body.fences)


def test_an_opening_in_the_way_of_a_screws_head_fails_and_a_thinner_wall_cures_it():
    train = train_of({"wall": 3.4, "modules": ["port"]})
    assert all(found.verdict == "pass" for found in opening(train))
    wagon, (seen, *others) = train.wagons[0], train.wagons[0].body.fittings.openings
    moved = replace(wagon.body.fittings, openings=(replace(seen, along=wagon.body.screws[0][0]), *others))
    found, = (found for found in opening(replace(train, wagons=(replace(wagon, body=replace(
        wagon.body, fittings=moved)),))) if found.verdict == "fail")
    thinner = float(found.reason.split("a wall up to ")[1].split()[0])
    assert plan_of({"wall": thinner, "modules": ["port"]}).body.flute == 0.0


@settings(max_examples=30)
@given(wagons(modules=((), ("tray",), ("board", "port"))), st.sampled_from(["", "TEA 7"]))
def test_a_bodys_volume_is_that_of_its_outlines(drawn, name):
    """Floor and walls by shapely's areas; fields as frusta of 45 degrees; what modules need, piece by piece."""
    wish, printer = drawn
    plan = made(({**wish, "plate": name} if name else wish, printer))
    body, (x, y, z) = plan.body, plan.body.inside
    thick, rib = max(2.4, 1.2 + 2 * lines_of(drawn)), max(1.6, 2 * lines_of(drawn))
    outer = rounded(body.length, body.width, 4.0)
    volume = outer.area * thick + (outer - rounded(x, y, max(4.0 - body.wall, 0.8))).area * z
    volume += sum(rib * (2.4 + rib) * (y - min(14.0, y / 3)) for _ in body.fences)
    volume -= 4 * pi / 4 * (body.screw_hole**2 * thick + body.cone**2 * body.cone_height / 3)
    if body.flute:
        r = body.cone / 2 + 0.3
        volume -= 4 * z * Point(0, 0).buffer(r, quad_segs=99).intersection(box(r - body.flute, -9, 9, 9)).area
    volume -= 2 * sum(field_volume(body, end - start) for wall in (body.length, body.width)
                      for start, end in body.fields(wall))
    volume += body.fittings.volume(body.wall - body.recess / 2)
    if body.lid_clips:
        assert body.lid_clips.bead_volume == pytest.approx(4 * 0.7 * (0.7 + 0.2) * (5.0 + 0.7))
        volume += body.lid_clips.bead_volume
    named = body.nameplate.taken(body) if body.nameplate else 0.0
    assert body.volume == pytest.approx(volume - named, rel=2e-3)
    floor, walls = body.length * body.width * thick, body.volume - body.length * body.width * thick
    assert body.centroid_z == pytest.approx(
        body.bottom + (floor * thick / 2 + walls * (thick + z / 2)) / (floor + walls))


def rounded(length, width, radius):
    return box(-length / 2, -width / 2, length / 2, width / 2).buffer(-radius).buffer(radius, quad_segs=64)


def field_volume(body, long):
    """A sunk field, edges sloping at 45 degrees; planks' grooves as triangles, a panel's middle raised again."""
    low, high = body.field_z
    tall, deep = high - low, body.recess
    steps = np.linspace(0, deep, 200)
    taken = np.trapezoid((long - 2 * steps) * (tall - 2 * steps), steps)
    if body.sides == "planked":
        return taken + len(body.planks) * long * (body.groove - deep)**2
    edge = 2 * 1.8 + 3 * deep
    return taken - max(long - edge, 0) * max(tall - edge, 0) * 0.6 * deep


# ---- the lid

@settings(max_examples=40)
@given(wagons(modules=(("tray",), ("board", "port"), ("dial",)), cups=((), ("tea",), ("tea", "mug"))))
def test_a_lid_covers_its_body_and_its_rim_goes_inside(drawn):
    plan = made(drawn)
    lid, body, two = plan.lid, plan.body, 2 * lines_of(drawn)
    plate, rim = max(2.4, 0.4 + two), 5.0 + max(two - 1.2, 0.0)
    eaves = max(1.6, max(0.9, two) + max(0.5, two / 2) + 0.2)
    assert (lid.length, lid.width) == pytest.approx((body.length + 2 * eaves, body.width + 2 * eaves))
    assert lid.bottom == body.top and lid.top - lid.bottom == pytest.approx(plate) and lid.rim.depth == rim
    assert (body.inside[0] - lid.rim.length) / 2 == pytest.approx(lid.rim.gap) and lid.rim.gap > 0
    assert body.inside[1] - lid.rim.width == pytest.approx(2 * lid.rim.gap)
    assert lid.rim.wall == max(1.6, two) and lid.lowest == lid.bottom
    assert lid.recess == pytest.approx(plate - max(1.2, two))
    seated = bool(plan.cups)
    # Through 2.4 mm of cradle M2 x 8 reaches 5.6 mm, the larger ones x 10 reach 7.6 mm; half a mm more is hollow.
    core = 6.1 if plan.wagon.screw == "M2" else 8.1
    reach = core + max(1.2, two) - plate if seated else 0.0
    assert lid.boss_reach == pytest.approx(reach) and lid.size[2] == pytest.approx(plate + max(rim, reach))
    if seated:
        assert lid.core_depth == pytest.approx(core)
        free = min(body.inside[2] - one.z - one.height for one in plan.layout.placed)
        assert plan.wagon.height or free >= reach + 0.4 - 1e-6, "no module below a boss is near it"
    assert len(lid.screws) == (4 if seated else 0) and lid.bevel == (0.6 if seated else 1.2)
    for x, y in lid.screws:
        assert lid.rim.length / 2 - abs(x) == pytest.approx(lid.boss / 2 + 0.2) == lid.rim.width / 2 - abs(y)
    assert bool(lid.panes) == ("dial" in plan.wagon.modules and not seated)
    volume = rounded(lid.length, lid.width, lid.corner).area * plate
    volume -= (lid.bevel**2 + 2 * 0.4 * lid.drip_width) * (lid.length + lid.width - 2 * lid.corner)
    ring = rounded(lid.rim.length, lid.rim.width, lid.rim.rounding) - rounded(
        lid.rim.length - 2 * lid.rim.wall, lid.rim.width - 2 * lid.rim.wall, lid.rim_inner_corner)
    volume += ring.area * rim + lid.clips.volume
    volume -= 2 * 2 * lid.rim.wall * rim * (WINDOW + lid.clips.hole / 2)
    volume += len(lid.screws) * pi / 4 * (0.6 * lid.boss**2 * lid.boss_reach - lid.core**2 * lid.core_depth)
    for pane in lid.panes:
        volume -= pane.recess.length * pane.recess.width * lid.recess
        volume -= sum(one.length * one.width for one in pane.openings) * lid.front
    assert lid.volume == pytest.approx(volume, rel=1e-3)
    assert lid.centroid_z == pytest.approx(lid.bottom + 0.35 * plate)


@settings(max_examples=40)
@given(wagons(modules=(("tray",), ("dial",), ("dial", "tray"))))
def test_lid_clips_stand_opposite_each_other_with_arms_that_bend_enough(drawn):
    """On the ends where an arm is long enough there, else staggered on the sides; half a turn maps one on the other."""
    plan = made(drawn)
    clips, rim, clip = plan.lid.clips, plan.lid.rim, plan.lid.clips.clip
    (x, y, yaw), (u, v, way) = ((s.x, s.y, s.yaw) for s in clips.sockets)
    assert (u, v) == pytest.approx((-x, -y)) and abs(yaw - way) == 180.0
    assert (x, y) == pytest.approx((rim.length / 2, 0)) if yaw == 0.0 else y == pytest.approx(rim.width / 2)
    side = rim.width if yaw == 0.0 else rim.length
    off = 0.0 if yaw == 0.0 else abs(x)
    assert clip.nose + WINDOW / 2 + off <= side / 2 - rim.wall - rim.corner + 1e-6, "it ends before the corner"
    assert clip.strain <= clips.permissible + 1e-9 and clip.arm >= 4.0
    assert BEAD_LONG == 5.0 and WINDOW == pytest.approx(5.0 + 1.4 + 1.2)
    # by hand: the arm, two lines or more, 0.4 mm room and what faces spread by, a nose's way of 0.55 mm, the same
    # room, then 5 mm of block; what a sliding fit of 0.35 mm leaves on one side, less 0.15 mm
    room = 0.4 + clip.spread
    assert clip.depth == pytest.approx(rim.wall + room + clip.thickness + 0.55 + room + 5.0)
    assert clip.reach == pytest.approx(0.35 / 2 - 0.15) and clip.height == pytest.approx(2.4)
    assert clips.middle == pytest.approx(1.1 + clip.height / 2)
    assert clips.bead_middle == pytest.approx(clips.middle - 0.4 - 0.55 - 0.1)
    for block, socket in zip(clips.blocks, clips.sockets, strict=True):
        shape = flat(block)
        near, far = clips.socket
        assert shape.area == pytest.approx((far - near) * (clips.hole + 2 * clips.wall))
        assert shape.distance(Point(socket.x, socket.y)) == pytest.approx(near)
        assert abs(shape.centroid.x) < rim.length / 2 and abs(shape.centroid.y) < rim.width / 2
    block = (clips.hole + 2 * clips.wall) * (clips.socket[1] - clips.socket[0]) * (
        clips.middle + clip.height / 2 + 0.1 + clips.roof)
    cave = clips.hole * (clips.socket[1] - clips.wall - clips.socket[0]) * (clip.height + 0.2)
    assert clips.volume == pytest.approx(2 * (block - cave))
    arms = 2 * (clip.arm + 2.0) * clip.thickness
    noses = 2 * 4.0 * ((clip.face + clip.reach) * clip.height - ((clip.height - 0.6) / 2)**2)
    assert clip.volume == pytest.approx((7.0 * (clip.depth - 0.3) + arms) * clip.height + noses)
    assert clip.size == pytest.approx((clip.depth + clip.reach, 7.0 + 2 * clip.arm + 4.0, clip.height))
    assert clip.nose + 2.0 == clip.end and clip.centroid_z == 0.0
