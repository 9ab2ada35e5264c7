"""The running gear of a two-axle wagon: axle holders that slide under the frame, clamped where they stand."""

from collections.abc import Iterator
from math import copysign

from msgspec.structs import replace

from partgen.describe.wagon_tables import Wheelset
from partgen.plan.body.sensor_holder import IN_ENDS
from partgen.plan.context import Context, Shortfall, short
from partgen.plan.coupling import STAND_BACK, CouplingPlan
from partgen.plan.fits import slot
from partgen.plan.hardware import FILLED, least_spare, sold
from partgen.plan.item import Item, Place
from partgen.plan.outline import Span
from partgen.plan.running_gear.axle_clip import CHEEK_GAP, REACH, clip_plan, least_web, short_stem
from partgen.plan.running_gear.gear import PLATE, RIB, WHEEL_GAP, RunningGear, least_thickness
from partgen.plan.running_gear.holder import (
    CLEAR,
    GROOVE_GAP,
    LEAST_LAND,
    SLOT_BRIDGE,
    BarPlan,
    SlidePlan,
    ToothedPlate,
    bar_plan,
    half_length,
    holder_plan,
    merged,
)
from partgen.plan.running_gear.pin_cups import BETWEEN, cups_plan
from partgen.plan.running_gear.wheelbases import settings
from partgen.plan.running_gear.wheels import short_wheel, wheels_on
from partgen.plan.wheel import printed_wheel

SPINE_SIDE = 4.0        # the frame's spine on either side of the slot
PIN_PLATE = 4.5         # of a pin holder, which bends beside the spine
SLOT_ROOM = 0.4         # bar below the frame's upper face
NECK_HEIGHT = 1.6       # of the slot where only screws pass, two lines over the grooves at least
NECK_PLAY = 0.2         # of a screw in it
AXLE_ROOM = 0.8         # wheel or holder to the coupler seat


class TwoAxleGear(RunningGear, frozen=True, kw_only=True):
    """The running gear of a two-axle wagon."""

    holder: ToothedPlate
    bar: BarPlan
    bar_z: float            # of the clamp bars' lower faces
    bolt: int               # length of the screws from below into the clamp bars' nuts
    slide: SlidePlan


def resolve(context: Context, coupling: CouplingPlan, less_travel: float) -> TwoAxleGear:
    """Resolve the running gear; its axle holders travel as many whole teeth as are wished, or as leaves `less_travel`
    [mm] over."""
    wheelset, printer = context.wheelset, context.printer
    pins, clear = wheelset.ends == "pin", wheelset.flange_diameter / 2
    plate, axle_z = max(PIN_PLATE if pins else PLATE, context.screw.thread), wheelset.tread_radius
    wheel_top = axle_z + wheelset.flange_diameter / 2
    web = clear + WHEEL_GAP if pins else least_web(wheelset, printer)       # cheeks hang from a plate over the wheels
    frame_bottom = max(wheel_top + WHEEL_GAP, axle_z + web + plate, coupling.lowest_frame)
    top = frame_bottom - axle_z
    clip = None if pins else clip_plan(wheelset, printer, top - plate, top, clear + REACH)
    bar = bar_plan(clip.half if clip else BETWEEN, context.screw, printer)
    slot_width = slot(bar.width, "sliding", printer)
    spine = slot_width + 2 * SPINE_SIDE
    snap = clip or cups_plan(wheelset, printer, top - plate, 2 * half_length(context, bar), plate, spine / 2)
    holder = holder_plan(context, snap, bar, plate, top, spine)
    wished = _teeth(context.wagon.travel, holder)
    teeth = _teeth(wished * holder.tooth_pitch - max(less_travel, 0.0), holder)
    travel, wheelbase = teeth * holder.tooth_pitch, context.wagon.wheelbase
    slide = _slide(wheelbase, travel, holder, bar, slot_width, printer.thinnest_wall)
    rib, half = max(RIB, printer.thinnest_wall), wheelbase / 2
    nearest = _beyond_axle(context, coupling, holder, bar) + coupling.guard_outer
    bar_low = slide.neck_height + 0.5 * (bar.foot - slide.neck_width) + 0.15
    bar_z = frame_bottom + bar_low
    bolt = sold(plate + bar_low + bar.height - bar.nut_depth + FILLED * context.screw.nut_height)
    wheel = printed_wheel(wheelset, printer)
    return TwoAxleGear(
        carriers="axle holders", base_name="wheelbase", base=wheelbase, travel=travel,
        scale=settings((wheelbase + 2 * k * holder.tooth_pitch for k in range(-teeth, teeth + 1)), wheelset,
                       context.track, along_frame(holder, bar, wheelset), context.joint_step),
        axles=(half, -half), axle_z=axle_z, wheel_top=wheel_top, clip=snap,
        carrier_width=holder.width, frame_bottom=frame_bottom,
        frame_thickness=round(max(slide.neck_height + slide.shoulder + bar.height - bar.flank + SLOT_ROOM,
                                  bolt - plate + least_spare(bolt), least_thickness(context)), 3),
        rib=rib, middle=slot_width, spine=spine, slide=slide,
        blocks=tuple((start, end, 0.0) for start, end in slide.slots), blind=_blind(slide, wheelset, travel),
        seat_distance=nearest + travel, least_seat_distance=nearest, wanting=(*short_wheel(wheel, printer), *short(
            *(() if pins else (short_stem(wheelset, printer),)),
            Shortfall("between wheels", wheelset.back_to_back, bar.screw_hole + 2 * (rib + CHEEK_GAP), "axle holder"))),
        items=(*_items(context, holder, bar, bar_z), *wheels_on((half, -half), wheel, wheelset)),
        holder=holder, bar=bar, bar_z=bar_z, bolt=bolt, wheel=wheel)


def clamped(gear: TwoAxleGear, wheelbase: float) -> TwoAxleGear:
    """Return the running gear with its axles clamped `wheelbase` [mm] apart, frame and slots as they are."""
    half = wheelbase / 2
    items = tuple(replace(item, places=tuple(replace(place, x=copysign(half, place.x)) for place in item.places))
                  for item in gear.items)
    return replace(gear, base=wheelbase, travel=0.0, axles=(half, -half), items=items)


def along_frame(holder: ToothedPlate, bar: BarPlan, wheels: Wheelset) -> float:
    """Return how much of the frame's length [mm] an axle takes: its wheels, its holder, and the bar that clamps it."""
    return max(wheels.flange_diameter, 2 * holder.half_length, bar.length)


def _items(context: Context, holder: ToothedPlate, bar: BarPlan, bar_z: float) -> Iterator[Item]:
    """Yield the holders and the bars that clamp them, one over each axle."""
    kind, half = "pin-holder" if context.wheelset.ends == "pin" else "axle-holder", context.wagon.wheelbase / 2
    for name, plan, z in ((kind, holder, context.wheelset.tread_radius), ("clamp-bar", bar, bar_z)):
        yield Item(name, name, plan, tuple(Place(x, 0.0, z) for x in (half, -half)))


def _teeth(travel: float, holder: ToothedPlate) -> int:
    return max(int(travel / holder.tooth_pitch + 1e-6), 0)


def _slide(wheelbase: float, travel: float, holder: ToothedPlate, bar: BarPlan, slot_width: float,
           lines: float) -> SlidePlan:
    """Resolve slots and grooves in the frame, in which two `lines` [mm] stay."""
    half, reach, stretch = wheelbase / 2, _slot_half(bar, travel), holder.half_length + travel
    slots = merged([(s * half - reach, s * half + reach) for s in (-1, 1)], SLOT_BRIDGE)
    return SlidePlan(
        holder=holder, slots=slots, slot_width=slot_width, neck_width=bar.screw_hole + NECK_PLAY,
        neck_height=max(NECK_HEIGHT, holder.tooth_height + GROOVE_GAP + lines),
        grooves=tuple((s * half - stretch, s * half + stretch) for s in (-1, 1)),
        groove_width=holder.tooth_length + 2 * CLEAR, travel=travel, spine=slot_width + 2 * SPINE_SIDE,
        land=max(LEAST_LAND, lines))


def _blind(slide: SlidePlan, wheels: Wheelset, travel: float) -> tuple[Span, ...]:
    """Return from where to where along x [mm] holders and wheels move; of the slots in the frame only what reaches
    further than what hangs there has in its ends."""
    wheel = slide.holder.half_length - wheels.flange_diameter / 2
    far = min(0.0, wheel)
    moving = [(start + far, stop - far) for start, stop in slide.grooves]
    return (*moving, *((start + IN_ENDS, stop - IN_ENDS) for start, stop in slide.slots))


def _slot_half(bar: BarPlan, travel: float) -> float:
    return bar.length / 2 + travel + 0.3


def _beyond_axle(context: Context, coupling: CouplingPlan, holder: ToothedPlate, bar: BarPlan) -> float:
    """Return how far [mm] from its axle the coupler seat and its gap begin, clear of holder, slot and wheels."""
    wheels_meet_guard = coupling.guard_outer > context.wheelset.back_to_back / 2 - 0.5
    wheel = context.wheelset.flange_diameter / 2 if wheels_meet_guard else 0.0
    # The slot is in the frame, the seat under it: it ends where the seat's boss begins.
    return max(max(holder.half_length, wheel) + AXLE_ROOM, _slot_half(bar, 0.0) - STAND_BACK)
