"""How far apart two axles of one frame may stand, and at which of their marks the holders are clamped for that."""

from collections.abc import Iterable
from functools import lru_cache
from itertools import groupby
from math import inf, radians, sin

from msgspec import Struct

from partgen.describe.track_tables import Track
from partgen.describe.wagon_tables import Wheelset
from partgen.finding import down, up
from partgen.formulas.wheel import wheelbase_limit

STEEPEST_ATTACK = 12.0  # deg, NEM 111 (2016) page 1
FLANGE_SHARE = 0.5      # of a flange's depth that a wheel may lift by (common practice, no source)
LEAST_WHEEL_GAP = 0.8   # mm; axle slack and a warped frame use up about half (common practice, no source)
SLACK = 1e-9            # mm, as a verdict has


class Setting(Struct, frozen=True):
    """A wheelbase [mm] at which the axle holders can be clamped, and why not: "" where they may be."""

    base: float
    barred: str = ""


@lru_cache(maxsize=256)
def curve_limit(wheels: Wheelset, track: Track) -> float:
    """Return the longest wheelbase [mm] whose flanges fit between the rails of the sharpest curve."""
    return wheelbase_limit(track.gauge, track.min_radius, wheels.back_to_back, wheels.flange_thickness,
                           wheels.tread_radius, wheels.flange_depth, radians(wheels.binding_angle))


def attack_limit(track: Track) -> float:
    """Return the longest wheelbase [mm] that meets the rails of the sharpest curve at no more than 12 degrees."""
    return 2 * track.min_radius * sin(radians(STEEPEST_ATTACK))


def most_lift(wheels: Wheelset) -> float:
    """Return how far [mm] a wheel may lift off a track that twists and steps at its joints."""
    return FLANGE_SHARE * wheels.flange_depth


def twist_limit(wheels: Wheelset, track: Track, step: float) -> float:
    """Return the longest wheelbase [mm] off which no wheel lifts too far on a twisted track whose joints `step` [mm];
    infinite on one that does not twist, 0 where the step alone lifts it too far."""
    spare = most_lift(wheels) - step
    if spare < -SLACK:
        return 0.0
    return 1000 * spare / track.twist if track.twist else inf


def settings(bases: Iterable[float], wheels: Wheelset, track: Track, carrier: float, step: float
             ) -> tuple[Setting, ...]:
    """Return which of `bases` [mm] may be clamped: within every limit, on a track whose joints `step` [mm], and
    `carrier` [mm] of axle holder or wheel clear of the other axle's."""
    most, what = min((curve_limit(wheels, track), "the curve's limit"),
                     (attack_limit(track), "what 12 degrees of attack allow"),
                     (twist_limit(wheels, track, step), "what the track's twist and joints allow"))
    least = carrier + LEAST_WHEEL_GAP

    def why_not(base: float) -> str:
        if base > most + SLACK:
            return f"over {what}, {down(most)} mm" if most > 0 else "a joint of the rails lifts a wheel too far"
        return f"under {up(least)} mm, where the axles meet" if base < least - SLACK else ""

    return tuple(Setting(base, why_not(base)) for base in bases)


def barred(scale: Iterable[Setting]) -> str:
    """Return in words at which wheelbases no holder may be clamped, and why; "" where there are none."""
    groups = groupby((one for one in scale if one.barred), lambda one: one.barred)
    return " or ".join(f"{', '.join(f'{one.base:g}' for one in some)} ({why})" for why, some in groups)
