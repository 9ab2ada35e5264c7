"""What a wagon looks like from the side, from behind and from above, drawn from its plan.

What stands farther off is drawn first, and what stands before it covers it.
"""

from collections.abc import Callable, Iterator
from math import atan2

from partgen.describe.cup_table import Cup
from partgen.describe.track_tables import Track
from partgen.describe.turned import Profile, cut_off, diameter_at
from partgen.plan.deck.handles import handle_of
from partgen.plan.deck.seats import Seat
from partgen.plan.outline import around, circle
from partgen.plan.running_gear.bogie import BogieGear, BogiePlan
from partgen.plan.running_gear.pin_cups import PinCups
from partgen.plan.running_gear.two_axle import TwoAxleGear
from partgen.plan.wagon import WagonPlan
from partgen.report.sheets.drafting import SMALL, View, letters

FINEST = 1.6            # mm of paper between two planks: finer ones are left out

Points = list[tuple[float, float]]


# ---- from the side


def _side(view: View, plan: WagonPlan, track: Track) -> None:
    far, body, frame = plan.over_couplers / 2 + 4.0 / view.scale, plan.body, plan.frame
    view.shape([(-far, 0.0), (far, 0.0)], "thin", shut=False)
    letters(view.axes, (view.at[0], view.at[1] - SMALL - 1.0), "rail top", SMALL, ha="center")
    _gear(view, plan)
    for way in (1.0, -1.0):
        _coupler(view, plan, way)
    for one in plan.hung:
        x, half = one.way.x, one.tray.half_x
        view.box((x - half, x + half), (one.bottom, one.bottom + one.tray.size[2]))
        view.box((one.lug.x - one.lug.half, one.lug.x + one.lug.half), (one.lug.bottom, frame.bottom))
    view.box(_about(frame.length), (frame.bottom, frame.top), gid="frame")
    view.box(_about(body.length), (body.bottom, body.top), gid="body")
    _wall(view, plan, "right", body.length)
    view.box(_about(body.inside[0]), (plan.floor_z, body.top), "hidden", False)
    _upper(view, plan, 0)
    for x in plan.gear.axles:
        view.cross((x, plan.gear.axle_z), plan.wheelset.flange_diameter / 2)
    for pivot in plan.gear.bolsters:
        view.axis((pivot.x, plan.gear.axle_z), (pivot.x, plan.frame.bottom))


def _gear(view: View, plan: WagonPlan) -> None:
    """Draw holders or bogies, and the wheels before them; cheeks for pointed axles stand before those."""
    gear, wheels, z = plan.gear, plan.wheelset, plan.gear.axle_z
    outlines = list(_carriers(plan))
    pins = wheels.ends == "pin"
    for outline in () if pins else outlines:
        view.shape(outline)
    for x in gear.axles:
        view.ring((x, z), wheels.flange_diameter / 2)
        view.ring((x, z), wheels.tread_radius, gid="tread")
        view.ring((x, z), wheels.axle_diameter / 2)
    for outline in outlines if pins else ():
        view.shape(outline)


def _carriers(plan: WagonPlan) -> Iterator[Points]:
    """Yield the outlines of axle holders, or of bogies and the pads they bear, from the side."""
    gear, z = plan.gear, plan.gear.axle_z
    if isinstance(gear, TwoAxleGear):
        half, low, clip = gear.holder.half_length, gear.holder.under, gear.clip
        foot = min(clip.breadth / 2 if isinstance(clip, PinCups) else clip.tip, half)
        side = [(foot, -clip.depth), (foot, low), (half, low), (half, gear.holder.top)]
        for x in gear.axles:
            yield _both(side, x, z)
    if isinstance(gear, BogieGear):
        for pivot in gear.bolsters:
            yield _both(_bogie(gear.bogie), pivot.x, z)
            yield _both([(pivot.boss, pivot.boss_bottom), (pivot.boss, gear.frame_bottom)], pivot.x, 0.0)


def _bogie(bogie: BogiePlan) -> Points:
    """Return the right half of a bogie from the side, from its middle round the leg to its upper face."""
    inside = bogie.axle_x - bogie.clip.half
    return [(bogie.under_flat, bogie.under), (inside, bogie.haunch), (inside, -bogie.clip.depth),
            (bogie.half_length, -bogie.clip.depth), (bogie.half_length, bogie.end_top), (bogie.flat, bogie.top)]


def _both(side: Points, x: float, z: float) -> Points:
    """Return an outline of a right half and the left one that mirrors it, about a place."""
    return [*((x + u, z + v) for u, v in side), *((x - u, z + v) for u, v in reversed(side))]


def _coupler(view: View, plan: WagonPlan, way: float) -> None:
    """Draw drawbar, screw and guard at an end of the wagon, its magnets dashed."""
    bar, seat = (plan.coupling.front if way > 0 else plan.coupling.rear), plan.frame.seats[0]
    x, z, half = way * seat.x, plan.coupling.height, bar.thickness / 2
    view.box((x - seat.spigot / 2, x + seat.spigot / 2), (plan.coupling.lowest, seat.spigot_bottom))
    ends = (x - way * bar.tail_radius, x + way * bar.reach)
    view.box(ends, (z - half, z + half), gid="drawbar")
    view.box((x - seat.boss, x + seat.boss), (seat.guard_bottom, plan.frame.bottom))
    stop, radius = x + way * (bar.reach - bar.skin), plan.coupler.magnet_diameter / 2
    view.box((stop - way * plan.coupler.magnet_length, stop), (z - radius, z + radius), "hidden", False)
    view.axis((x, plan.coupling.lowest), (x, plan.frame.bottom))


def _wall(view: View, plan: WagonPlan, wall: str, along: float) -> None:
    """Draw what a wall of the body shows: fields of planks or panels, name plate, openings."""
    body, way = plan.body, -1.0 if wall == "back" else 1.0
    axis = 1 if wall == "back" else 0
    low, high = body.field_z
    for start, end in body.fields(along):
        view.box((start, end), (low, high), "thin", False)
        planks = body.planks if body.sides == "planked" else ()
        if planks and (planks[0] - low) * view.scale >= FINEST:
            for z in planks:
                view.shape([(start, z), (end, z)], "thin", shut=False)
    for plate, tablet in [(body.nameplate, one) for one in body.nameplate.tablets] if body.nameplate else ():
        if tablet.wall == wall:
            long, tall = plate.size
            view.box((tablet.along - long / 2, tablet.along + long / 2), (tablet.z - tall / 2, tablet.z + tall / 2))
            letters(view.axes, view.paper((tablet.along, tablet.z)), plate.text, plate.letter * view.scale, ha="center",
                    va="center", zorder=view.order)
    for cutout in plan.layout.cutouts:
        if cutout.wall == wall:
            at, z = way * cutout.middle[axis], plan.floor_z + cutout.middle[2]
            view.box((at - cutout.size[axis] / 2, at + cutout.size[axis] / 2),
                     (z - cutout.size[2] / 2, z + cutout.size[2] / 2))


def _upper(view: View, plan: WagonPlan, axis: int) -> None:
    """Draw lid, cradle and cups as they are seen from beside: along x where `axis` is 0, else along y from behind."""
    lid, cradle = plan.lid, plan.cradle
    if lid:
        size, rim = (lid.length, lid.width)[axis], (lid.rim.length, lid.rim.width)[axis]
        view.box(_about(size), (lid.lowest, lid.top), gid="lid")
        view.box(_about(rim), (lid.bottom - lid.rim.depth, lid.bottom), "hidden", False)
    if cradle:
        hidden = plan.laid_in
        line, top = ("hidden" if hidden else "outline"), plan.deck_z
        view.box(_about((cradle.length, cradle.width)[axis]), (cradle.bottom, top), line, not hidden)
    for seat, cup in plan.cups:
        at = -seat.y if axis else seat.x
        if not plan.laid_in:
            view.shape(_turned(seat.outer_profile, at, plan.deck_z))
        else:
            _half_hidden(view, plan, seat, at)
        _cup(view, seat, cup, plan.deck_z, axis)
        view.axis((at, plan.deck_z), (at, plan.deck_z + cup.height))


def _half_hidden(view: View, plan: WagonPlan, seat: Seat, at: float) -> None:
    """Draw a seat in an open body: what the wall hides is dashed."""
    rim = plan.body.top - plan.deck_z
    whole = seat.outer_profile
    if rim >= seat.height:
        view.shape(_turned(whole, at, plan.deck_z), "hidden", False)
        return
    if rim > 0:
        view.shape(_turned(cut_off(whole, rim), at, plan.deck_z), "hidden", False)
        whole = ((rim, diameter_at(whole, rim)), *((h, d) for h, d in whole if h > rim))
    view.shape(_turned(whole, at, plan.deck_z))


def _turned(profile: Profile, at: float, low: float) -> Points:
    """Return the outline from beside of a turned thing that stands at a place, its foot at a height."""
    return [*((at + d / 2, low + h) for h, d in profile), *((at - d / 2, low + h) for h, d in reversed(profile))]


def _cup(view: View, seat: Seat, cup: Cup, low: float, axis: int) -> None:
    """Draw a cup and its handle as they stand in a seat: they are no part of the wagon."""
    at = -seat.y if axis else seat.x
    view.shape(_turned(cup.profile, at, low), "beside", False)
    handle = handle_of((seat, (cup,)))
    if handle:
        places = [-point.imag if axis else point.real for point in handle.corners]
        view.box((min(places), max(places)), (low + handle.low, low + cup.height), "beside", False)


def _about(size: float) -> tuple[float, float]:
    return -size / 2, size / 2


# ---- from behind


def _end(view: View, plan: WagonPlan, track: Track) -> None:
    gear, wheels, body, z = plan.gear, plan.wheelset, plan.body, plan.gear.axle_z
    for s in (1.0, -1.0):
        inner, outer = s * track.gauge / 2, s * (track.gauge / 2 + track.rail_head)
        view.box((inner, outer), (-track.rail_height, 0.0), gid="rail")
    _hung_across(view, plan)
    view.box(_about(wheels.back_to_back), (z - wheels.axle_diameter / 2, z + wheels.axle_diameter / 2))
    for s in (1.0, -1.0):
        back, tread = wheels.back_to_back / 2, wheels.tread_radius
        view.box((s * back, s * (back + wheels.flange_thickness)),
                 (z - wheels.flange_diameter / 2, z + wheels.flange_diameter / 2))
        view.box((s * (back + wheels.flange_thickness), s * (back + wheels.width)), (z - tread, z + tread))
    under, top = _plate(plan)
    if isinstance(gear.clip, PinCups):
        for s in (1.0, -1.0):
            outer = s * gear.carrier_width / 2
            view.box((outer - s * gear.clip.thick, outer), (z - gear.clip.depth, z + under))
    low = under if isinstance(gear.clip, PinCups) else -gear.clip.depth
    view.box(_about(gear.carrier_width), (z + low, z + top))
    for pivot in plan.frame.bolsters[:1]:
        view.box(_about(2 * pivot.boss), (pivot.boss_bottom, plan.frame.bottom))
    _head(view, plan)
    view.box(_about(plan.frame.width), (plan.frame.bottom, plan.frame.top))
    view.box(_about(body.width), (body.bottom, body.top), gid="body")
    _wall(view, plan, "back", body.width)
    _upper(view, plan, 1)
    view.axis((0.0, -track.rail_height), (0.0, plan.deck_z))


def _hung_across(view: View, plan: WagonPlan) -> None:
    """Draw from behind what hangs to look at the track: lug, tray, and the block at the tray's left, sloped below."""
    for one in plan.hung:
        tray, lug, edge, low = one.tray, one.lug, -one.tray.half_y, one.bottom
        view.box((-lug.outside, -lug.y), (lug.bottom, plan.frame.bottom))
        view.shape([(edge, low), (edge - tray.block, low + tray.block_low), (edge - tray.block, low + tray.block_top),
                    (edge, low + tray.block_top)])
        view.box(_about(2 * tray.half_y), (low, low + tray.tray), gid="tray")


def _plate(plan: WagonPlan) -> tuple[float, float]:
    """Return the lower and upper face over the axle [mm] of what holds it under the frame."""
    if isinstance(plan.gear, BogieGear):
        return plan.gear.bogie.under, plan.gear.bogie.top
    assert isinstance(plan.gear, TwoAxleGear)
    return plan.gear.holder.under, plan.gear.holder.top


def _head(view: View, plan: WagonPlan) -> None:
    """Draw the rear coupler: pivot, guard, head and magnets."""
    bar, seat, z = plan.coupling.rear, plan.frame.seats[0], plan.coupling.height
    view.box(_about(seat.spigot), (plan.coupling.lowest, plan.frame.bottom))
    view.box(_about(2 * seat.boss), (seat.guard_bottom, plan.frame.bottom))
    view.box(_about(bar.head_width), (z - bar.thickness / 2, z + bar.thickness / 2))
    for y in bar.pockets:
        view.ring((y, z), plan.coupler.magnet_diameter / 2, "hidden", False)


# ---- from above


def _top(view: View, plan: WagonPlan, track: Track) -> None:
    body, lid, cradle = plan.body, plan.lid, plan.cradle
    for way in (1.0, -1.0):
        view.shape(_drawbar(plan, way))
    view.shape(around(body.length, body.width, body.corner), gid="body")
    if lid:
        view.shape(around(lid.length, lid.width, lid.corner), gid="lid")
        for opening in (one for pane in lid.panes for one in pane.openings):
            view.box(*opening.spans)
    elif not cradle or plan.laid_in:
        view.shape(around(*body.inside[:2], body.inner_corner))
    if cradle:
        view.shape(around(cradle.length, cradle.width, cradle.corner))
        for x, y in cradle.screws:
            view.ring((x, y), cradle.cone / 2)
            view.ring((x, y), cradle.screw_hole / 2)
    for seat, cup in plan.cups:
        view.ring((seat.x, seat.y), seat.outer_diameter / 2)
        view.ring((seat.x, seat.y), seat.profile[-1][1] / 2, gid="seat")
        view.ring((seat.x, seat.y), seat.profile[0][1] / 2)
        handle = handle_of((seat, (cup,)))
        view.ring((seat.x, seat.y), cup.widest / 2, "beside", False)
        if handle:
            view.shape([(at.real, at.imag) for at in handle.corners], "beside", False)
        view.cross((seat.x, seat.y), seat.outer_diameter / 2)
    if any(seat.x for seat, _ in plan.cups):        # which are dimensioned from the wagon's middle
        view.axis((0.0, -plan.width / 2), (0.0, plan.width / 2))
    _beneath(view, plan)


def _drawbar(plan: WagonPlan, way: float) -> Points:
    """Return the outline of a drawbar from above, its tail round."""
    bar, pivot = (plan.coupling.front if way > 0 else plan.coupling.rear), plan.frame.seats[0].x
    neck, head = bar.neck_width / 2, bar.head_width / 2
    tail = sorted(((x, y) for x, y in circle(2 * bar.tail_radius) if x < bar.joint),
                  key=lambda at: atan2(at[1], -at[0]), reverse=True)
    points = [(bar.joint, -neck), (bar.flare, -neck), (bar.back, -head), (bar.reach, -head), (bar.reach, head),
              (bar.back, head), (bar.flare, neck), (bar.joint, neck), *tail]
    return [(way * (pivot + x), y) for x, y in points]


def _beneath(view: View, plan: WagonPlan) -> None:
    """Draw dashed what the body hides: wheels, and the couplers' inner halves; and the axles' centre lines."""
    wheels, wide = plan.wheelset, plan.width / 2
    back, radius = wheels.back_to_back / 2, wheels.tread_radius
    for x in plan.gear.axles:
        for s in (1.0, -1.0):
            view.box((x - radius, x + radius), (s * back, s * (back + wheels.width)), "hidden", False)
        view.axis((x, -wide), (x, wide))
    for way in (1.0, -1.0):
        view.shape(_drawbar(plan, way), "hidden", False)
        view.axis((way * plan.frame.seats[0].x, -plan.coupling.guard_outer),
                  (way * plan.frame.seats[0].x, plan.coupling.guard_outer))
    view.axis((-plan.over_couplers / 2, 0.0), (plan.over_couplers / 2, 0.0))


VIEWS: dict[str, Callable[[View, WagonPlan, Track], None]] = {"side": _side, "end": _end, "top": _top}
"""What draws each view of a wagon."""
