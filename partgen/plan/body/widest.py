"""How wide a body may be at each length where the maker leaves its width out: so that it passes what stands beside the
track, its neighbours in curves and the second track, lies on the bed, and looks like a wagon."""

from bisect import bisect_left
from collections.abc import Iterator

import numpy as np
from msgspec import Struct

from partgen.formulas.wheel import pivot_radius
from partgen.packing.nesting import aslant
from partgen.plan.body.layout import lowest
from partgen.plan.body.lid import EAVES, side_eaves
from partgen.plan.body.shell import CORNER
from partgen.plan.context import Context
from partgen.plan.fastening import floor, lid_plate, over_modules
from partgen.plan.running_gear.gear import RunningGear, side_play

BODY_GAP = 2.0          # mm between two bodies at the nearest place (common practice, no source)
OBSTACLE_GAP = 1.0      # mm kept free: a wagon leans on a low joint (common practice, no source)
PASSING_GAP = 3.0       # mm between two trains (common practice, no source)
PROPORTION = 2.5        # gauges: a broader body looks like a tray (narrow gauges come near it; common practice)
STEP = 2.0              # mm from one width that is looked at to the next
LONGEST = 700           # mm: of any body

class Slim(Struct, frozen=True):
    """How wide a body may be [mm], how long at its narrowest, and pairs of width and length: a body wider than the one
    is no longer than the other."""

    width: float
    longest: float
    pairs: tuple[tuple[float, float], ...] = ()


def slim(context: Context, gear: RunningGear, width: float, length: float) -> Iterator[Slim]:
    """Yield how wide a body may be that is at least `width` wide and `length` long [mm]; then the same where only the
    track's clearance counts, not the bed and neighbours like itself, for what is too long for those anyway.

    Told by the sharpest curve alone, all guided points on its centre line: what transitions and reverse curves ask is
    less, and the checks carry the body over the whole plan.
    """
    for whole in (True, False):
        limits, pairs, wide = _Limits.of(context, gear, whole), [], width
        while wide + STEP <= PROPORTION * context.track.gauge and (longest := limits.longest(wide + STEP)) >= length:
            pairs.append((wide, longest))
            wide += STEP
        yield Slim(wide, limits.longest(width), tuple(pairs))


class _Limits(Struct, frozen=True):
    """What a body's length and width are held to; lengths in mm, from the track's middle where they are half widths."""

    radius: float
    middle: float           # radius that the wagon's middle runs on
    base: float
    play: float
    gap: float | None       # coupled bodies on straight track
    corner: float
    spacing: float | None
    bed: tuple[float, float] | None
    eaves: float            # lid beyond the sides
    free: tuple[tuple[bool, float], ...]    # may the lid come there, and half the free width

    @classmethod
    def of(cls, context: Context, gear: RunningGear, whole: bool) -> "_Limits":
        track, printer = context.track, context.printer
        middle = pivot_radius(track.min_radius, gear.bogie_wheelbase)**2 - gear.base**2 / 4
        return cls(track.min_radius, float(np.sqrt(np.maximum(middle, 0.0))), gear.base,
                   side_play(gear, context.wheelset, track), context.coupler.gap if whole else None, CORNER + EAVES,
                   track.spacing, printer.room if whole else None, side_eaves(context),
                   tuple(_beside(context, gear)))

    def longest(self, width: float) -> float:
        """Return how long [mm] a body `width` [mm] wide may be; 0 where it may be of no length."""
        lengths = np.arange(1.0, LONGEST)
        along, across = lengths / 2 + EAVES, width / 2 + self.eaves
        turned = np.maximum(self.play, 2 * self.play / self.base * along)
        inner, outer = self.radius - self.middle + self.play, turned - self.radius
        lid = np.hypot(self.middle + across, along) + outer
        held = lengths > 0
        for lidded, free in self.free:
            aside = across if lidded else width / 2
            held &= (inner + aside <= free) & (np.hypot(self.middle + aside, along) + outer <= free)
        if self.gap is not None:
            # Two alike lean towards each other by (along + gap/2)/middle each, about the drawbars between them.
            lean = (along + self.gap / 2) / np.maximum(self.middle, EAVES)
            held &= (across - self.corner) * lean <= self.gap / 2 - EAVES - BODY_GAP / 2
        if self.spacing is not None:
            held &= lid + inner + across <= self.spacing - PASSING_GAP
        long = int(lengths[held].max(initial=0.0))
        if self.bed is None:
            return float(long)
        bed, wide = self.bed, 2 * across
        return float(bisect_left(range(1, long + 1), True, key=lambda on: aslant((on + 2 * EAVES, wide), bed)[0] > 0))


def _beside(context: Context, gear: RunningGear) -> Iterator[tuple[bool, float]]:
    """Yield half the free width [mm] of everything beside the track at the body's heights, and is it as high as the
    lid may come."""
    under, modules = gear.frame_bottom, lowest(context)
    on_floor = under + gear.frame_thickness + floor(context.printer)
    top = on_floor + context.wagon.levels * modules + over_modules(context) + lid_plate(context.printer)
    bands = [(band.low, band.high, band.half_width) for band in context.track.clearance]
    bands += [(thing.low, thing.high, thing.distance - OBSTACLE_GAP) for thing in context.track.obstacle]
    for low, high, free in bands:
        if low < top and high > under:
            yield high > on_floor + modules, free
