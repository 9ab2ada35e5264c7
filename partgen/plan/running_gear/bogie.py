"""The running gear of a long wagon: two bogies that turn on bolsters under the frame.

The front one bears the body on a pad as wide as it has room for; the rear one on one as narrow as its spigot allows,
over whose edge it rolls as far as a twisted track asks, so that all wheels stay down.
"""

from collections.abc import Iterator
from math import asin, atan2, cos, degrees, hypot, inf, pi, radians, sin, sqrt

from msgspec import Struct

from partgen.describe.printer_tables import Printer
from partgen.describe.track_tables import Track
from partgen.describe.wagon_tables import Wheelset
from partgen.formulas.wheel import attack_angle, pivot_radius, play, roll_on_twist
from partgen.plan.context import Context, Shortfall, short
from partgen.plan.coupling import CouplingPlan, seat_plan
from partgen.plan.fits import FITS, hole, peg, relief
from partgen.plan.item import Core, Item, PartPlan, Place
from partgen.plan.outline import Span
from partgen.plan.pivot import WASHER, PivotPlan, pivot_screw, spigot_diameter
from partgen.plan.running_gear.arm import BESIDE, GROOVE, GROOVE_DEEP, RIB_DEEP, ArmPlan, Carried, carried, groove_at
from partgen.plan.running_gear.axle_clip import (
    CHEEK_GAP,
    NECK,
    REACH,
    AxleClip,
    carrier_width,
    clip_plan,
    least_web,
    short_stem,
    widest,
)
from partgen.plan.running_gear.gear import PLATE, RIB, WHEEL_GAP, RunningGear, least_thickness
from partgen.plan.running_gear.wheels import short_wheel, wheels_on
from partgen.plan.wheel import printed_wheel

PLATE_SHARE = 0.07      # plate's thickness over the bogie's wheelbase: it bends less than it would creep
THICKEST = 5.0
PAD = 1.2               # bolster between frame and bogie, at least
ROLLED = 0.2            # left there between the frame and the edge of a bogie that has rolled
PAD_SHARE = 0.4         # the front one's radius over the bogie's width: wide enough not to roll, small enough to turn
PAD_WALL = 1.5          # of the rear one round its spigot
FLAT_OVER = 1.0         # of the face that bears a pad, beyond it
FLAT_END = 3.0          # of that face to the bogie's end
RUN = 0.3               # bogie on its spigot, up and down; a coarse layer at least
MOST_ROLL = 0.08        # rad that the rear bogie is made free to roll by
PIN_ROOM = 0.6          # round the king pin's washer
HAUNCH = 0.45           # slope of the arch from the plate down to the legs
END_DROP = 0.25         # slope of the upper face beside the pad
END_WALL = 1.6          # over the arms' roots, at the ends
SPRING = 1.0            # radius where the arch springs from a leg
FOOT = 3.0              # half the length of what lies on the bed between the axles, at least
KINK = 2.0              # deg: joints of a home-laid track (common practice, no source)
SEAT_ROOM = 1.0         # bogie to coupler seat and drawbar
STEPPED = 1.1           # of how far it stands back from either wheel: so much less of its width is hollow (as counted)
SPINE = 16.0
THICKNESS = 7.5         # of the frame; a long one is deeper
DEPTH_SHARE = 0.045     # frame's thickness over the pivot spacing
STEPS = 16              # turns tried between straight and full swing: a gap comes out right within 0.02 mm
SEARCH = 0.25           # mm between two distances tried


class BogiePlan(PartPlan, frozen=True):
    """A bogie in its own frame: pivot on the z axis, z = 0 at the axles, x along the track, y along the axles.

    All in mm. One profile in x and z all along y: a clip on a leg for each axle, an arched plate from leg to leg
    whose upper face bears the bolster.
    """

    clip: AxleClip
    axle_x: float           # axles at plus and minus this
    top: float              # axle centre up to the face that bears the bolster
    plate: float            # thickness in the middle
    flat: float             # half the length of that face
    under_flat: float       # half the length of the plate's underside: room for the king pin's washer
    pin_hole: float
    washer: float           # outer diameter
    clear: float            # radius about an axle within which all above the pads stands back from its wheels
    groove: float = 0.0     # grooves for an arm's ribs across the upper face at plus and minus this; 0: none

    @property
    def width(self) -> float:
        """Along the axles [mm]."""
        return self.clip.width

    @property
    def half_length(self) -> float:
        """Half the length [mm]: to the outside of the legs' arms."""
        return self.axle_x + self.clip.tip

    @property
    def under(self) -> float:
        """Height [mm] of the plate's underside over the axles."""
        return self.top - self.plate

    @property
    def end_top(self) -> float:
        """Height [mm] of the upper face at its ends, lower than in the middle."""
        least = max(self.clip.root + NECK, self.clip.over if self.clip.over < inf else 0.0) + END_WALL
        drop = min(END_DROP * (self.half_length - self.flat), self.top - least)
        return self.top - max(drop, 0.0)

    @property
    def haunch(self) -> float:
        """Height [mm] at which the arch under the plate springs from the legs."""
        inside = self.axle_x - self.clip.half
        return max(self.under - HAUNCH * (inside - self.under_flat), self.clip.root + NECK)

    @property
    def recess(self) -> float:
        """How far from the middle [mm] both sides begin to stand back from the wheels, over the pads."""
        reach = sqrt(max(self.clear**2 - self.haunch**2, 0.0))
        return max(self.axle_x - max(reach, self.clip.half + SPRING), FOOT)

    @property
    def size(self) -> tuple[float, float, float]:
        """Extent [mm] along x, y, z."""
        return (2 * self.half_length, self.width, self.top + self.clip.depth)

    @property
    def volume(self) -> float:
        """Volume [mm3], estimated from the profile's pieces within some percent."""
        clip = self.clip
        upper, plate = (self.end_top + self.top) / 2, self.axle_x + clip.half - self.recess
        back = (clip.lost(clip.pad, clip.root, 2 * clip.arm + clip.stem)
                + clip.lost(clip.root, self.haunch, 2 * clip.half)
                + clip.lost(self.haunch, upper, max(plate - clip.back(upper) / 2, 0.0)))
        profile = self.width * sum(area for area, _ in self._pieces())
        grooves = 2 * GROOVE * GROOVE_DEEP * self.width if self.groove else 0.0
        return profile - grooves - 2 * (back - clip.stop_volume) - pi / 4 * self.pin_hole**2 * self.plate

    def cores(self, wall: float) -> Iterator[Core]:
        """Yield the profile: it is printed on its side. Where it stands back from the wheels skins fill most of it."""
        clip, whole = self.clip, sum(area for area, _ in self._pieces())
        back = clip.back(min(self.end_top, (clip.pad + clip.over) / 2))
        yield whole * self._core(wall) / self._core(0.0), max(self.width - STEPPED * back, 0.0)

    def _core(self, wall: float) -> float:
        """Return about what area [mm2] of plate, arch and legs is `wall` [mm] within the profile."""
        clip, inside, thin = self.clip, self.axle_x - self.clip.half, self.plate - 2 * wall
        thick = self.top - END_DROP * max(inside - self.flat, 0.0) - self.haunch - 2 * wall
        arch = (thin + thick) / 2 if thin > 0 else max(thick, 0.0)**2 / 2 / max(thick - thin, wall)
        plate = self.under_flat * max(thin, 0.0) + (inside - self.under_flat) * arch
        legs = max(clip.half + clip.tip - wall, 0.0) * max(self.end_top - clip.root - 2 * wall, 0.0) + clip.core(wall)
        return 2 * (plate + legs)

    @property
    def centroid_z(self) -> float:
        """Height of the centre of gravity over the axles [mm], estimated."""
        pieces = tuple(self._pieces())
        return sum(area * z for area, z in pieces) / sum(area for area, _ in pieces)

    def _pieces(self) -> Iterator[tuple[float, float]]:
        """Yield (area [mm2], height of its middle over the axles [mm]) of the profile's pieces, hollows negative."""
        clip, inside = self.clip, self.axle_x - self.clip.half
        drop, rise = self.top - self.end_top, self.under - self.haunch
        yield 2 * self.half_length * self.top, self.top / 2
        yield (self.flat - self.half_length) * drop, self.top - drop / 3
        yield -2 * inside * self.haunch, self.haunch / 2
        yield -(inside + self.under_flat) * rise, self.haunch + 0.45 * rise
        yield -4 * clip.half * clip.root, clip.root / 2
        yield 2 * clip.area, 0.4 * clip.root
        yield -2.6, self.end_top                # round ends


class SwingRoom(Struct, frozen=True):
    """A bogie's plan view: rectangles (x0, x1, y0, y1) [mm] about its pivot, of its front left quarter.

    It swings by `angle` [deg] either way.
    """

    angle: float
    rectangles: tuple[tuple[float, float, float, float], ...]

    @property
    def reach(self) -> float:
        """How far [mm] along the wagon, from its pivot, any part of the swinging bogie gets."""
        corners = [(hypot(x, y), atan2(y, x)) for _, x, _, y in self.rectangles]
        return max(far * cos(straight - min(radians(self.angle), straight)) for far, straight in corners)

    def gap(self, distance: float, radius: float) -> float:
        """Return the least gap [mm] to a round thing of `radius`, `distance` [mm] ahead of the pivot.

        Negative where they meet.
        """
        turns = [radians(self.angle) * k / STEPS for k in range(STEPS + 1)]
        spots = [(distance * cos(turn), distance * sin(turn)) for turn in turns]
        return min(hypot(max(x0 - x, 0.0, x - x1), max(y0 - y, 0.0, y - y1))
                   for x, y in spots for x0, x1, y0, y1 in self.rectangles) - radius

    def clear_of(self, radius: float, gap: float) -> float:
        """Return the distance [mm] from which on a round thing of `radius` keeps `gap` [mm] from the bogie."""
        distance = max(hypot(x, y) for _, x, _, y in self.rectangles) + radius + gap
        while distance > SEARCH and self.gap(distance - SEARCH, radius) >= gap:
            distance -= SEARCH
        return distance


class BogieGear(RunningGear, frozen=True, kw_only=True):
    """The running gear of a wagon on bogies."""

    bogie: BogiePlan
    room: SwingRoom         # what the swinging bogie takes: its wheels and itself


def resolve(context: Context, coupling: CouplingPlan, length: float = 0.0) -> BogieGear:
    """Resolve the running gear under a body so long [mm]; where its bogies carry the couplers it is longer if it must
    be."""
    wagon, wheelset, screw, printer = context.wagon, context.wheelset, context.screw, context.printer
    axle_z, spigot = wheelset.tread_radius, spigot_diameter(screw, printer)
    spacing = wagon.pivot_spacing or 0.0
    plate = max(PLATE, screw.thread, min(PLATE_SHARE * wagon.wheelbase, THICKEST))
    beyond = wagon.wheelbase / 2 + wheelset.flange_diameter / 2 + SEAT_ROOM + coupling.guard_outer
    held = _held(context, coupling, max(beyond, length / 2 - coupling.inset - spacing / 2))
    plate, thick = (plate + GROOVE_DEEP, held.thick) if held else (plate, 0.0)
    narrow, washer = spigot / 2 + PAD_WALL, WASHER[screw.name][0]
    pad = max(narrow, PAD_SHARE * carrier_width(wheelset))
    run = _run(printer)
    free, rise, rolls = _rolling(context, narrow + washer / 2, plate + thick)
    wheel_top = axle_z + wheelset.flange_diameter / 2 + rise
    swing = largest_swing(context.track, wheelset, spacing, wagon.wheelbase)
    # Its upper face, however far it swings, reaches no further aside than this; on the ends, beyond, it falls steeper.
    edge = carrier_width(wheelset) / 2 + (pad + FLAT_OVER) * sin(radians(swing))
    # What rolls over the pad's edge pitches over it too, and an arm reaches far.
    far = max(edge, held.seat + coupling.guard_outer) if held else edge
    high = max(PAD, rolls * (far - narrow) + ROLLED)
    frame_bottom = max(wheel_top + WHEEL_GAP, axle_z + least_web(wheelset, printer) + plate + thick + high,
                       held.least + thick + high if held else coupling.lowest_frame)
    bogie = _bogie(context, frame_bottom - high - thick - axle_z, plate, pad, spigot, bool(held))
    bolsters = (_bolster(context, bogie, pad, run, spigot, spacing / 2, thick),
                _bolster(context, bogie, narrow, free, spigot, -spacing / 2, thick))
    arm = _arm(context, coupling, bogie, held) if held else None
    room = _swing_room(wheelset, bogie, swing)
    rib, half = max(RIB, printer.thinnest_wall), pad + 1.0
    wheel = printed_wheel(wheelset, printer)
    axles = tuple(s * spacing / 2 + t * bogie.axle_x for s in (1, -1) for t in (1, -1))
    return BogieGear(
        carriers="bogies", base_name="pivot_spacing", base=spacing, bogie_wheelbase=wagon.wheelbase,
        roll=rolls, axles=axles, axle_z=axle_z, wheel_top=wheel_top, clip=bogie.clip,
        carrier_width=bogie.width, frame_bottom=frame_bottom,
        frame_thickness=round(max(THICKNESS, DEPTH_SHARE * spacing, least_thickness(context)), 3), rib=rib,
        middle=2 * pad, spine=SPINE,
        bolsters=bolsters, blocks=tuple((x - half, x + half, half) for x in (-spacing / 2, spacing / 2)),
        blind=_blind(spacing / 2, room, arm),
        seat_distance=beyond if arm else max(room.clear_of(coupling.guard_outer, SEAT_ROOM),
                                             room.reach + SEAT_ROOM - coupling.head_back),
        least_seat_distance=beyond if arm else pad + coupling.guard_outer + SEAT_ROOM,
        wanting=(*short_wheel(wheel, printer), *_short(context, bogie, rib)),
        items=(Item("bogie", "bogie", bogie, tuple(Place(bolster.x, 0.0, axle_z) for bolster in bolsters)),
               *_arms(arm, spacing / 2), *wheels_on(axles, wheel, wheelset)),
        arm=arm, bogie=bogie, room=room, wheel=wheel)


def _held(context: Context, coupling: CouplingPlan, out: float) -> Carried | None:
    """Return what a coupler `out` [mm] beyond the pivot asks of its bogie; None where the body carries it."""
    if context.wagon.coupler_on != "bogie":
        return None
    return carried(context, coupling, out, seat_plan(context, coupling, out))


def _blind(half: float, room: SwingRoom, arm: ArmPlan | None) -> tuple[Span, ...]:
    """Return from where to where along x [mm] bogies move, `half` the spacing either way; with an arm to the end."""
    far = inf if arm else half + room.reach
    return (half - room.reach, far), (-far, room.reach - half)


def _arm(context: Context, coupling: CouplingPlan, bogie: BogiePlan, held: Carried) -> ArmPlan:
    """Return the arm on a bogie."""
    bottom = context.wheelset.tread_radius + bogie.top
    return ArmPlan(seat_plan(context, coupling, held.seat), bottom, bottom + held.thick,
                   disc=max(bogie.flat, bogie.groove + BESIDE), pin_hole=bogie.pin_hole, rib=bogie.groove,
                   rib_wide=peg(GROOVE, "snug", context.printer), rib_deep=RIB_DEEP)


def _arms(arm: ArmPlan | None, pivot: float) -> Iterator[Item]:
    if arm:
        yield Item("coupler-arm", "coupler-arm", arm, (Place(pivot), Place(-pivot, yaw=180.0)))


def _bogie(context: Context, top: float, plate: float, pad: float, spigot: float, grooved: bool) -> BogiePlan:
    """Return a bogie whose upper face lies so far over the axles [mm], `grooved` for an arm."""
    wheelset, printer, washer = context.wheelset, context.printer, WASHER[context.screw.name][0]
    clear, half = wheelset.flange_diameter / 2 + REACH, context.wagon.wheelbase / 2
    clip = clip_plan(wheelset, printer, top - plate, top, clear if top > clear + END_WALL else inf)
    flat = min(pad + FLAT_OVER, half + clip.half - FLAT_END)
    pin_hole = hole(spigot, "running", printer)
    return BogiePlan(clip, half, top=top, plate=plate, flat=flat, under_flat=washer / 2 + PIN_ROOM, pin_hole=pin_hole,
                     washer=washer, clear=clear, groove=groove_at(flat, pin_hole) if grooved else 0.0)


def _short(context: Context, bogie: BogiePlan, rib: float) -> tuple[Shortfall, ...]:
    """Return what a bogie falls short in between its wheels, whose cheeks keep off ribs `rib` [mm] thick."""
    wheelset, long = context.wheelset, bogie.washer + 2 * (PIN_ROOM + bogie.clip.half)
    return short(
        short_stem(wheelset, context.printer),
        Shortfall("between wheels", wheelset.back_to_back, bogie.pin_hole + 2 * (rib + CHEEK_GAP), "bogie"),
        Shortfall("washer between axles", context.wagon.wheelbase, long))


def _rolling(context: Context, arm: float, plate: float) -> tuple[float, float, float]:
    """Return what the rear bogie is left free up and down, how far its wheels rise [mm] and how far it rolls [rad].

    It tips over the edge of its pad until the king pin's washer holds it on the other side, `arm` [mm] away: so its
    wheels rise. A spigot's slack in a `plate` so thick [mm] may hold it sooner.
    """
    wagon, wheelset, track, printer = context.wagon, context.wheelset, context.track, context.printer
    wished = float(roll_on_twist(track.twist / 1000, wagon.pivot_spacing or 0.0, context.joint_step, track.gauge))
    free = max(_run(printer), min(wished, MOST_ROLL) * arm)
    wide = hypot(wagon.wheelbase / 2 + widest(wheelset, printer), wheelset.back_to_back / 2 + wheelset.width)
    return free, free / arm * wide, min(free / arm, FITS["running"].clearance / plate)


def _bolster(context: Context, bogie: BogiePlan, pad: float, run: float, spigot: float, x: float, arm: float
             ) -> PivotPlan:
    """Resolve the pad that rests on the bogie, or on an `arm` so thick [mm] on it, and the spigot that the bogie turns
    on, with `run` up and down [mm]."""
    axle_z, core = context.wheelset.tread_radius, hole(context.screw.core, "core", context.printer)
    screw = pivot_screw(context.screw, bogie.plate + arm + run)
    return PivotPlan(x, pad, axle_z + bogie.top + arm, spigot, spigot_bottom=axle_z + bogie.under - run, core=core,
                     mouth=relief(context.screw, context.printer), core_depth=screw.core_depth, play=run,
                     screw=screw.length)


def _run(printer: Printer) -> float:
    return max(RUN, printer.layer)


def _swing_room(wheels: Wheelset, bogie: BogiePlan, swing: float) -> SwingRoom:
    inner, radius = wheels.back_to_back / 2, wheels.flange_diameter / 2
    return SwingRoom(swing, (
        (bogie.axle_x - radius, bogie.axle_x + radius, inner, inner + wheels.width),
        (0.0, bogie.half_length, 0.0, bogie.width / 2)))


def largest_swing(track: Track, wheelset: Wheelset, pivot_spacing: float, wheelbase: float) -> float:
    """Return the largest angle [deg] between a bogie and the body on this track.

    No track that nowhere bends tighter than the sharpest curve turns a bogie further than that curve itself does:
    asin(a / (2 Rp)). A reverse curve turns the two bogies against each other, but each one less against the body.
    To this come the play of bogie and body between the rails, and the kinks of a home-laid track.
    """
    steady = float(attack_angle(pivot_spacing, pivot_radius(track.min_radius, wheelbase)))
    loose = float(play(track.gauge + track.gauge_tolerance, wheelset.back_to_back, wheelset.flange_thickness))
    return degrees(steady + asin(min(loose / wheelbase, 1.0)) + asin(min(loose / pivot_spacing, 1.0))) + KINK
