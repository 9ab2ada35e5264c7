"""The axle holder and the bar that clamps it to the frame."""

from collections.abc import Iterable, Iterator
from math import pi, sqrt

from msgspec import Struct

from partgen.describe.printer_tables import Printer
from partgen.plan.context import Context
from partgen.plan.fits import hole, slot
from partgen.plan.hardware import Screw
from partgen.plan.item import BlockPlan, Core, PartPlan
from partgen.plan.outline import Span
from partgen.plan.running_gear.axle_clip import AxleClip
from partgen.plan.running_gear.pin_cups import PinCups

GROOVE_GAP = 0.1        # tooth to groove, all round
LEAST_LAND = 0.95       # between two grooves, or two lines
SLOT_BRIDGE = 3.0       # what must stay between two slots, or they become one
CLEAR = 0.5             # beside the holder's teeth
TOOTH_PITCH = 3.0      # wide enough that the frame keeps two lines between its grooves
TOOTH_HEIGHT = 0.6     # three layers of the frame, which has them lying
TOOTH_CREST = 0.6
FINE_LINE = 0.5        # teeth grow with lines wider than this [mm]
FILLET = 1.0           # radius between arms and plate
END_RADIUS = 1.0       # of the plate's upper ends
ROUNDED = 0.1          # what those take off the wall beside the screws
HEAD_GAP = 0.2         # screw head to that
NOTCHES = (1.6, 1.1)    # depth in the plate's ends, the first that leaves teeth enough
NOTCH_FLANK = 1.1      # half a notch's width over its depth: steeper in print than 45 degrees
LEAST_TOOTH = 1.2      # of a tooth's crest beside the screws' slot
SPINE_EDGE = 0.4       # a notch ends before the spine's side by this
TOOTH_INSET = 1.5      # the spine's sides, and the holder's ends, stay free of teeth by this


class ToothedPlate(PartPlan, frozen=True):
    """What every axle holder has: a plate that two screws clamp under the frame, with teeth in its grooves. Axle centre
    at the origin, axle along y; all in mm."""

    top: float              # axle centre up to the plate's upper face
    plate: float            # its thickness
    half_length: float      # of the plate
    screw_x: float          # screws at plus and minus this
    screw_hole: float
    tooth_pitch: float
    tooth_height: float
    tooth_crest: float
    tooth_length: float     # along y, at the foot
    notch: float            # depth of the notches in both ends of the plate, in which the frame's marks stand; 0: none
    notch_y: float          # their middles at plus and minus this

    @property
    def width(self) -> float:
        """Along the axle [mm]."""
        raise NotImplementedError

    @property
    def under(self) -> float:
        """Height of the plate's underside over the axle [mm]."""
        return self.top - self.plate

    @property
    def teeth(self) -> tuple[float, ...]:
        """Middles of the teeth along x [mm], symmetric, none over the plate's rounded ends."""
        each_side = int((self.half_length - END_RADIUS - self.tooth_crest / 2 - self.tooth_height) / self.tooth_pitch)
        return tuple(k * self.tooth_pitch for k in range(-each_side, each_side + 1))

    @property
    def fittings(self) -> float:
        """Volume [mm3] of the teeth less screw holes and notches."""
        tooth = self.tooth_height * (self.tooth_crest + self.tooth_height) * (self.tooth_length - self.tooth_height)
        screws = 2 * pi / 4 * self.screw_hole**2 * (self.plate + self.tooth_height / 2)
        return len(self.teeth) * tooth - screws - 4 * NOTCH_FLANK * self.notch**2 * self.plate


class HolderPlan(ToothedPlate, frozen=True, kw_only=True):
    """An axle holder in its own frame: axle centre at the origin, axle along y, top of the plate upwards.

    All lengths in mm. The profile in x and z is the same all along y, but for the teeth: they stand in
    the middle, under the frame's spine.
    """

    clip: AxleClip

    @property
    def width(self) -> float:
        """Along the axle [mm]."""
        return self.clip.width

    @property
    def recess(self) -> float:
        """How far either way of the axle [mm] both ends stand back from the wheels, over the pads."""
        return max(self.clip.half + FILLET, sqrt(max(self.clip.over**2 - self.under**2, 0.0)))

    @property
    def size(self) -> tuple[float, float, float]:
        """Extent [mm] along x, y, z."""
        return (2 * self.half_length, self.width, self.clip.depth + self.top + self.tooth_height)

    @property
    def volume(self) -> float:
        """Volume [mm3], estimated from the profile's pieces within some percent."""
        plate = 2 * self.half_length * self.plate - 1.2 * END_RADIUS**2
        clip, lean, deep = self.clip, 2 * self.clip.arm + self.clip.stem, self.clip.over - self.under
        neck = 2 * clip.half * (self.under - clip.root) + 0.43 * FILLET**2
        back = (clip.lost(clip.pad, clip.root, lean) + clip.lost(clip.root, self.under, 2 * clip.half)
                + clip.lost(self.under, clip.over, 2 * min(self.recess, self.half_length) - deep / 2))
        return self.width * (plate + neck + clip.area) - back + clip.stop_volume + self.fittings

    def cores(self, wall: float) -> Iterator[Core]:
        """Yield plate, neck and clip as one: it is printed on its side."""
        half = self.clip.half - wall
        plate = 2 * max(self.half_length - wall - half, 0.0) * max(self.plate - 2 * wall, 0.0)
        neck = 2 * max(half, 0.0) * max(self.top - self.clip.root - 2 * wall, 0.0)
        yield plate + neck + self.clip.core(wall), self.clip.middle

    @property
    def centroid_z(self) -> float:
        """Height of the centre of gravity over the axle [mm], estimated."""
        return 0.61 * self.top


class PinHolderPlan(ToothedPlate, frozen=True, kw_only=True):
    """An axle holder for pointed axles: the plate lies over the wheels, and a cheek hangs down outside either of them.

    Its profile in y and z is the same all along x, but for the cheeks: they narrow at 45 degrees.
    """

    cups: PinCups

    @property
    def width(self) -> float:
        """Along the axle [mm]."""
        return self.cups.width

    @property
    def size(self) -> tuple[float, float, float]:
        """Extent [mm] along x, y, z."""
        return (2 * self.half_length, self.width, self.cups.depth + self.top + self.tooth_height)

    @property
    def volume(self) -> float:
        """Volume [mm3], estimated."""
        cups = self.cups
        lean, low = max(cups.shoulder - self.under, 0.0), min(cups.shoulder, self.under)
        cheek = cups.length * (self.under + cups.depth) - (low + cups.depth)**2 - lean * 2 * (low + cups.depth)
        hollow = pi / 3 * cups.cup**3 + cups.depth * cups.cup**2 / 2
        return 2 * self.half_length * self.width * self.plate + 2 * (cheek * cups.thick - hollow) + self.fittings

    @property
    def centroid_z(self) -> float:
        """Height of the centre of gravity over the axle [mm], estimated."""
        return 0.7 * self.top


class BarPlan(BlockPlan, frozen=True):
    """A clamp bar that slides in the frame's slot and holds the two nuts; its own frame: middle of the
    lower face at the origin, x along the slot. All in mm."""

    foot: float             # width of the lower face; the part's own is that over the upright sides
    nut: float              # pocket, across flats
    nut_depth: float
    screw_x: float
    screw_hole: float

    @property
    def flank(self) -> float:
        """Height [mm] of the 45 degree flanks that run up from the lower face, ends included."""
        return (self.width - self.foot) / 2

    @property
    def volume(self) -> float:
        """Volume [mm3], the two nut pockets taken out."""
        hexagon = 0.866 * self.nut**2 * self.nut_depth
        bore = pi / 4 * self.screw_hole**2 * (self.height - self.nut_depth)
        flanks = self.flank**2 * (self.length + self.width - 4 / 3 * self.flank)
        return self.length * self.width * self.height - flanks - 2 * (hexagon + bore)

    def cores(self, wall: float) -> Iterator[Core]:
        """Yield what is round the nuts, and what is below them."""
        block = max(self.length - 2 * wall, 0.0) * max(self.width - 2 * wall, 0.0)
        nut = self.nut + 2 * wall
        yield block - 2 * nut * min(0.866 * nut, max(self.width - 2 * wall, 0.0)), self.nut_depth
        yield block - pi / 2 * (self.screw_hole + 2 * wall)**2, self.height - self.nut_depth


class SlidePlan(Struct, frozen=True):
    """Slots and grooves of a frame in wagon axes, all in mm.

    `slots` are (start, end) along x where the clamp bar slides; the teeth of `holder` fit the grooves.
    """

    holder: ToothedPlate
    slots: tuple[Span, ...]
    slot_width: float
    neck_width: float
    neck_height: float
    grooves: tuple[Span, ...]       # start, end along x of each toothed stretch
    groove_width: float             # along y
    travel: float                   # of the holders
    spine: float                    # width of the frame's spine
    land: float                     # least between two grooves, and between grooves and marks

    @property
    def shoulder(self) -> float:
        """Height [mm] of the slot's 45 degree shoulders."""
        return (self.slot_width - self.neck_width) / 2

    @property
    def necks(self) -> tuple[Span, ...]:
        """(start, end) along x [mm] where the screws pass."""
        return tuple((start + self.shoulder, end - self.shoulder) for start, end in self.slots)

    @property
    def groove_depth(self) -> float:
        """Depth of a groove [mm]."""
        return self.holder.tooth_height + GROOVE_GAP

    @property
    def groove_stretches(self) -> tuple[tuple[tuple[float, float], ...], ...]:
        """(start, end) along x [mm] of every groove, whole pitches from its axle, by stretch.

        Where the stretches of two axles overlap they are one; out of step there, grooves join that would
        leave too thin a land.
        """
        pitch, crest = self.holder.tooth_pitch, self.holder.tooth_crest
        half = (crest + 2 * self.holder.tooth_height + 2 * GROOVE_GAP) / 2      # 45 degree flanks, and a gap
        stretches: list[list[Span]] = []
        for start, end in self.grooves:
            each_side, axle = int(((end - start) / 2 - half) / pitch), (start + end) / 2
            stretches.append([(axle + k * pitch - half, axle + k * pitch + half)
                              for k in range(-each_side, each_side + 1)])
        if self.grooves[0][1] + self.land > self.grooves[1][0]:
            stretches = [stretches[0] + stretches[1]]
        return tuple(merged(spans, self.land) for spans in stretches)

    @property
    def marks(self) -> tuple[Span, ...]:
        """(start, end) along x [mm] of the marks that stand in the notches at the holders' inner ends, one for each
        setting, the middle one twice as broad; none without notches."""
        holder, crest = self.holder, self.holder.tooth_crest + 2 * GROOVE_GAP
        teeth = round(self.travel / holder.tooth_pitch) if holder.notch else -1
        inward = holder.half_length - holder.notch / 2
        places = [(sign * ((start + end) / 2 * sign + k * holder.tooth_pitch - inward), crest if k else 2 * crest)
                  for start, end in self.grooves for sign in (1 if end + start > 0 else -1,)
                  for k in range(-teeth, teeth + 1)]
        return tuple((x - wide / 2, x + wide / 2) for x, wide in places)

    @property
    def mark_y(self) -> Span:
        """(start, end) along y [mm] of a mark, from between the grooves and it to the spine's side."""
        return self.groove_width / 2 + self.land, self.spine / 2

    def volume(self, thickness: float) -> float:
        """Return what slots, grooves and marks take out of a frame `thickness` [mm] high [mm3]."""
        straight = thickness - self.neck_height - self.shoulder
        section = (self.neck_width * self.neck_height + self.shoulder * (self.slot_width + self.neck_width) / 2
                   + straight * self.slot_width)
        spans = [span for stretch in self.groove_stretches for span in stretch]
        grooves = sum(end - start - self.groove_depth for start, end in spans) * self.groove_depth
        inner, outer = self.mark_y
        marks = 2 * sum(end - start for start, end in self.marks) * (outer - inner) * self.groove_depth
        return (section * sum(end - start for start, end in self.slots) + marks
                + grooves * max(self.groove_width - self.neck_width, 0.0))


def merged(spans: Iterable[Span], bridge: float) -> tuple[Span, ...]:
    """Return (start, end) spans with those closer than `bridge` [mm] made one."""
    joined: list[Span] = []
    for start, end in sorted(spans):
        if joined and start - joined[-1][1] < bridge:
            joined[-1] = (joined[-1][0], max(end, joined[-1][1]))
        else:
            joined.append((start, end))
    return tuple(joined)


def bar_plan(half: float, screw: Screw, printer: Printer) -> BarPlan:
    """Resolve the clamp bar, its screws' heads beside what hangs `half` [mm] either way of the axle."""
    screw_x = half + FILLET + HEAD_GAP + screw.head / 2
    pocket = slot(screw.nut, "snug", printer)
    depth = screw.nut_height + 0.3
    bore = hole(screw.clearance, "screw", printer)
    wall = max(1.4, 3 * printer.line_width)
    return BarPlan(length=2 * screw_x + 1.155 * pocket + 2 * wall, width=pocket + 2 * wall,
                   foot=bore + 2 * wall, height=depth + max(1.6, printer.thinnest_wall), nut=pocket,
                   nut_depth=depth, screw_x=screw_x, screw_hole=bore)


def holder_plan(context: Context, clip: AxleClip | PinCups, bar: BarPlan, plate: float, top: float,
                spine: float) -> HolderPlan | PinHolderPlan:
    """Resolve the holder, its plate `plate` thick, that `bar` clamps under a frame `top` over its axle, whose spine is
    `spine` wide [mm]."""
    printer, wide, back = context.printer, clip.width / 2, clip.back(top - plate)
    coarse = max(1.0, printer.line_width / FINE_LINE)
    tooth, plain = coarse * TOOTH_HEIGHT, min(wide, spine / 2) - max(TOOTH_INSET, printer.thinnest_wall + CLEAR)
    side = min(spine / 2 - SPINE_EDGE, wide - back - printer.thinnest_wall)
    notch = next((coarse * deep for deep in NOTCHES if side - 2 * NOTCH_FLANK * coarse * deep - CLEAR
                  > bar.screw_hole / 2 + tooth + LEAST_TOOTH), 0.0)
    teeth = min(plain, side - 2 * NOTCH_FLANK * notch - CLEAR) if notch else plain
    toothed = {
        "top": top, "plate": plate, "half_length": half_length(context, bar), "screw_x": bar.screw_x,
        "screw_hole": bar.screw_hole, "tooth_pitch": coarse * TOOTH_PITCH, "tooth_height": tooth,
        "tooth_crest": coarse * TOOTH_CREST, "tooth_length": 2 * teeth, "notch": notch,
        "notch_y": side - NOTCH_FLANK * notch}
    return HolderPlan(clip=clip, **toothed) if isinstance(clip, AxleClip) else PinHolderPlan(cups=clip, **toothed)


def half_length(context: Context, bar: BarPlan) -> float:
    """Return half the length [mm] along x of a holder's plate: beyond its screws it has plastic round their heads."""
    beyond = max(context.screw.head / 2 + 1.0, bar.screw_hole / 2 + context.printer.thinnest_wall + ROUNDED)
    return bar.screw_x + beyond
