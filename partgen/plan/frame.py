"""The frame: a plate with sole bars, a spine with indexed slots, coupler seats and body screws."""

from dataclasses import dataclass
from math import ceil, pi

from partgen.plan.coupling import SeatPlan
from partgen.plan.gear import SPINE_SIDE, GearPlan
from partgen.plan.hardware import Screw

PLATE = 2.0
SOLE_BAR = 2.4
CORNER = 3.0
BOSS_WALL = 1.8
SLOT_BRIDGE = 3.0       # what must stay between two slots, or they become one
GIRDER = 3.0            # spine on either side of a pocket between the slots
LAP = 0.4               # of screw bosses into the bars beside them
LONGEST_BAY = 32.0      # between two ribs
LEAST_BAY = 5.0         # anything smaller stays solid
POCKET_CORNER = 2.5
CORE_DEPTH = 7.0
PANEL_EDGE = 1.8        # sole bar above and below the panel sunk into its outside
PANEL_END = 6.0
GROOVE_GAP = 0.1        # tooth to groove, all round
LEAST_LAND = 0.95       # between two grooves: two lines
CLEAR = 0.5             # beside the holder's teeth, and round a seat


@dataclass(frozen=True, slots=True)
class Pocket:
    """A hollow under the plate from corner `near` to corner `far` (x, y) [mm]; a screw boss `notch` [mm]
    wide stands in the far corner, none where that is 0."""

    near: tuple[float, float]
    far: tuple[float, float]
    notch: float = 0.0

    @property
    def area(self) -> float:
        """Area [mm2]."""
        sides = abs(self.far[0] - self.near[0]) * abs(self.far[1] - self.near[1])
        return sides - 0.86 * POCKET_CORNER**2 - 0.95 * self.notch**2


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
    core_depth: float                            # from the top
    boss: float                                  # diameter of the boss round each core
    pockets: tuple[Pocket, ...]
    groove_width: float                          # along y
    panel: float                                 # depth of the panels in the sole bars' outside, or 0

    @property
    def thickness(self) -> float:
        """Height of spine and sole bars [mm]."""
        return self.top - self.bottom

    @property
    def shoulder(self) -> float:
        """Height [mm] of the slot's 45 degree shoulders."""
        return (self.slot_width - self.neck_width) / 2

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
        block = (self.length * self.width - 0.86 * self.corner**2) * self.thickness
        hollow = sum(pocket.area for pocket in self.pockets) * (self.thickness - self.plate)
        slots = sum((end - start) * self._slot_section for start, end in self.slots)
        seats = sum(self._seat_volume(seat) for seat in self.seats)
        cores = len(self.screws) * pi / 4 * self.core**2 * self.core_depth
        return block - hollow - slots - cores - self._grooves - self._panels + seats

    @property
    def panels(self) -> tuple[float, float, float] | None:
        """Length on the sides, length at the ends and height [mm] of the panels sunk into the outside."""
        size = (self.length - 2 * PANEL_END, self.width - 2 * PANEL_END, self.thickness - 2 * PANEL_EDGE)
        return size if self.panel and min(size) > 4 * self.panel else None

    @property
    def groove_stretches(self) -> tuple[tuple[tuple[float, float], ...], ...]:
        """(start, end) along x [mm] of every groove, whole pitches from its axle, by stretch.

        Where the stretches of two axles overlap they are one; out of step there, grooves join that would
        leave too thin a land.
        """
        half, stretches = self.groove_foot / 2, []
        for start, end in self.grooves:
            each_side, axle = int(((end - start) / 2 - half) / self.tooth_pitch), (start + end) / 2
            stretches.append([(axle + k * self.tooth_pitch - half, axle + k * self.tooth_pitch + half)
                              for k in range(-each_side, each_side + 1)])
        if self.grooves[0][1] + LEAST_LAND > self.grooves[1][0]:
            stretches = [stretches[0] + stretches[1]]
        return tuple(merged(spans, LEAST_LAND) for spans in stretches)

    @property
    def groove_foot(self) -> float:
        """Width of a groove [mm] in the underside: tooth, 45 degree flanks and the gap beside them."""
        return self.tooth_crest + 2 * self.tooth_height + 2 * GROOVE_GAP

    @property
    def groove_depth(self) -> float:
        """Depth of a groove [mm]."""
        return self.tooth_height + GROOVE_GAP

    @property
    def _grooves(self) -> float:
        spans = [span for stretch in self.groove_stretches for span in stretch]
        section = sum(end - start - self.groove_depth for start, end in spans) * self.groove_depth
        return section * max(self.groove_width - self.neck_width, 0.0)

    @property
    def _panels(self) -> float:
        along, across, high = self.panels or (0.0, 0.0, 0.0)
        return 2 * self.panel * (along + across) * 0.8 * high

    @property
    def _slot_section(self) -> float:
        straight = self.thickness - self.neck_height - self.shoulder
        return (self.neck_width * self.neck_height + self.shoulder * (self.slot_width + self.neck_width) / 2
                + straight * self.slot_width)

    def _seat_volume(self, seat: SeatPlan) -> float:
        boss = 3.1416 * seat.guard_outer**2 * (self.bottom - seat.boss_bottom)
        spigot = 0.785 * (seat.spigot**2 - seat.core**2) * (seat.boss_bottom - seat.spigot_bottom)
        ring = 3.1416 * (seat.guard_outer**2 - seat.guard_inner**2) * (seat.boss_bottom - seat.guard_bottom)
        return boss + spigot + ring * (1 - seat.opening / 180)

    @property
    def centroid_z(self) -> float:
        """Height of the centre of gravity over rail top [mm], estimated."""
        seats, total = sum(self._seat_volume(seat) for seat in self.seats), self.volume
        middle = (self.bottom + self.seats[0].guard_bottom) / 2
        return ((total - seats) * (self.bottom + 0.57 * self.thickness) + seats * middle) / total


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
    half, reach = wheelbase / 2, slot_half(gear, travel)
    stretch, boss, thickness = gear.holder.half_length + travel, core + 2 * BOSS_WALL, gear.frame_thickness
    screw_x, screw_y = length / 2 - SOLE_BAR - boss / 2 + LAP, width / 2 - SOLE_BAR - boss / 2 + LAP
    slots = merged([(s * half - reach, s * half + reach) for s in (-1, 1)], SLOT_BRIDGE)
    spine = min(gear.slot_width + 2 * SPINE_SIDE, width - 2 * SOLE_BAR)
    seat_side = max(spine / 2, seats[0].guard_outer + CLEAR)
    return FramePlan(
        length=length, width=width, bottom=gear.frame_bottom, top=gear.frame_bottom + thickness, plate=PLATE,
        sole_bar=SOLE_BAR, corner=CORNER, spine_width=spine, slots=slots,
        necks=tuple((start + gear.shoulder, end - gear.shoulder) for start, end in slots),
        slot_width=gear.slot_width, neck_width=gear.slot_neck, neck_height=gear.slot_neck_height,
        grooves=tuple((s * half - stretch, s * half + stretch) for s in (-1, 1)),
        tooth_pitch=gear.holder.tooth_pitch, tooth_height=gear.holder.tooth_height,
        tooth_crest=gear.holder.tooth_crest, seats=seats,
        screws=tuple((sx * screw_x, sy * screw_y) for sx in (1, -1) for sy in (1, -1)), core=core,
        core_depth=min(CORE_DEPTH, thickness - 1.0), boss=boss,
        pockets=tuple(_pockets(length, width, spine / 2, seat_side, slots, boss - LAP, gear.rib)),
        groove_width=gear.holder.tooth_length + 2 * CLEAR, panel=max(0.0, min(0.6, SOLE_BAR - gear.rib)))


def _pockets(length, width, spine, seat_side, slots, notch, rib):
    """Yield the hollows between spine, bars and ribs: beside the seats, beside and between the slots."""
    end, side = length / 2 - SOLE_BAR, width / 2 - SOLE_BAR
    marks = [-end, *(edge for slot in slots for edge in slot), end]
    for number, (low, high) in enumerate(zip(marks, marks[1:])):
        first, last = number == 0, number == len(marks) - 2
        beside = seat_side if first or last else spine
        for x in _fields(low + (0 if first else rib / 2), high - (0 if last else rib / 2), rib):
            for y in _fields(beside, side, rib):
                at_corner = (x[0] == -end or x[1] == end) and y[1] == side
                yield from _quarters(x, y, notch if at_corner else 0.0)
        if not (first or last) and number % 2 == 0:
            inner = spine - max(GIRDER, rib)
            wall = max(rib, GIRDER)
            yield from (Pocket((x[0], -inner), (x[1], inner)) for x in _fields(low + wall, high - wall, rib)
                        if 2 * inner >= LEAST_BAY)


def _fields(low: float, high: float, rib: float):
    """Return (start, end) of equal fields from `low` to `high` [mm] with ribs between; none if too small."""
    count = max(1, ceil((high - low) / LONGEST_BAY))
    size = (high - low - (count - 1) * rib) / count
    if size < LEAST_BAY:
        return []
    starts = [low + k * (size + rib) for k in range(count)]
    # The last one ends at `high` itself, not a rounding error beside it: corner fields are told by that.
    return [*((start, start + size) for start in starts[:-1]), (starts[-1], high)]


def _quarters(x, y, notch: float):
    """Yield the pocket over spans `x` and `y` [mm] on the left and on the right; a notch too large for it
    shortens it instead."""
    near, far = sorted(x, key=abs)
    if notch and min(abs(far - near), y[1] - y[0]) < notch + 2.0:
        far, notch = far - (notch if far > 0 else -notch), 0.0
        if abs(far - near) < LEAST_BAY or abs(far) < abs(near):
            return
    for s in (1, -1):
        yield Pocket((near, s * y[0]), (far, s * y[1]), notch)
