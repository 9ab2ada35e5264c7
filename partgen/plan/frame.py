"""The frame: a plate with sole bars, a spine with indexed slots, coupler seats and body screws."""

from dataclasses import dataclass

from partgen.plan.coupling import SeatPlan
from partgen.plan.gear import GearPlan
from partgen.plan.hardware import Screw

PLATE = 2.0
SOLE_BAR = 2.4
CORNER = 3.0
BOSS_WALL = 1.8
SLOT_BRIDGE = 3.0       # what must stay between two slots, or they become one


@dataclass(frozen=True, slots=True)
class FramePlan:
    """A frame in wagon axes, heights over rail top; all in mm.

    `slots` are (start, end) along x where the clamp bar slides, `necks` where the screws pass.
    """

    length: float
    width: float
    bottom: float
    top: float
    plate: float
    sole_bar: float
    corner: float
    spine_width: float
    slots: tuple[tuple[float, float], ...]
    necks: tuple[tuple[float, float], ...]
    slot_width: float
    neck_width: float
    neck_height: float
    grooves: tuple[tuple[float, float], ...]     # start, end along x of each toothed stretch
    tooth_pitch: float
    tooth_height: float
    tooth_crest: float
    seats: tuple[SeatPlan, SeatPlan]             # front, rear; the rear one is turned about z
    screws: tuple[tuple[float, float], ...]      # body screws
    core: float
    boss: float                                  # diameter of the boss round each core

    @property
    def thickness(self) -> float:
        """Height of spine and sole bars [mm]."""
        return self.top - self.bottom

    @property
    def lowest(self) -> float:
        """Lowest point of the frame over rail top [mm]: the pivot spigots."""
        return min(seat.spigot_bottom for seat in self.seats)

    @property
    def size(self) -> tuple[float, float, float]:
        """Extent [mm] along x, y, z."""
        return (self.length, self.width, self.top - self.lowest)

    @property
    def volume(self) -> float:
        """Volume [mm3], estimated from plate, bars, spine and seats."""
        rib = self.thickness - self.plate
        bars = 2 * self.sole_bar * (self.length + self.width - 2 * self.sole_bar) * rib
        spine = self.spine_width * (self.length - 2 * self.sole_bar) * rib
        slot = sum((end - start) * self._slot_section for start, end in self.slots)
        seats = sum(self._seat_volume(seat) for seat in self.seats)
        bosses = len(self.screws) * 0.785 * (self.boss**2 - self.core**2) * rib * 0.6
        return self.length * self.width * self.plate + bars + spine - slot + seats + bosses

    @property
    def _slot_section(self) -> float:
        shoulder = (self.slot_width - self.neck_width) / 2
        straight = self.thickness - self.neck_height - shoulder
        return (self.neck_width * self.neck_height + shoulder * (self.slot_width + self.neck_width) / 2
                + straight * self.slot_width)

    def _seat_volume(self, seat: SeatPlan) -> float:
        boss = 3.1416 * seat.guard_outer**2 * (self.bottom - seat.boss_bottom)
        spigot = 0.785 * (seat.spigot**2 - seat.core**2) * (seat.boss_bottom - seat.spigot_bottom)
        ring = 3.1416 * (seat.guard_outer**2 - seat.guard_inner**2) * (seat.boss_bottom - seat.guard_bottom)
        return boss + spigot + ring * (1 - seat.opening / 180)

    @property
    def centroid_z(self) -> float:
        """Height of the centre of gravity over rail top [mm], estimated."""
        return self.bottom + 0.6 * self.thickness


def merged(spans, bridge: float):
    """Return (start, end) spans with those closer than `bridge` [mm] made one."""
    joined = []
    for start, end in sorted(spans):
        if joined and start - joined[-1][1] < bridge:
            joined[-1] = (joined[-1][0], max(end, joined[-1][1]))
        else:
            joined.append((start, end))
    return tuple(joined)


def slot_half(gear: GearPlan, travel: float) -> float:
    """Return half the length of a slot [mm] in which the bar slides `travel` [mm] either way."""
    return gear.bar.length / 2 + travel + 0.3


def narrowest(gear: GearPlan, screw: Screw) -> float:
    """Return the narrowest frame [mm] with room for slot, body screws and sole bars side by side."""
    return gear.slot_width + 2 * (2 * BOSS_WALL + screw.core + SOLE_BAR)


def resolve(gear: GearPlan, screw: Screw, core: float, seats, length: float, width: float, wheelbase: float,
            travel: float) -> FramePlan:
    """Resolve the frame of a body `length` by `width` [mm] with axles at plus and minus half `wheelbase`."""
    half = wheelbase / 2
    reach, neck = slot_half(gear, travel), gear.bar.screw_x + gear.slot_neck / 2 + travel
    stretch = gear.holder.half_length + travel
    boss = core + 2 * BOSS_WALL
    screw_x, screw_y = length / 2 - SOLE_BAR - boss / 2 - 1.0, width / 2 - SOLE_BAR - boss / 2
    return FramePlan(
        length=length, width=width, bottom=gear.frame_bottom, top=gear.frame_bottom + gear.frame_thickness,
        plate=PLATE, sole_bar=SOLE_BAR, corner=CORNER,
        spine_width=min(gear.slot_width + 8.0, width - 2 * SOLE_BAR),
        slots=merged([(s * half - reach, s * half + reach) for s in (-1, 1)], SLOT_BRIDGE),
        necks=merged([(s * half - neck, s * half + neck) for s in (-1, 1)], SLOT_BRIDGE),
        slot_width=gear.slot_width, neck_width=gear.slot_neck, neck_height=gear.slot_neck_height,
        grooves=tuple((s * half - stretch, s * half + stretch) for s in (-1, 1)),
        tooth_pitch=gear.holder.tooth_pitch, tooth_height=gear.holder.tooth_height,
        tooth_crest=gear.holder.tooth_crest, seats=seats,
        screws=tuple((sx * screw_x, sy * screw_y) for sx in (1, -1) for sy in (1, -1)), core=core, boss=boss)
