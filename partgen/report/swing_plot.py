"""Plots of the liquid's rise over time in the three kinds of stop, one a cup."""

from pathlib import Path

import numpy as np

from partgen.dynamics.ramps import SAID, Swing
from partgen.dynamics.ride import RidePlan
from partgen.formulas.response import rise
from partgen.formulas.stop import speed_at
from partgen.report.sheet import BRASS, GREEN, INK, LINE, MUTED, RED, SERIF, figure, save

COLOUR = {"shaped": GREEN, "even": BRASS, "cut": RED}
AFTER = 6               # slosh periods shown after the longest stop
POINTS = 1500


def draw(ride: RidePlan, cup: str, *paths: Path) -> None:
    """Draw what the liquid of one kind of cup does in the three kinds of stop to every path, PNG or SVG."""
    swings = [swing for swing in ride.swings if swing.liquid.name == cup]
    liquid, speed = swings[0].liquid, ride.train.description.ride.speed
    end = max(swing.time for swing in swings) + AFTER * liquid.periods[0]
    with figure(200, 120) as drawn:
        upper, lower = drawn.subplots(2, 1, sharex=True, height_ratios=(3, 1), gridspec_kw={
            "hspace": 0.12, "left": 0.085, "right": 0.98, "top": 0.91, "bottom": 0.12})
        for swing in swings[::-1]:
            _lines(upper, lower, swing, speed, end)
        _rim(upper, liquid, swings)
        _dress(upper, lower, liquid, speed, end)
        save(drawn, *paths)


def _lines(upper, lower, swing: Swing, speed, end):
    """Draw one stop: the rise at the front wall above, the train's speed below."""
    at = np.linspace(0.0, end, POINTS)
    times, accelerations = swing.profile
    width = 2.2 if swing.kind == "shaped" else 1.3
    # Braking throws the liquid to the front, where the rise is opposite to the acceleration.
    height = -rise(times, accelerations, *swing.liquid.modes, at)
    upper.plot(at, height, color=COLOUR[swing.kind], linewidth=width,
               label=f"{SAID[swing.kind]}, {swing.time:.2f} s: climbs {swing.climb:.2f} mm, "
                     f"{swing.left:.2f} mm still swing")
    lower.plot(at, speed_at(times, accelerations, speed, at), color=COLOUR[swing.kind], linewidth=width)
    upper.plot([swing.time] * 2, [-0.25, 0.25], color=COLOUR[swing.kind], linewidth=width)


def _rim(axes, liquid, swings):
    """Draw the rim where the swings come near it, else say how far away it is."""
    highest = max(swing.climb for swing in swings)
    if liquid.freeboard < 1.6 * highest:
        axes.axhline(liquid.freeboard, color=INK, linewidth=1.2, linestyle=(0, (4, 2)))
        axes.annotate("rim", (1, liquid.freeboard), xycoords=("axes fraction", "data"), ha="right", va="bottom",
                      fontsize=9, color=INK, xytext=(-2, 2), textcoords="offset points")
    else:
        axes.set_title(f"rim {liquid.freeboard:.1f} mm over the level at rest", loc="right", fontsize=9, color=MUTED)


def _dress(upper, lower, liquid, speed, end):
    upper.set_title(f"{liquid.label}: stopping from {speed:g} mm/s", loc="left", family=SERIF, fontsize=15, color=GREEN,
                    weight="bold")
    upper.set_ylabel("rise at the front wall [mm]")
    lower.set_ylabel("speed [mm/s]")
    lower.set_xlabel("time since the stop began [s]")
    low, high = upper.get_ylim()
    upper.set_ylim(low, high + 0.42 * (high - low))     # room for the legend over the curves
    handles, labels = upper.get_legend_handles_labels()
    upper.legend(handles[::-1], labels[::-1], frameon=False, fontsize=9, loc="upper right")
    for axes in (upper, lower):
        axes.axhline(0, color=LINE, linewidth=0.9, zorder=0)
        axes.spines[["top", "right"]].set_visible(False)
        axes.set_xlim(0, end)
    lower.set_ylim(0, 1.1 * speed)
