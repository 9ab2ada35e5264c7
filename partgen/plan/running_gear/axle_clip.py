"""The snap clip that an axle turns in: the same on axle holder, bogie and coupon.

A stem bears the axle from above. Beside it hang two slender arms, as long as the axle between its wheels, whose lips
hold it from below; how thick they are follows from the push that a thumb has. Only pads round the bore stand out to
the wheels: what is above them stands back, more and more at 45 degrees, so that it prints on its side.
"""

from math import asin, hypot, inf, radians, sqrt, tan

from msgspec import Struct
from msgspec.structs import replace

from partgen.describe.printer_tables import Printer
from partgen.describe.wagon_tables import Wheelset
from partgen.formulas.snap import arm_force, arm_strain, lips_push, pushed_width, slenderness
from partgen.plan.context import Shortfall
from partgen.plan.fits import hole, outside, printed, slot
from partgen.plan.hardware import FRICTION, LEAST_HOLD, PLASTICS, ROOT, THUMB

CHEEK_GAP = 0.4         # holder or bogie to wheel, each side
WEIGHTS = 10.0          # of the wheelset that the arms must hold
GRAVITY = 9.80665e-3    # N/g
PUSH = 36.0             # N to push an axle in that arms as thin as two lines are made long enough for
THICKEST = 2.4          # arms
GAP = 0.6               # between stem and arms, or more by the printer's lines
SADDLE = 0.9            # of the bore's diameter, at most, that the stem may be wide
STEM = 0.65             # of the bore's diameter
LIP = 1.2               # what the snap arms reach below their throat, flared to let the axle in
FLARE = radians(25)     # slope of the flare from upright
END = 1.25              # of two lines: the flared ends along the level, so that they are that thick across
NECK = 1.0              # over the arms' roots
PAD = 1.2               # over the bore
BLOCK = 3.0             # over a clip that stands alone
PASSES = 4              # until length, thickness and force agree within a hundredth
MOST = 8.0              # push in over pull out that they are made for
PIECES = 8              # of an arm from its lip to its root
PROUD = 0.2             # of bearings out of the pads
SHIM = 0.1              # between a bearing's inner ring and a bought wheel
STOP, STOP_GAP = 0.8, 0.1   # over a bearing's outer ring, at most, and beside it
REACH = 0.5             # of what stands back, beyond the flanges


class AxleClip(Struct, frozen=True):
    """A clip: axle centre at the origin, axle along y, open downwards. All in mm."""

    axle: float             # diameter of what turns in it
    width: float            # along the axle
    bore: float             # diameter as drawn
    opening: float          # of the snap, below the axle
    share: float            # of the axle's diameter that this leaves open as printed [1]
    stem: float             # thickness of what bears the axle
    inner: float            # from the middle to the arms
    arm: float              # thickness of an arm, as drawn
    spread: float           # by which it comes out thicker
    root: float             # height of the arms' roots over the axle
    end: float              # width of the arms' flared ends
    pad: float              # height over which it stands back from the wheels at 45 degrees, and that
    over: float             # from which downwards it does so too; infinite where it is open above
    material: str
    bearing: float = 0.0    # width of the ball bearing at either end, 0 without
    shim: float = 0.0       # thickness of a ring between bearing and wheel
    stop: float = 0.0       # what stands down between these, so that they do not wander inwards

    @property
    def proud(self) -> float:
        """How far [mm] a bearing stands out of either end, so that a wheel leans on its inner ring alone."""
        return PROUD if self.bearing else 0.0

    @property
    def stop_half(self) -> float:
        """Half of the length [mm] of what stands down between the bearings, where it meets the bore."""
        return self.width / 2 + self.proud - self.bearing - STOP_GAP

    @property
    def saddle(self) -> float:
        """Half of the stem's width [mm] that the bore is cut into."""
        return min(self.stem, SADDLE * self.bore) / 2

    @property
    def throat(self) -> float:
        """Depth below the axle [mm] at which the snap arms come closest."""
        return sqrt(self.bore**2 - self.opening**2) / 2

    @property
    def depth(self) -> float:
        """Axle centre down to the end of the snap arms [mm]."""
        return self.throat + LIP

    @property
    def mouth(self) -> float:
        """Half the width [mm] between the snap arms' ends: the throat flared."""
        return self.opening / 2 + LIP * tan(FLARE)

    @property
    def printed(self) -> float:
        """Thickness [mm] of an arm as it comes out: what bends."""
        return printed(self.arm, self.spread)

    @property
    def half(self) -> float:
        """From the middle to the arms' outsides [mm]."""
        return self.inner + self.arm

    @property
    def tip(self) -> float:
        """From the middle to the outsides of their flared ends [mm]."""
        return max(self.half, self.mouth + self.end)

    @property
    def end_play(self) -> float:
        """How far [mm] the wheelset shifts along its axle where its bearings stay."""
        return 2 * (CHEEK_GAP - self.proud - self.shim)

    @property
    def shift(self) -> float:
        """How far [mm] it shifts at most: bearings slide on their stop's sloping edge about as far again as its gap."""
        slides = 2 * STOP_GAP if self.bearing else 0.0
        return min(self.end_play + 2 * slides, 2 * CHEEK_GAP)

    @property
    def rub(self) -> float:
        """Radius [mm] about the axle beyond which no wheel rubs."""
        return self.axle / 2 if self.bearing else max(hypot(self.half, self.pad), hypot(self.tip, self.depth))

    @property
    def length(self) -> float:
        """Of an arm [mm], from its root to where the axle pushes it."""
        return self.root + self.throat

    @property
    def travel(self) -> float:
        """How far [mm] each arm is pushed aside while the axle passes."""
        return self.axle * (1 - self.share) / 2

    @property
    def strain(self) -> float:
        """Strain [1] of the snap arms while the axle passes between them."""
        return arm_strain(self.printed, self.length, self.travel, ROOT)

    @property
    def force(self) -> float:
        """Sideways force [N] that holds one arm as far open as the axle needs."""
        return arm_force(PLASTICS[self.material].plate, self.felt, self.printed, self.length, self.travel, ROOT)

    @property
    def felt(self) -> float:
        """How wide [mm] an arm of one width would be that gives as this one: the integral of s^2/b(s) from where it is
        pushed, by as many pieces as make no difference of a hundredth; bearings push its two ends alone."""
        ways = [self.length * (k + 0.5) / PIECES for k in range(PIECES)]
        whole = sum(s**2 for s in ways) / sum(s**2 / (self.width - 2 * self.back(s - self.throat)) for s in ways)
        if not self.bearing:
            return whole
        return pushed_width(whole, self.bearing - self.proud, self.length, self.printed)

    def back(self, high: float) -> float:
        """Return how far [mm] from either wheel it stands back `high` [mm] over the axle."""
        return max(min(high - self.pad, self.over - high), 0.0)

    @property
    def lean(self) -> float:
        """How far [1] a push along an arm, on its lip beside its middle line, closes it over how far one across opens
        it: F e L^2/(2 E I) over F L^3/(3 E I)."""
        return 1.5 * (self.inner + self.arm / 2 - self.opening / 2) / (self.length + ROOT * self.printed)

    @property
    def insertion(self) -> float:
        """Push [N] that the axle goes in with, at the most friction."""
        return self.force * lips_push(self.share, FRICTION[1], FLARE, self.lean)

    @property
    def retention(self) -> float:
        """Pull [N] that the axle comes out with, at the least friction."""
        return self.force * lips_push(self.share, FRICTION[0], lean=-self.lean)

    @property
    def area(self) -> float:
        """Area [mm2] of the profile of all that hangs below the arms' roots."""
        r, t, s = self.bore / 2, self.throat, self.saddle
        stem = self.stem / 2 * self.root - (s * sqrt(r**2 - s**2) + r**2 * asin(s / r)) / 2
        lip = self.half * t - (t * self.opening / 2 + r**2 * asin(t / r)) / 2
        end = (self.half - self.opening / 2 + self.tip - self.mouth) / 2 * LIP
        return 2 * (stem + self.arm * self.root + lip + end)

    @property
    def stop_volume(self) -> float:
        """Volume [mm3] of what stands down between bearings."""
        return 2 * self.stop * self.stem * (self.stop_half - self.stop / 2)

    @property
    def middle(self) -> float:
        """Along the axle [mm], as far as it stands back on average."""
        return self.width - 2 * self.back(0.6 * self.root)

    def core(self, wall: float) -> float:
        """Return the area [mm2] of stem and arms that is left `wall` [mm] within their outlines."""
        return (max(self.stem - 2 * wall, 0.0) * max(self.root - self.bore / 2, 0.0)
                + 2 * max(self.arm - 2 * wall, 0.0) * self.root)

    def lost(self, low: float, high: float, wide: float) -> float:
        """Return the volume [mm3] by which a piece of the profile, `wide` and from `low` to `high` [mm] over the axle,
        stands back from both wheels."""
        return 2 * wide * max(self._backs(high) - self._backs(low), 0.0)

    @property
    def alone(self) -> "AxleClip":
        """The clip as it stands alone, with no wheels beside it: its arms stand back as they are, what is over their
        roots no longer than 45 degrees ask to be whole again."""
        return replace(self, over=max(min(self.over, 2 * self.root - self.pad), self.pad))

    @property
    def block(self) -> float:
        """Height over the axle [mm] of the block that it hangs from where it stands alone."""
        return max(self.root + NECK, self.alone.over) + BLOCK

    def _backs(self, high: float) -> float:
        """Return the integral [mm2] of `back` up to `high` [mm] over the axle."""
        up, down = max(min(high, self.over) - self.pad, 0.0), self.over - self.pad
        return up**2 / 2 if up <= down / 2 else down**2 / 4 - (down - up)**2 / 2


def carrier_width(wheelset: Wheelset) -> float:
    """Return how wide [mm] holder or bogie is along the axle: what its wheels leave."""
    return wheelset.back_to_back - 2 * CHEEK_GAP


def least_hold(wheelset: Wheelset) -> float:
    """Return the pull [N] that a wheelset must be held by."""
    return max(LEAST_HOLD, WEIGHTS * GRAVITY * wheelset.mass)


def least_web(wheelset: Wheelset, printer: Printer) -> float:
    """Return the least height [mm] over the axle of the plate that a clip hangs from: for arms two lines thick."""
    clip = _thinnest(wheelset, printer, over=0.0)
    for _ in range(PASSES):
        longer = (min(clip.insertion, MOST * PUSH) / PUSH)**(1 / 3)
        clip = replace(clip, root=max(longer * clip.length - clip.throat, clip.bore / 2 + PAD))
    return clip.root + NECK


def short_stem(wheelset: Wheelset, printer: Printer) -> Shortfall:
    """Return what the bore is short of where its stem, two lines thick, would be wider: what `short` is asked."""
    return Shortfall("axle's stem", SADDLE * _thinnest(wheelset, printer, over=0.0).bore, printer.thinnest_wall)


def widest(wheelset: Wheelset, printer: Printer) -> float:
    """Return how far [mm] from its middle any clip's arms reach at most."""
    thinnest = _thinnest(wheelset, printer, over=0.0)
    return max(thinnest.tip, thinnest.inner + max(outside(THICKEST, printer), thinnest.arm))


def clip_plan(wheelset: Wheelset, printer: Printer, under: float, top: float, over: float = inf) -> AxleClip:
    """Resolve the clip for the axles of `wheelset`, under a plate from `under` to `top` [mm] over them.

    What stands back from the wheels does so no higher than `over` [mm], and leaves half of the width.
    """
    clip = _thinnest(wheelset, printer, over)
    clip = replace(clip, root=under - NECK, pad=max(clip.pad, min(top - clip.width / 4, over - clip.width / 2)))
    longest, thinnest = clip.length, clip.printed
    for _ in range(PASSES):
        # As far from letting go, as a ratio, as from what a thumb gives.
        factor = sqrt(least_hold(wheelset) / clip.retention * THUMB / min(clip.insertion, MOST * clip.retention))
        plate, force = PLASTICS[clip.material].plate, factor * clip.force
        slender = max(slenderness(plate, clip.felt, clip.travel, force) - ROOT, 1.0)
        arm = max(min(longest / slender, THICKEST), thinnest)       # as it comes out
        clip = replace(clip, arm=max(outside(arm, printer), printer.thinnest_wall),
                       root=max(min(longest, arm * slender) - clip.throat, clip.bore / 2 + PAD))
    return clip


def _thinnest(wheelset: Wheelset, printer: Printer, over: float) -> AxleClip:
    """Return a clip with the thinnest arms, ten times as long as that."""
    axle, lines = wheelset.bearing_diameter, printer.thinnest_wall
    bore = hole(axle, {"plain": "running"}.get(wheelset.ends, wheelset.ends), printer)
    bearing = wheelset.bearing_width if wheelset.ends == "bearing" else 0.0
    stop = min(STOP, (wheelset.bearing_outer - wheelset.axle_diameter) / 5) if bearing else 0.0
    stem = max(STEM * bore, lines)
    return AxleClip(
        axle, carrier_width(wheelset), bore, slot(printer.snap_share * axle, "press", printer),
        printer.snap_share, stem, inner=max(bore / 2, stem / 2 + max(GAP, 1.2 * printer.line_width)), arm=lines,
        spread=printer.peg_offset, root=10 * lines, end=END * lines, pad=bore / 2 + PAD, over=over,
        material=printer.material, bearing=bearing, shim=0.0 if wheelset.printed or not bearing else SHIM, stop=stop)
