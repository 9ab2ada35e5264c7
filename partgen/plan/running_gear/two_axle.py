"""The running gear of a two-axle wagon: axle holders that slide under the frame, clamped where they stand."""

from msgspec import Struct
from msgspec.structs import replace

from partgen.describe.printer_tables import Printer
from partgen.describe.wagon_tables import Wagon, Wheelset
from partgen.finding import up
from partgen.plan.fits import hole, slot
from partgen.plan.hardware import Screw
from partgen.plan.item import Item, Place
from partgen.plan.running_gear.clip import CHEEK_GAP, clip_plan
from partgen.plan.running_gear.holder import (
    CLEAR,
    SLOT_BRIDGE,
    BarPlan,
    HolderPlan,
    SlidePlan,
    bar_plan,
    holder_plan,
    merged,
)

WHEEL_GAP = 1.2        # between flange top and frame; the axle's own slack is about a quarter of it
SPINE_SIDE = 4.0       # the frame's spine on either side of the slot
SLOT_ROOM = 0.4        # bar below the frame's upper face
NECK_HEIGHT = 1.6      # of the slot where only screws pass
AXLE_ROOM = 0.8        # wheel or holder to the coupler seat


class GearPlan(Struct, frozen=True):
    """The running gear of a two-axle wagon; heights over rail top, all in mm. See `undercarriage`."""

    wheelset: Wheelset
    wheelbase: float
    travel: float           # of each holder, either way
    frame_bottom: float
    holder: HolderPlan
    bar: BarPlan
    slot_neck: float        # width of the slot where only screws pass
    slot_neck_height: float
    slot_width: float       # where the bar slides
    rib: float              # thinnest wall of the frame

    bogie, bolsters, bogie_wheelbase = None, (), 0.0
    carriers, base_name = "axle holders", "wheelbase"

    @property
    def base(self) -> float:
        """Axle to axle [mm]."""
        return self.wheelbase

    @property
    def axles(self) -> tuple[float, ...]:
        """Where the wheelsets stand along x [mm]."""
        return (self.wheelbase / 2, -self.wheelbase / 2)

    @property
    def axle_z(self) -> float:
        """Height [mm] of the axles."""
        return self.wheelset.tread_radius

    @property
    def wheel_top(self) -> float:
        """Height [mm] of the flanges' highest point."""
        return self.axle_z + self.wheelset.flange_diameter / 2

    @property
    def shoulder(self) -> float:
        """Height [mm] of the 45 degree shoulder from the slot's neck out to where the bar slides."""
        return (self.slot_width - self.slot_neck) / 2

    @property
    def frame_thickness(self) -> float:
        """Thickness of the frame's spine [mm]: neck, 45 degree shoulder, and the bar's upright part."""
        return round(self.slot_neck_height + self.shoulder + self.bar.height - self.bar.flank + SLOT_ROOM, 3)

    @property
    def middle(self) -> float:
        """Width [mm] that the frame keeps for the slots."""
        return self.slot_width

    @property
    def spine(self) -> float:
        """Width [mm] of the frame's spine."""
        return self.slot_width + 2 * SPINE_SIDE

    @property
    def slide(self) -> SlidePlan:
        """Slots and grooves in the frame."""
        half, reach, stretch = self.wheelbase / 2, self._slot_half(self.travel), self.holder.half_length + self.travel
        slots = merged([(s * half - reach, s * half + reach) for s in (-1, 1)], SLOT_BRIDGE)
        return SlidePlan(
            slots=slots, necks=tuple((start + self.shoulder, end - self.shoulder) for start, end in slots),
            slot_width=self.slot_width, neck_width=self.slot_neck, neck_height=self.slot_neck_height,
            grooves=tuple((s * half - stretch, s * half + stretch) for s in (-1, 1)),
            groove_width=self.holder.tooth_length + 2 * CLEAR, tooth_pitch=self.holder.tooth_pitch,
            tooth_height=self.holder.tooth_height, tooth_crest=self.holder.tooth_crest)

    @property
    def blocks(self) -> tuple[tuple[float, float, float], ...]:
        """(start, end, half width) [mm] of what stays solid in the frame: here the spine will do."""
        return tuple((start, end, 0.0) for start, end in self.slide.slots)

    def _slot_half(self, travel: float) -> float:
        return self.bar.length / 2 + travel + 0.3

    def seat_distance(self, coupling) -> float:
        """Return the distance [mm] from an axle to the coupler seat's pivot that full travel takes."""
        return self.least_seat_distance(coupling) + self.travel

    def least_seat_distance(self, coupling) -> float:
        """Return the distance [mm] from an axle to the coupler seat's pivot that it takes without travel."""
        wheels_meet_guard = coupling.guard_outer > self.wheelset.back_to_back / 2 - 0.5
        beyond_axle = max(self.holder.half_length, self._slot_half(0.0),
                          self.wheelset.flange_diameter / 2 if wheels_meet_guard else 0.0)
        return beyond_axle + AXLE_ROOM + coupling.guard_outer

    def fitted(self, short: float) -> "GearPlan":
        """Return the gear where the body is `short` [mm] too short at either end: with as much less travel."""
        return replace(self, travel=max(self.travel - max(short, 0.0), 0.0))

    def unmet(self, screw: Screw, printer: Printer):
        """Yield (value, least value [mm], remedy) for what cannot be whatever the body is."""
        least, found = least_back_to_back(screw, printer), self.wheelset.back_to_back
        yield found, least, (f"no axle holder with {screw.name} screws goes between wheels {found:g} mm apart: "
                             f"choose smaller screws, or wheels {up(least)} mm apart")

    def items(self):
        """Yield the printed parts with their places in the wagon."""
        bar_z = self.frame_bottom + self.slot_neck_height + 0.5 * (self.bar.foot - self.slot_neck) + 0.15
        yield Item("axle-holder", "axle-holder", self.holder,
                   tuple(Place(x, 0.0, self.axle_z) for x in self.axles))
        yield Item("clamp-bar", "clamp-bar", self.bar, tuple(Place(x, 0.0, bar_z) for x in self.axles))


def least_back_to_back(screw: Screw, printer: Printer) -> float:
    """Return the smallest back-to-back [mm] that leaves a holder with a wall on both sides of its screws."""
    wall = max(1.6, printer.thinnest_wall)
    return hole(screw.clearance, "screw", printer) + 2 * wall + 2 * CHEEK_GAP


def resolve(wagon: Wagon, wheelset: Wheelset, screw: Screw, printer: Printer, lowest_frame: float) -> GearPlan:
    """Resolve the running gear; the frame's underside is at least `lowest_frame` [mm] over rail top."""
    clip, plate, axle_z = clip_plan(wheelset, printer), max(2.4, screw.thread), wheelset.tread_radius
    frame_bottom = max(axle_z + wheelset.flange_diameter / 2 + WHEEL_GAP, axle_z + clip.least_web + plate,
                       lowest_frame)
    bar = bar_plan(clip, screw, printer)
    slot_width = slot(bar.width, "sliding", printer)
    holder = holder_plan(clip, bar, plate, frame_bottom - axle_z, wheelset.back_to_back,
                         slot_width + 2 * SPINE_SIDE, screw, printer)
    return GearPlan(wheelset, wagon.wheelbase, wagon.travel, frame_bottom, holder, bar,
                    slot_neck=bar.screw_hole + 0.2, slot_neck_height=NECK_HEIGHT, slot_width=slot_width,
                    rib=max(1.6, printer.thinnest_wall))
