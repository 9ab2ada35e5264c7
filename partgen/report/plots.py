"""Plots that a maker understands at a glance: how well each limit holds over the wheelbase; what a liquid does in the
three kinds of stop; how the train is braked."""

from collections.abc import Mapping
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np

from partgen.dynamics.liquids import Liquid
from partgen.dynamics.ramps import SAID, Swing
from partgen.dynamics.ride import RidePlan
from partgen.finding import counted, down, up
from partgen.formulas.response import rise
from partgen.formulas.stop import speed_at
from partgen.remedies.tune import Tuning
from partgen.report.sheet import BRASS, GREEN, INK, LINE, MUTED, RED, SERIF, figure, plot, save

if TYPE_CHECKING:
    from matplotlib.axes import Axes

PALE, COLOURS = "#c4bfb3", ("#a8651a", "#44586e", RED, "#7a5c8a", "#b08a2e", GREEN, MUTED)      # of checks
COLOUR = {"shaped": GREEN, "even": BRASS, "cut": RED}   # of kinds of stop
AFTER = 6               # slosh periods shown after the longest stop
POINTS = 1500


# ---- the margins of a tuned wagon


def draw_margins(tuning: Tuning, reserves: Mapping[str, np.ndarray], path: Path) -> None:
    """Draw each check's margin over the variable, the working interval shaded; write PNG and SVG beside `path`.

    `reserves` has by check its margin at every sample as a share of its largest. ValueError where nothing works.
    """
    if tuning.low is None or tuning.high is None or tuning.best is None:
        raise ValueError(f"no {tuning.variable} of {tuning.wagon} works: there is nothing to draw")
    with plot(203.2, 116.84) as (drawn, axes):
        values = np.array([sample.value for sample in tuning.samples])
        least = 100 * np.min(list(reserves.values()), axis=0)
        axes.axvspan(tuning.low, tuning.high, color=GREEN, alpha=0.10)
        axes.fill_between(values, 0, least, color=GREEN, alpha=0.16, linewidth=0)
        _reserves(axes, values, reserves)
        axes.axhline(0, color=INK, linewidth=0.8)
        axes.axvline(tuning.now, color=INK, linewidth=1.0, linestyle=":", label=f"described: {tuning.now:g} mm")
        axes.axvline(tuning.best, color=GREEN, linewidth=1.4, linestyle="--")
        axes.annotate(f"best {tuning.best:g} mm", (tuning.best, 0.0), xycoords=("data", "axes fraction"), ha="center",
                      xytext=(0, 24), textcoords="offset points", color=GREEN, weight="bold",
                      bbox={"boxstyle": "round,pad=0.3", "fc": "white", "ec": "none", "alpha": 0.9})
        for end, binds, side, away in ((tuning.low, tuning.low_binds, "right", -4),
                                       (tuning.high, tuning.high_binds, "left", 4)):
            if binds:
                axes.annotate(f"{binds.check} binds", (end, 0.5), xycoords=("data", "axes fraction"), ha=side,
                              va="center", rotation=90, xytext=(away, 0), textcoords="offset points", fontsize=9)
        axes.set(ylim=(-4, 104), ylabel="margin left, of its largest [%]",
                 xlabel=f"{tuning.variable.replace('_', ' ')} of {tuning.wagon} [mm]",
                 title=f"{tuning.wagon}: works from {up(tuning.low, 2)} to {down(tuning.high, 2)} mm")
        axes.margins(x=0.09)
        axes.legend(frameon=False, fontsize=9, loc="upper center", bbox_to_anchor=(0.5, -0.13), ncols=5)
        save(drawn, *(path.with_name(path.name + suffix) for suffix in (".png", ".svg")))


def _reserves(axes: "Axes", values: np.ndarray, reserves: Mapping[str, np.ndarray]) -> None:
    """Draw a line a check: in colour those that are the smallest somewhere or fall by half, the others pale."""
    smallest = set(np.argmin(list(reserves.values()), axis=0))
    telling = [check for k, (check, shares) in enumerate(reserves.items()) if k in smallest or min(shares) < 0.5]
    pale = [check for check in reserves if check not in telling]
    for check in pale:
        axes.plot(values, 100 * reserves[check], color=PALE, linewidth=1.0,
                  label=f"{counted(len(pale), 'other')}, never near" if check == pale[0] else None)
    for k, check in enumerate(telling):
        axes.plot(values, 100 * reserves[check], color=COLOURS[k % len(COLOURS)], linewidth=2.0, label=check)


# ---- the liquid in the three kinds of stop


def draw_swings(ride: RidePlan, cup: str, *paths: Path) -> None:
    """Draw what the liquid of one kind of cup does in the three kinds of stop to every path, PNG or SVG."""
    swings = [swing for swing in ride.swings if swing.liquid.name == cup]
    liquid, speed = swings[0].liquid, ride.brakes_from
    end = max(swing.time for swing in swings) + AFTER * float(liquid.periods[0])
    with figure(200, 120) as drawn:
        upper, lower = drawn.subplots(2, 1, sharex=True, height_ratios=(3, 1), gridspec_kw={
            "hspace": 0.12, "left": 0.085, "right": 0.98, "top": 0.91, "bottom": 0.12})
        for swing in swings[::-1]:
            _swing(upper, lower, swing, speed, end)
        _rim(upper, liquid, max(swing.climb for swing in swings))
        upper.set_title(f"{liquid.label}: stopping from {down(speed, 0)} mm/s", family=SERIF, fontsize=15,
                        color=GREEN, weight="bold")
        _scales(upper, lower, speed, end)
        save(drawn, *paths)


def _swing(upper: "Axes", lower: "Axes", swing: Swing, speed: float, end: float) -> None:
    """Draw one stop: the rise at the front wall above, the train's speed below."""
    at = np.linspace(0.0, end, POINTS)
    times, accelerations = swing.profile
    width = 2.2 if swing.kind == "shaped" else 1.3
    omegas, dampings, rises = swing.liquid.modes
    # Braking throws the liquid to the front, where the rise is opposite to the acceleration.
    height = -rise(times, accelerations, omegas, dampings, rises, at)
    upper.plot(at, height, color=COLOUR[swing.kind], linewidth=width,
               label=f"{SAID[swing.kind]}, {swing.time:.2f} s: climbs {swing.climb:.2f} mm, "
                     f"{swing.left:.2f} mm still swing")
    lower.plot(at, speed_at(times, accelerations, speed, at), color=COLOUR[swing.kind], linewidth=width)
    upper.plot([swing.time] * 2, [-0.25, 0.25], color=COLOUR[swing.kind], linewidth=width)


def _rim(axes: "Axes", liquid: Liquid, highest: float) -> None:
    """Draw the rim where the swings come near it, else say how far away it is."""
    if liquid.freeboard < 1.6 * highest:
        axes.axhline(liquid.freeboard, color=INK, linewidth=1.2, linestyle=(0, (4, 2)))
        axes.annotate("rim", (1, liquid.freeboard), xycoords=("axes fraction", "data"), ha="right", va="bottom",
                      fontsize=9, color=INK, xytext=(-2, 2), textcoords="offset points")
    else:
        axes.set_title(f"rim {liquid.freeboard:.1f} mm over the level at rest", loc="right", fontsize=9, color=MUTED)


def _scales(upper: "Axes", lower: "Axes", speed: float, end: float) -> None:
    low, high = upper.get_ylim()
    # Room for the legend over the curves.
    upper.set(ylabel="rise at the front wall [mm]", ylim=(low, high + 0.42 * (high - low)))
    lower.set(ylabel="speed [mm/s]", ylim=(0, 1.1 * speed), xlabel="time since the stop began [s]", xlim=(0, end))
    handles, labels = upper.get_legend_handles_labels()
    upper.legend(handles[::-1], labels[::-1], frameon=False, fontsize=9, loc="upper right")
    for axes in (upper, lower):
        axes.axhline(0, color=LINE, linewidth=0.9, zorder=0)


# ---- the stop ramp


def draw_ramp(axes: "Axes", ride: RidePlan, speed: float) -> None:
    """Draw the stop ramp from `speed` [mm/s] with its jerk phases, and the stairs that the controller holds."""
    fall, step = ride.ramps.fall, ride.step
    at = np.linspace(0, fall.time, 300)
    going, stairs = speed * (1 - fall.done(at)), speed * (1 - fall.steps(step))
    axes.fill_between(at, going, color=GREEN, alpha=0.16, linewidth=0)
    axes.stairs(stairs, step * np.arange(len(stairs) + 1), color=BRASS, linewidth=0.9, baseline=None)
    axes.plot(at, going, color=GREEN, linewidth=2.2)
    hardest = np.array(fall.times)[np.array(fall.shares) > (1 - 1e-6) * fall.hardest]
    spans = ((0.0, hardest[0], "grows"), (hardest[-1], fall.time, "fades")) if fall.phases else ()
    for low, high, word in spans:
        axes.axvspan(low, high, color=BRASS, alpha=0.13, linewidth=0)
        axes.annotate(f"braking {word}", ((low + high) / 2, 1.03), xycoords=("data", "axes fraction"), fontsize=7,
                      color=MUTED, ha="center")
    axes.annotate(f"{fall.way(speed, 0):.0f} mm of way", (0.32 * fall.time, 0.3 * speed), fontsize=8.5, color=GREEN,
                  ha="center")
    axes.annotate(f"{len(stairs)} steps of {1000 * step:.3g} ms", (0.98, 0.86), xycoords="axes fraction",
                  fontsize=7.5, color=BRASS, ha="right")
    ticks = [0.0, *hardest[[0, -1]], fall.time] if fall.phases else [0.0, fall.time]
    axes.set_xticks(ticks, ["0", *(f"{tick:.2f}" for tick in ticks[1:-1]), f"{ticks[-1]:.2f} s"], fontsize=7.5)
    axes.set_yticks([0, speed / 2, speed], ["0", down(speed / 2, 0), down(speed, 0)], fontsize=7.5)
    axes.set(xlim=(0, fall.time), ylim=(0, 1.05 * speed))
    axes.set_ylabel("mm/s", fontsize=7.5)
