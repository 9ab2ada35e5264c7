"""Running gear: the height of everything over the rail, the axle holder and the bar that clamps it."""

from dataclasses import dataclass

from partgen.describe.printer import Printer
from partgen.describe.wheelset import Wheelset
from partgen.formulas.fit import hole
from partgen.plan.hardware import Screw

WHEEL_GAP = 1.2        # between flange top and frame; the axle's own slack is about a quarter of it
HUB_WALL = 2.2         # round the bore: five lines, so that the snap arms flex without splitting
SNAP_SHARE = 0.86      # opening over bearing diameter: holds by hand, snaps without glue
CHEEK_GAP = 0.4        # holder to wheel, each side
TOOTH_PITCH = 2.5
TOOTH_HEIGHT = 0.5
TOOTH_CREST = 0.5


@dataclass(frozen=True, slots=True)
class HolderPlan:
    """An axle holder in its own frame: axle centre at the origin, axle along y, top of the plate upwards.

    All lengths in mm. The profile in x and z is the same all along y.
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
    tooth_pitch: float = TOOTH_PITCH
    tooth_height: float = TOOTH_HEIGHT
    tooth_crest: float = TOOTH_CREST

    @property
    def size(self) -> tuple[float, float, float]:
        """Extent [mm] along x, y, z."""
        return (2 * self.half_length, self.width, self.clip_depth + self.top + self.tooth_height)

    @property
    def teeth(self) -> tuple[float, ...]:
        """Middles of the teeth along x [mm], symmetric, none over the plate's rounded ends."""
        each_side = int((self.half_length - 1.2 - self.tooth_crest / 2) / self.tooth_pitch)
        return tuple(k * self.tooth_pitch for k in range(-each_side, each_side + 1))

    @property
    def volume(self) -> float:
        """Volume [mm3], estimated from the profile's pieces within some percent."""
        plate = 2 * self.half_length * self.plate
        web = 2 * self.hub_radius * max(self.top - self.plate, 0.0)
        hub = 1.9 * self.hub_radius * self.clip_depth
        return self.width * (plate + web + hub - 0.85 * self.bore**2)

    @property
    def centroid_z(self) -> float:
        """Height of the centre of gravity over the axle [mm], estimated."""
        return 0.55 * self.top


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
    def size(self) -> tuple[float, float, float]:
        """Extent [mm] along x, y, z."""
        return (self.length, self.width, self.height)

    @property
    def volume(self) -> float:
        """Volume [mm3], the two nut pockets taken out."""
        flank = (self.width - self.foot) / 2
        return self.length * (self.width * self.height - flank**2) - 2 * 0.87 * self.nut**2 * self.nut_depth

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

    @property
    def frame_thickness(self) -> float:
        """Thickness of the frame's spine [mm]: neck, 45 degree shoulder, and the bar's upright part."""
        shoulder = (self.slot_width - self.slot_neck) / 2
        return round(self.slot_neck_height + shoulder + self.bar.height
                     - (self.bar.width - self.bar.foot) / 2 + 0.4, 3)


def bar_plan(screw: Screw, screw_x: float, printer: Printer) -> BarPlan:
    """Resolve the clamp bar for screws at plus and minus `screw_x` [mm]."""
    pocket = hole(screw.nut, "snug", printer.bore_offset)
    depth = screw.nut_height + 0.3
    bore = screw.clearance + printer.bore_offset
    wall = max(1.4, 3 * printer.line_width)
    return BarPlan(length=2 * screw_x + 1.155 * pocket + 2 * wall, width=pocket + 2 * wall,
                   foot=bore + 2 * wall, height=depth + 1.6, nut=pocket, nut_depth=depth,
                   screw_x=screw_x, screw_hole=bore)


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
    half_length = screw_x + screw.head / 2 + 1.0
    holder = HolderPlan(
        width=wheelset.back_to_back - 2 * CHEEK_GAP, bore=bore,
        opening=SNAP_SHARE * wheelset.bearing_diameter + printer.bore_offset, hub_radius=hub,
        clip_depth=min(0.51 * bore / 2 + 1.2, hub), top=frame_bottom - axle_z, plate=plate,
        half_length=half_length, screw_x=screw_x, screw_hole=screw.clearance + printer.bore_offset)
    bar = bar_plan(screw, screw_x, printer)
    return GearPlan(axle_z, wheel_top, frame_bottom, holder, bar,
                    slot_neck=screw.clearance + printer.bore_offset + 0.2, slot_neck_height=1.6,
                    slot_width=hole(bar.width, "sliding", printer.bore_offset))
