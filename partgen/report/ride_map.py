"""The two drawings of the ride card: the plan with its stops and markers, and the stop ramp with its numbers."""

import numpy as np

from partgen.dynamics.markers import places_of
from partgen.dynamics.ride import RidePlan
from partgen.report.sheet import BRASS, GREEN, INK, LINE, MUTED, OAK, PAPER, RED

STEP = 8.0              # mm of track between two drawn points
BED = 1.9               # of the gauge: how wide the drawn track bed is


def draw(axes, ride: RidePlan) -> None:
    """Draw the plan from above: track, slow stretches, markers in brass, numbered stops, the train at the first."""
    track, path = ride.train.description.track, ride.path
    marks = np.linspace(0.0, path.length, max(int(path.length / STEP), 2))
    _bed(axes, path, marks, track.gauge)
    _slow(axes, ride, track.gauge)
    for side in (-1, 1):
        line = beside(path, marks, side * track.gauge / 2)
        axes.plot(line.real, line.imag, color=INK, linewidth=0.7, zorder=3)
    _train(axes, ride)
    for number, marker in enumerate(ride.markers, 1):
        _marker(axes, ride, marker, number)
    _frame(axes, path, track.gauge)


def beside(path, stations, offset):
    """Return complex points [mm] at `offset` to the left of a path at `stations` [mm]."""
    point, ahead = path.frame(np.asarray(stations, dtype=float))
    return point + 1j * ahead * offset


def _bed(axes, path, marks, gauge):
    edge = np.concatenate([beside(path, marks, BED * gauge / 2), beside(path, marks, -BED * gauge / 2)[::-1]])
    axes.fill(edge.real, edge.imag, color=LINE, alpha=0.55, linewidth=0, zorder=1)
    ties = np.arange(0.0, path.length, gauge)
    for end in (beside(path, ties, 0.72 * gauge), ):
        other = beside(path, ties, -0.72 * gauge)
        axes.plot(np.array([end.real, other.real]), np.array([end.imag, other.imag]), color=OAK, alpha=0.55,
                  linewidth=0.9, zorder=2)


def _slow(axes, ride, gauge):
    """Tint the stretches that the train runs more slowly than elsewhere, and say how fast."""
    for zone in ride.zones:
        if zone.limit < ride.speed - 0.5:
            stations = np.linspace(zone.start, zone.end, max(int(zone.length / STEP), 2))
            edge = np.concatenate([beside(ride.path, stations, BED * gauge / 2),
                                   beside(ride.path, stations, -BED * gauge / 2)[::-1]])
            axes.fill(edge.real, edge.imag, color=BRASS, alpha=0.5, linewidth=0, zorder=1.5)
            at = beside(ride.path, [zone.start + zone.length / 2], 2.3 * gauge)[0]
            axes.annotate(f"{zone.limit:.0f}", (at.real, at.imag), fontsize=8, color=INK, ha="center", va="center",
                          zorder=7)


def _train(axes, ride):
    """Draw locomotive and wagons where they stand at the first marked stop."""
    train, places = ride.train, places_of(ride.train)
    loco = train.description.train.locomotive
    front = ride.markers[0].station
    bodies = [(loco.length / 2, loco.length, loco.width, GREEN),
              *((behind, plan.length, plan.width, OAK) for plan, behind in zip(train.wagons, places))]
    for behind, length, width, colour in bodies:
        point, ahead = ride.path.frame(np.array([front - behind]))
        corners = np.array([1, 1, -1, -1]) * length / 2 + 1j * np.array([1, -1, -1, 1]) * width / 2
        shape = point[0] + ahead[0] * corners
        axes.fill(shape.real, shape.imag, facecolor=colour, edgecolor=INK, alpha=0.75, linewidth=0.6, zorder=3.5)


def _marker(axes, ride, marker, number):
    """Draw one stop with its number, its marker across the track and the braking between them."""
    gauge, lap = ride.train.description.track.gauge, ride.lap
    begins = marker.begins if not lap or marker.begins <= marker.station else marker.begins - lap
    braking = beside(ride.path, np.linspace(begins, marker.station, 60), 0.0)
    axes.plot(braking.real, braking.imag, color=RED, linewidth=1.6, linestyle=(0, (2, 1.2)), zorder=4)
    point, ahead = ride.path.frame(np.array([begins]))
    bar = point[0] + 1j * ahead[0] * np.array([-0.9, 0.9]) * gauge
    axes.plot(bar.real, bar.imag, color=BRASS, linewidth=4, solid_capstyle="butt", zorder=6)
    point, ahead = ride.path.frame(np.array([marker.station]))
    at = point[0] - 1j * ahead[0] * 2.4 * gauge
    end = point[0] + 1j * ahead[0] * np.array([-2.4, 0.9]) * gauge
    axes.plot(end.real, end.imag, color=GREEN, linewidth=1.4, zorder=4)
    axes.plot(at.real, at.imag, "o", color=GREEN, markersize=13, zorder=7)
    axes.annotate(str(number), (at.real, at.imag), color=PAPER, fontsize=9, weight="bold", ha="center",
                  va="center_baseline", zorder=8)


def _frame(axes, path, gauge):
    """Fit the drawing to its axes, with an arrow where the plan starts."""
    point, ahead = path.frame(np.array([0.0, 3.2 * gauge]))
    tail, tip = point + 1.8j * ahead * gauge
    axes.annotate("", (tip.real, tip.imag), (tail.real, tail.imag),
                  arrowprops={"arrowstyle": "-|>", "color": MUTED, "linewidth": 1.4}, zorder=6)
    axes.set_aspect("equal")
    axes.margins(0.04)
    axes.set_axis_off()


def ramp(axes, ride: RidePlan, speed: float) -> None:
    """Draw the stop ramp from `speed` [mm/s] with its jerk phases, and the stairs that the controller holds."""
    fall = ride.ramps.fall
    at = np.linspace(0, fall.time, 300)
    going = speed * (1 - fall.done(at))
    stairs, step = speed * (1 - fall.steps(ride.step)), ride.step
    axes.fill_between(at, going, color=GREEN, alpha=0.16, linewidth=0)
    axes.stairs(stairs, step * np.arange(len(stairs) + 1), color=BRASS, linewidth=0.9, baseline=None)
    axes.plot(at, going, color=GREEN, linewidth=2.2)
    hardest = [at for at, share in zip(fall.times, fall.shares) if share > (1 - 1e-6) * fall.hardest]
    for low, high, word in ((0.0, hardest[0], "grows"), (hardest[-1], fall.time, "fades")):
        axes.axvspan(low, high, color=BRASS, alpha=0.13, linewidth=0)
        axes.annotate(f"braking {word}", ((low + high) / 2, 1.03), xycoords=("data", "axes fraction"), fontsize=7,
                      color=MUTED, ha="center")
    axes.annotate(f"{fall.way(speed, 0):.0f} mm of way", (0.32 * fall.time, 0.3 * speed), fontsize=8.5, color=GREEN,
                  ha="center")
    axes.annotate(f"{len(stairs)} steps of {1000 * step:.3g} ms", (0.98, 0.86), xycoords="axes fraction",
                  fontsize=7.5, color=BRASS, ha="right")
    ticks = [0.0, hardest[0], hardest[-1], fall.time]
    axes.set_xticks(ticks, ["0", *(f"{tick:.2f}" for tick in ticks[1:-1]), f"{ticks[-1]:.2f} s"], fontsize=7.5)
    axes.set_yticks([0, speed / 2, speed], ["0", f"{speed / 2:.0f}", f"{speed:.0f}"], fontsize=7.5)
    axes.set(xlim=(0, fall.time), ylim=(0, 1.05 * speed))
    axes.set_ylabel("mm/s", fontsize=7.5)
    axes.spines[["top", "right"]].set_visible(False)
