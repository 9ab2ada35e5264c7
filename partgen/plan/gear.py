"""Running gear: the height of everything over the rail, the axle holder and the bar that clamps it."""

from dataclasses import dataclass
from math import acos, asin, pi, radians, sqrt, tan

from partgen.describe.printer import Printer
from partgen.describe.wheelset import Wheelset
from partgen.formulas.fit import hole
from partgen.plan.hardware import Screw

WHEEL_GAP = 1.2        # between flange top and frame; the axle's own slack is about a quarter of it
HUB_WALL = 2.2         # round the bore: five lines, so that the snap arms flex without splitting
SNAP_SHARE = 0.9      # opening over bearing diameter: holds by hand, snaps without glue
CHEEK_GAP = 0.4        # holder to wheel, each side
TOOTH_PITCH = 3.0      # wide enough that the frame keeps two lines between its grooves
TOOTH_HEIGHT = 0.6     # three layers of the frame, which has them lying
TOOTH_CREST = 0.6
FINE_LINE = 0.5        # teeth grow with lines wider than this [mm]
LIP = 1.2              # what the snap arms reach below their throat, flared to let the axle in
FLARE = 35.0           # slope of the flare from upright [deg]
WAIST = 1.0            # the web is narrower than the hub by this, each side: room for the screw heads
WAIST_RADIUS = 1.5
END_RADIUS = 1.0       # of the plate's upper ends
HEAD_GAP = 0.2         # screw head to the fillet between web and plate
SPINE_SIDE = 4.0       # the frame's spine on either side of the slot
TOOTH_INSET = 1.5      # the spine's sides, and the holder's ends, stay free of teeth by this
SLOT_ROOM = 0.4        # bar below the frame's upper face


@dataclass(frozen=True, slots=True)
class HolderPlan:
    """An axle holder in its own frame: axle centre at the origin, axle along y, top of the plate upwards.

    All lengths in mm. The profile in x and z is the same all along y, but for the teeth: they stand in
    the middle, under the frame's spine.
    """

    width: float            # along the axle
    bore: float             # diameter as drawn
    opening: float          # of the snap, below the axle
    hub_radius: float
    clip_depth: float       # axle centre down to the end of the snap arms
    top: float              # axle centre up to the plate's upper face
    plate: float            # its thickness
    half_length: float      # of the plate
    screw_x: float          # screws at plus and minus this
    screw_hole: float
    tooth_pitch: float
    tooth_height: float
    tooth_crest: float
    tooth_length: float     # along y, at the foot

    @property
    def throat(self) -> float:
        """Depth below the axle [mm] at which the snap arms come closest."""
        return sqrt(self.bore**2 - self.opening**2) / 2

    @property
    def mouth(self) -> float:
        """Half the width [mm] between the snap arms' ends: the throat flared."""
        return self.opening / 2 + (self.clip_depth - self.throat) * tan(radians(FLARE))

    @property
    def web(self) -> float:
        """Half the thickness [mm] of the web between hub and plate."""
        return self.hub_radius - WAIST

    @property
    def waist(self) -> float:
        """Height [mm] over the axle at which the web leaves the arc that leads up from the hub."""
        return sqrt((self.hub_radius + WAIST_RADIUS)**2 - (self.web + WAIST_RADIUS)**2)

    @property
    def fillet(self) -> float:
        """Radius [mm] between web and plate: as large as the screw heads beside it and the waist allow."""
        return max(0.4, min(WAIST + 0.6 - HEAD_GAP, self.top - self.plate - self.waist - 0.1))

    @property
    def window(self) -> tuple[float, float, float] | None:
        """Width, lowest and highest point [mm] of the window in the web, where it is worth one."""
        wall = 0.8 * (self.hub_radius - self.bore / 2)
        width, low, high = 2 * (self.web - wall), self.bore / 2 + 1.2 * wall, self.top - self.plate - wall
        return (min(width, high - low), low, high) if min(width, high - low) >= 2.0 else None

    @property
    def size(self) -> tuple[float, float, float]:
        """Extent [mm] along x, y, z."""
        return (2 * self.half_length, self.width, self.clip_depth + self.top + self.tooth_height)

    @property
    def teeth(self) -> tuple[float, ...]:
        """Middles of the teeth along x [mm], symmetric, none over the plate's rounded ends."""
        clear = self.half_length - END_RADIUS - self.tooth_crest / 2 - self.tooth_height
        each_side = int(clear / self.tooth_pitch)
        return tuple(k * self.tooth_pitch for k in range(-each_side, each_side + 1))

    @property
    def volume(self) -> float:
        """Volume [mm3], estimated from the profile's pieces within some percent."""
        plate = 2 * self.half_length * self.plate - 1.2 * END_RADIUS**2
        web = 2 * self.web * (self.top - self.plate) + 0.43 * self.fillet**2 - self._hub_in_web
        hub = _below(self.hub_radius, self.clip_depth) - _below(self.bore / 2, self.throat)
        notch = (self.opening / 2 + self.mouth) * (self.clip_depth - self.throat)
        tooth = (self.tooth_height * (self.tooth_crest + self.tooth_height)
                 * (self.tooth_length - self.tooth_height))
        screws = 2 * pi / 4 * self.screw_hole**2 * (self.plate + self.tooth_height / 2)
        section = plate + web + hub - notch - self._window_area
        return self.width * section + len(self.teeth) * tooth - screws

    @property
    def _hub_in_web(self) -> float:
        hub, web = self.hub_radius, self.web
        return web * sqrt(hub**2 - web**2) + hub**2 * asin(web / hub)

    @property
    def _window_area(self) -> float:
        if not self.window:
            return 0.0
        width, low, high = self.window
        return width * (high - low) - (1 - pi / 4) * min(width, high - low)**2

    @property
    def centroid_z(self) -> float:
        """Height of the centre of gravity over the axle [mm], estimated."""
        return 0.61 * self.top


@dataclass(frozen=True, slots=True)
class BarPlan:
    """A clamp bar that slides in the frame's slot and holds the two nuts; its own frame: middle of the
    lower face at the origin, x along the slot. All in mm."""

    length: float
    width: float            # over the upright sides
    foot: float             # width of the lower face
    height: float
    nut: float              # pocket, across flats
    nut_depth: float
    screw_x: float
    screw_hole: float

    @property
    def flank(self) -> float:
        """Height [mm] of the 45 degree flanks that run up from the lower face, ends included."""
        return (self.width - self.foot) / 2

    @property
    def size(self) -> tuple[float, float, float]:
        """Extent [mm] along x, y, z."""
        return (self.length, self.width, self.height)

    @property
    def volume(self) -> float:
        """Volume [mm3], the two nut pockets taken out."""
        hexagon = 0.866 * self.nut**2 * self.nut_depth
        bore = pi / 4 * self.screw_hole**2 * (self.height - self.nut_depth)
        flanks = self.flank**2 * (self.length + self.width - 4 / 3 * self.flank)
        return self.length * self.width * self.height - flanks - 2 * (hexagon + bore)

    @property
    def centroid_z(self) -> float:
        """Height of the centre of gravity over the lower face [mm], estimated."""
        return self.height / 2


@dataclass(frozen=True, slots=True)
class GearPlan:
    """Heights over rail top [mm], and the holder and bar that each axle needs."""

    axle_z: float
    wheel_top: float
    frame_bottom: float
    holder: HolderPlan
    bar: BarPlan
    slot_neck: float        # width of the slot where only screws pass
    slot_neck_height: float
    slot_width: float       # where the bar slides
    rib: float              # thinnest wall of the frame

    @property
    def shoulder(self) -> float:
        """Height [mm] of the 45 degree shoulder from the slot's neck out to where the bar slides."""
        return (self.slot_width - self.slot_neck) / 2

    @property
    def frame_thickness(self) -> float:
        """Thickness of the frame's spine [mm]: neck, 45 degree shoulder, and the bar's upright part."""
        return round(self.slot_neck_height + self.shoulder + self.bar.height - self.bar.flank + SLOT_ROOM, 3)


def bar_plan(screw: Screw, screw_x: float, printer: Printer) -> BarPlan:
    """Resolve the clamp bar for screws at plus and minus `screw_x` [mm]."""
    pocket = hole(screw.nut, "snug", printer.bore_offset)
    depth = screw.nut_height + 0.3
    bore = screw.clearance + printer.bore_offset
    wall = max(1.4, 3 * printer.line_width)
    return BarPlan(length=2 * screw_x + 1.155 * pocket + 2 * wall, width=pocket + 2 * wall,
                   foot=bore + 2 * wall, height=depth + 1.6, nut=pocket, nut_depth=depth,
                   screw_x=screw_x, screw_hole=bore)


def least_back_to_back(screw: Screw, printer: Printer) -> float:
    """Return the smallest back-to-back [mm] that leaves a holder with a wall on both sides of its screws."""
    wall = max(1.6, printer.thinnest_wall)
    return screw.clearance + printer.bore_offset + 2 * wall + 2 * CHEEK_GAP


def resolve(wheelset: Wheelset, screw: Screw, printer: Printer, lowest_frame: float = 0.0) -> GearPlan:
    """Resolve the running gear; the frame's underside is at least `lowest_frame` [mm] over rail top."""
    kind = "tube" if wheelset.ends == "tube" else "running"
    bore = hole(wheelset.bearing_diameter, kind, printer.bore_offset)
    hub = bore / 2 + max(HUB_WALL, 4 * printer.line_width)
    plate = max(2.4, screw.thread)
    axle_z = wheelset.tread_radius
    wheel_top = axle_z + wheelset.flange_diameter / 2
    frame_bottom = max(wheel_top + WHEEL_GAP, axle_z + hub + 1.0 + plate, lowest_frame)
    screw_x = hub + screw.head / 2 + 0.6
    bar = bar_plan(screw, screw_x, printer)
    slot_width = hole(bar.width, "sliding", printer.bore_offset)
    opening = SNAP_SHARE * wheelset.bearing_diameter + printer.bore_offset
    coarse, width = max(1.0, printer.line_width / FINE_LINE), wheelset.back_to_back - 2 * CHEEK_GAP
    tooth_length = min(width, slot_width + 2 * SPINE_SIDE) - 2 * TOOTH_INSET
    holder = HolderPlan(
        width=width, bore=bore, opening=opening, hub_radius=hub,
        clip_depth=sqrt(bore**2 - opening**2) / 2 + LIP,
        top=frame_bottom - axle_z, plate=plate, half_length=screw_x + screw.head / 2 + 1.0, screw_x=screw_x,
        screw_hole=bar.screw_hole, tooth_pitch=coarse * TOOTH_PITCH, tooth_height=coarse * TOOTH_HEIGHT,
        tooth_crest=coarse * TOOTH_CREST, tooth_length=tooth_length)
    return GearPlan(axle_z, wheel_top, frame_bottom, holder, bar, slot_neck=bar.screw_hole + 0.2,
                    slot_neck_height=1.6, slot_width=slot_width, rib=max(1.6, printer.thinnest_wall))


def _below(radius: float, depth: float) -> float:
    """Return the area [mm2] of a circle of `radius` [mm] less what lies deeper than `depth` [mm] in it."""
    half = acos(depth / radius)
    return radius**2 * (pi - half) + depth * sqrt(radius**2 - depth**2)
