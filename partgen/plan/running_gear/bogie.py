"""The running gear of a long wagon: two bogies that turn on bolsters under the frame."""

from math import asin, atan2, cos, degrees, hypot, pi, radians, sin

from msgspec import Struct

from partgen.describe.printer_tables import Printer
from partgen.describe.track_tables import Track
from partgen.describe.wagon_tables import Wagon, Wheelset
from partgen.finding import up
from partgen.formulas.wheel import attack_angle, pivot_radius, play
from partgen.plan.fits import hole
from partgen.plan.hardware import Screw
from partgen.plan.item import Item, Place
from partgen.plan.pivot import WASHER, PivotPlan, spigot_diameter
from partgen.plan.running_gear.clip import CHEEK_GAP, ClipPlan, clip_plan, window_area
from partgen.plan.running_gear.two_axle import WHEEL_GAP

STEPS = 16              # turns tried between straight and full swing: a gap comes out right within 0.02 mm
SEARCH = 0.25           # mm between two distances tried


class SwingRoom(Struct, frozen=True):
    """A bogie's plan view: rectangles (x0, x1, y0, y1) [mm] about its pivot, of its front left quarter.

    It swings by `angle` [deg] either way.
    """

    angle: float
    rectangles: tuple[tuple[float, float, float, float], ...]

    @property
    def reach(self) -> float:
        """How far [mm] along the wagon, from its pivot, any part of the swinging bogie gets."""
        return max(_reach(x, y, radians(self.angle)) for _, x, _, y in self.rectangles)

    def gap(self, distance: float, radius: float) -> float:
        """Return the least gap [mm] to a round thing of `radius`, `distance` [mm] ahead of the pivot.

        Negative where they meet.
        """
        turns = (radians(self.angle) * k / STEPS for k in range(STEPS + 1))
        return min(_from(rectangle, distance * cos(turn), distance * sin(turn))
                   for turn in turns for rectangle in self.rectangles) - radius

    def clear_of(self, radius: float, gap: float) -> float:
        """Return the distance [mm] from which on a round thing of `radius` keeps `gap` [mm] from the bogie."""
        distance = max(hypot(x, y) for _, x, _, y in self.rectangles) + radius + gap
        while distance > SEARCH and self.gap(distance - SEARCH, radius) >= gap:
            distance -= SEARCH
        return distance


def _reach(x: float, y: float, angle: float) -> float:
    """Return the largest x [mm] of a corner that turns by up to `angle` [rad] either way."""
    straight = atan2(y, x)
    return hypot(x, y) * cos(straight - min(angle, straight))


def _from(rectangle, x: float, y: float) -> float:
    """Return the distance [mm] of a point from a rectangle, 0 inside."""
    x0, x1, y0, y1 = rectangle
    return hypot(max(x0 - x, 0.0, x - x1), max(y0 - y, 0.0, y - y1))


PLATE_SHARE = 0.07      # plate's thickness over the bogie's wheelbase: it bends less than it would creep
THICKEST = 5.0
PAD = 1.2               # bolster between frame and bogie
PAD_SHARE = 0.3         # its radius over the bogie's width: wide enough not to roll, small enough to turn
PAD_WALL = 1.5          # of the pad round the spigot
FLAT_OVER = 1.0         # of the face that bears the pad, beyond it
RUN = 0.3               # bogie on its spigot, up and down
PIN_ROOM = 0.6          # round the king pin's washer
HAUNCH = 0.45           # slope of the arch from the plate down to the legs
END_DROP = 0.25         # slope of the upper face beside the pad
END_WALL = 1.6          # over the hubs, at the ends
KINK = 2.0              # deg: joints of a home-laid track (common practice, no source)
SEAT_ROOM = 1.0         # bogie to coupler seat and drawbar
SPINE = 16.0
THICKNESS = 7.5         # of the frame; a long one is deeper
DEPTH_SHARE = 0.045     # frame's thickness over the pivot spacing
THREAD_GRIP = 5.0       # of the king pin in the frame


class BogiePlan(Struct, frozen=True):
    """A bogie in its own frame: pivot on the z axis, z = 0 at the axles, x along the track, y along the axles.

    All in mm. One profile in x and z all along y: a clip on a leg for each axle, an arched plate from leg to leg
    whose upper face bears the bolster.
    """

    clip: ClipPlan
    width: float            # along the axles
    axle_x: float           # axles at plus and minus this
    top: float              # axle centre up to the face that bears the bolster
    plate: float            # thickness in the middle
    flat: float             # half the length of that face
    under_flat: float       # half the length of the plate's underside: room for the king pin's washer
    pin_hole: float
    washer: float           # outer diameter

    @property
    def wheelbase(self) -> float:
        """Axle to axle [mm]."""
        return 2 * self.axle_x

    @property
    def half_length(self) -> float:
        """Half the length [mm]: to the outside of the legs."""
        return self.axle_x + self.clip.hub_radius

    @property
    def under(self) -> float:
        """Height [mm] of the plate's underside over the axles."""
        return self.top - self.plate

    @property
    def end_top(self) -> float:
        """Height [mm] of the upper face at its ends, lower than in the middle."""
        drop = min(END_DROP * (self.half_length - self.flat), self.top - self.clip.least_web - END_WALL)
        return self.top - max(drop, 0.0)

    @property
    def haunch(self) -> float:
        """Height [mm] at which the arch under the plate springs from the legs."""
        inside = self.axle_x - self.clip.hub_radius
        return max(self.under - HAUNCH * (inside - self.under_flat), 0.3 * self.under)

    @property
    def window(self) -> tuple[float, float, float] | None:
        """Width, lowest and highest point [mm] of the window in each leg, where it is worth one."""
        return self.clip.window(self.clip.hub_radius, min(self.end_top, self.top))

    @property
    def size(self) -> tuple[float, float, float]:
        """Extent [mm] along x, y, z."""
        return (2 * self.half_length, self.width, self.top + self.clip.depth)

    @property
    def volume(self) -> float:
        """Volume [mm3], estimated from the profile's pieces within some percent."""
        return self.width * sum(area for area, _ in self._pieces()) - pi / 4 * self.pin_hole**2 * self.plate

    @property
    def centroid_z(self) -> float:
        """Height of the centre of gravity over the axles [mm], estimated."""
        pieces = tuple(self._pieces())
        return sum(area * z for area, z in pieces) / sum(area for area, _ in pieces)

    def _pieces(self):
        """Yield (area [mm2], height of its middle over the axles [mm]) of the profile's pieces, hollows negative."""
        hub, inside = self.clip.hub_radius, self.axle_x - self.clip.hub_radius
        drop, rise = self.top - self.end_top, self.under - self.haunch
        yield 2 * self.half_length * self.top, self.top / 2
        yield (self.flat - self.half_length) * drop, self.top - drop / 3
        yield -2 * inside * self.haunch, self.haunch / 2
        yield -(inside + self.under_flat) * rise, self.haunch + 0.45 * rise
        bore = pi / 4 * self.clip.bore**2
        yield -2 * bore, 0.0
        yield 2 * (self.clip.area + bore - pi / 2 * hub**2), -0.45 * self.clip.depth
        if self.window:
            yield -2 * window_area(self.window), (self.window[1] + self.window[2]) / 2


class BogieGearPlan(Struct, frozen=True):
    """The running gear of a wagon on bogies; heights over rail top, all in mm. See `undercarriage`."""

    wheelset: Wheelset
    base: float             # pivot to pivot
    swing: float            # of each bogie against the body, either way [deg]
    frame_bottom: float
    bogie: BogiePlan
    bolsters: tuple[PivotPlan, ...]
    rib: float              # thinnest wall of the frame

    travel, slide = 0.0, None
    carriers, base_name = "bogies", "pivot_spacing"
    spine = SPINE

    @property
    def bogie_wheelbase(self) -> float:
        """Axle to axle of each bogie [mm]."""
        return self.bogie.wheelbase

    @property
    def axles(self) -> tuple[float, ...]:
        """Where the wheelsets stand along x [mm] on straight track."""
        return tuple(s * self.base / 2 + t * self.bogie.axle_x for s in (1, -1) for t in (1, -1))

    @property
    def axle_z(self) -> float:
        """Height [mm] of the axles."""
        return self.wheelset.tread_radius

    @property
    def wheel_top(self) -> float:
        """Height [mm] that the flanges reach when the bogie rocks as far as its king pin lets it."""
        tip = rock(self.bogie.half_length, self.bolsters[0].boss, self.bogie.washer)
        return self.axle_z + self.wheelset.flange_diameter / 2 + tip

    @property
    def frame_thickness(self) -> float:
        """Thickness of the frame [mm]."""
        return round(max(THICKNESS, DEPTH_SHARE * self.base), 3)

    @property
    def middle(self) -> float:
        """Width [mm] that the frame keeps for the bolsters."""
        return 2 * self.bolsters[0].boss

    @property
    def blocks(self) -> tuple[tuple[float, float, float], ...]:
        """(start, end, half width) [mm] of what stays solid in the frame: over the bolsters."""
        half = self.bolsters[0].boss + 1.0
        return tuple((bolster.x - half, bolster.x + half, half) for bolster in sorted(
            self.bolsters, key=lambda bolster: bolster.x))

    @property
    def room(self) -> SwingRoom:
        """What the swinging bogie takes: its wheels and itself."""
        wheels, bogie = self.wheelset, self.bogie
        inner, radius = wheels.back_to_back / 2, wheels.flange_diameter / 2
        return SwingRoom(self.swing, (
            (bogie.axle_x - radius, bogie.axle_x + radius, inner, inner + wheels.width),
            (0.0, bogie.half_length, 0.0, bogie.width / 2)))

    def seat_distance(self, coupling) -> float:
        """Return the distance [mm] from a pivot to the coupler seat's that the swinging bogie takes."""
        room = self.room
        return max(room.clear_of(coupling.guard_outer, SEAT_ROOM), room.reach + SEAT_ROOM - coupling.head_back)

    def least_seat_distance(self, coupling) -> float:
        """Return the distance [mm] from a pivot to the coupler seat's that leaves both a place in the frame."""
        return self.bolsters[0].boss + coupling.guard_outer + SEAT_ROOM

    def fitted(self, short: float) -> "BogieGearPlan":
        """Return the gear where the body is `short` [mm] too short at either end: it cannot give way."""
        return self

    def unmet(self, screw: Screw, printer: Printer):
        """Yield (value, least value [mm], remedy) for what cannot be whatever the body is."""
        wall = max(1.6, printer.thinnest_wall)
        least, found = self.bogie.pin_hole + 2 * (wall + CHEEK_GAP), self.wheelset.back_to_back
        yield found, least, (f"no bogie with {screw.name} screws goes between wheels {found:g} mm apart: "
                             f"choose smaller screws, or wheels {up(least)} mm apart")
        least, found = self.bogie.washer + 2 * (PIN_ROOM + self.bogie.clip.hub_radius), self.bogie.wheelbase
        yield found, least, (f"the king pin's washer does not go between axles {found:g} mm apart: lengthen "
                             f"wheelbase to {up(least)} mm or choose smaller screws")

    def items(self):
        """Yield the printed parts with their places in the wagon."""
        yield Item("bogie", "bogie", self.bogie,
                   tuple(Place(bolster.x, 0.0, self.axle_z) for bolster in self.bolsters))


def largest_swing(track: Track, wheelset: Wheelset, pivot_spacing: float, wheelbase: float) -> float:
    """Return the largest angle [deg] between a bogie and the body on this track.

    No track that nowhere bends tighter than the sharpest curve turns a bogie further than that curve itself does:
    asin(a / (2 Rp)). A reverse curve turns the two bogies against each other, but each one less against the body.
    To this come the play of bogie and body between the rails, and the kinks of a home-laid track.
    """
    steady = float(attack_angle(pivot_spacing, pivot_radius(track.min_radius, wheelbase)))
    loose = float(play(track.gauge + track.gauge_tolerance, wheelset.back_to_back, wheelset.flange_thickness))
    return degrees(steady + asin(min(loose / wheelbase, 1.0)) + asin(min(loose / pivot_spacing, 1.0))) + KINK


def rock(half_length: float, pad: float, washer: float) -> float:
    """Return how far [mm] a bogie's ends rise when it tips over the edge of a pad of radius `pad` [mm].

    The king pin's washer, `washer` [mm] wide, holds it on the other side.
    """
    return RUN * half_length / (pad + washer / 2)


def resolve(wagon: Wagon, wheelset: Wheelset, screw: Screw, printer: Printer, lowest_frame: float,
            track: Track) -> BogieGearPlan:
    """Resolve the running gear; the frame's underside is at least `lowest_frame` [mm] over rail top."""
    clip, axle_z, spigot = clip_plan(wheelset, printer), wheelset.tread_radius, spigot_diameter(screw, printer)
    plate = max(2.4, screw.thread, min(PLATE_SHARE * wagon.wheelbase, THICKEST))
    width, end = wheelset.back_to_back - 2 * CHEEK_GAP, wagon.wheelbase / 2 + clip.hub_radius
    pad, (washer, _) = max(spigot / 2 + PAD_WALL, PAD_SHARE * width), WASHER[screw.name]
    over_wheels = axle_z + wheelset.flange_diameter / 2 + rock(end, pad, washer) + WHEEL_GAP
    frame_bottom = max(over_wheels, axle_z + clip.least_web + plate + PAD, lowest_frame)
    bogie = BogiePlan(clip, width, wagon.wheelbase / 2, top=frame_bottom - PAD - axle_z, plate=plate,
                      flat=min(pad + FLAT_OVER, end - FLAT_OVER), under_flat=washer / 2 + PIN_ROOM,
                      pin_hole=hole(spigot, "running", printer), washer=washer)
    core, spacing = hole(screw.core, "core", printer), wagon.pivot_spacing
    bolsters = tuple(_bolster(bogie, s * spacing / 2, axle_z, pad, spigot, core) for s in (1, -1))
    return BogieGearPlan(wheelset, spacing, largest_swing(track, wheelset, spacing, wagon.wheelbase), frame_bottom,
                         bogie, bolsters, rib=max(1.6, printer.thinnest_wall))


def _bolster(bogie: BogiePlan, x, axle_z, pad, spigot, core) -> PivotPlan:
    """Resolve the pad that rests on the bogie and the spigot that the bogie turns on."""
    return PivotPlan(x=x, boss=pad, boss_bottom=axle_z + bogie.top, spigot=spigot,
                     spigot_bottom=axle_z + bogie.under - RUN, core=core,
                     core_depth=bogie.plate + RUN + PAD + THREAD_GRIP)
