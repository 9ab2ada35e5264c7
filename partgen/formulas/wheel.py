"""Wheels between rails and on curves: flange lap, play, attack angle, the longest wheelbase that passes.

A wagon is two guided points on the track centre line: axles, or the pivots of bogies. The limit of the wheelbase
is exact: it keeps the two rails' different radii and the flange's own shape.

Marks in the Source lines: SEEN, read in the source; SEEN-2, read on a secondary page; MEM, from memory;
CALC, worked out.
"""

from collections.abc import Callable

import numpy as np

from partgen.formulas import Numbers

# 33 samples leave 1/32 of a lap between them; the parabola through the best three is then good to 1e-6 mm.
_SAMPLES = 33


def flange_lap(tread_radius: Numbers, flange_depth: Numbers) -> Numbers:
    """How far ahead of and behind its axle a flange reaches below rail top.

    lap = sqrt((r + h)^2 - r^2) = sqrt(h^2 + 2 r h)

    tread_radius: radius r of the tread [mm]
    flange_depth: how far the flange stands beyond the tread, h [mm]
    Returns the lap [mm].

    >>> print(f"{flange_lap(8.5, 1.7):.4f}")
    5.6383

    Source: CALC, worked out here: half the chord of the flange's tip circle at rail top.
    """
    return np.sqrt(np.square(flange_depth, dtype=float) + 2 * np.multiply(tread_radius, flange_depth))


def play(gauge: Numbers, back_to_back: Numbers, flange_thickness: Numbers) -> Numbers:
    """How far a wheelset can move sideways on straight track, from flange to flange.

    s = G - (B + 2T), negative where the wheelset does not go between the rails.

    gauge: inner face to inner face of the rails, G [mm]
    back_to_back: between the inner faces of the two wheels, B [mm]
    flange_thickness: thickness of the flange at the tread, T [mm]
    Returns the play [mm].

    >>> print(f"{play(37.5, 30.3, 3.1):.1f}")
    1.0

    Source: CALC, by the definition of the three sizes in NEM 310, SEEN.
    """
    return gauge - (back_to_back + 2 * np.asarray(flange_thickness, dtype=float))


def flangeway_play(width: Numbers, gauge: Numbers, back_to_back: Numbers) -> Numbers:
    """How far a wheelset can move sideways in the flangeways of a crossing, from flange back to flange back.

    2 w + b - g: between the inner edges of both flangeways lies the gauge less their widths

    width: of one flangeway w, square to the rail [mm]
    gauge: inner face to inner face of the rails g [mm]
    back_to_back: between the flanges' backs b [mm]
    Returns the play [mm], negative where the backs do not pass.

    >>> print(f"{flangeway_play(3.5, 37.7, 31.2):.1f}")
    0.5

    Source: CALC.
    """
    return 2 * np.asarray(width) + back_to_back - gauge


def pivot_radius(radius: Numbers, bogie_wheelbase: Numbers) -> Numbers:
    """Radius of the circle that the pivot of a bogie runs on.

    Rp = sqrt(R^2 - (p/2)^2): both axles stand on the centre line, the pivot is midway on the chord.

    radius: curve radius R of the track centre line [mm], at least p/2
    bogie_wheelbase: axle to axle p within the bogie [mm], 0 for a two-axle wagon
    Returns the radius [mm]; ValueError where the bogie is longer than the circle is wide.

    >>> print(f"{pivot_radius(320, 40):.4f}")
    319.3744

    Source: CALC, worked out here from plane geometry.
    """
    square = np.square(radius, dtype=float) - np.square(bogie_wheelbase, dtype=float) / 4
    if np.any(square < 0):
        raise ValueError(f"a bogie wheelbase of {bogie_wheelbase} mm is longer than a circle of radius {radius} mm"
                         " is wide")
    return np.sqrt(square)


def roll_on_twist(twist: Numbers, base: Numbers, step: Numbers, spacing: Numbers) -> Numbers:
    """Roll that a bogie must be free to make against the body for every wheel to stay down on a twisted track.

    phi = (g a + h)/s

    twist: change of cross level over the length of track, g [mm/mm]
    base: pivot to pivot a [mm]
    step: height h of the step where one rail joins the next [mm]
    spacing: from wheel to wheel across the track, s [mm]
    Returns the angle [rad], either way.

    >>> print(f"{roll_on_twist(0.004, 140, 0.5, 37.5):.4f}")
    0.0283

    Source: CALC, plane geometry of four points, three of which make a plane; angles are small.
    """
    return (np.multiply(twist, base) + step) / spacing


def lift_on_twist(twist: Numbers, base: Numbers, step: Numbers = 0.0, roll: Numbers = 0.0, spacing: Numbers = 0.0
                  ) -> Numbers:
    """Height that a wheel lifts off a twisted track by while the other three stand, one of them on a step.

    d = max(g a + h - phi s, 0)

    twist: change of cross level over the length of track, g [mm/mm]
    base: from axle to axle of a rigid frame, or from pivot to pivot, a [mm]
    step: height h of the step where one rail joins the next [mm]
    roll: of one pair of wheels that is free to roll against the other, phi [rad]
    spacing: from wheel to wheel across the track, s [mm]
    Returns the height [mm].

    >>> print(f"{lift_on_twist(0.004, 70, 0.3):.2f} {lift_on_twist(0.004, 300, 0.3, 0.02, 37.5):.2f}")
    0.58 0.75

    Source: CALC, plane geometry, as `roll_on_twist`.
    """
    return np.maximum(np.multiply(twist, base) + step - np.multiply(roll, spacing), 0.0)


def attack_angle(wheelbase: Numbers, radius: Numbers) -> Numbers:
    """Angle between a rigid wagon's outer wheels and the rail they run against.

    alpha = asin(W/(2R))

    wheelbase: axle to axle of the rigid frame, or of the bogie, W [mm], 0 to 2R
    radius: curve radius R of the track centre line [mm]
    Returns the angle [rad]; ValueError where the wheelbase is longer than the circle is wide.

    >>> print(f"{attack_angle(50, 120.24):.4f}")
    0.2094

    Source: CALC from the rule of NEM 111 (2016) page 1, SEEN, which allows 12 degrees.
    """
    sine = np.divide(wheelbase, np.multiply(2, radius))
    if np.any(sine > 1):
        raise ValueError(f"a wheelbase of {wheelbase} mm is longer than a circle of radius {radius} mm is wide")
    return np.arcsin(sine)


def wheelbase_limit(gauge: float, radius: float, back_to_back: float, flange_thickness: float, tread_radius: float,
                    flange_depth: float, flange_angle: float) -> float:
    """Longest rigid wheelbase up to which every wheelbase passes the curve, exact to 0.01 mm.

    The first W at which `residual_play` reaches 0. Past about 4 R lap/G some longer ones fit once more; they
    are not counted, so that anything up to the limit is safe. For beta = 90 degrees and play s it is close
    to R 4 (lap - sqrt(lap^2 - s G/2))/G, and to s R/lap for small play.

    gauge: inner face to inner face of the rails, G [mm]
    radius: curve radius R of the track centre line [mm]
    back_to_back: between the inner faces of the two wheels, B [mm]
    flange_thickness: thickness of the flange at the tread, T [mm], at least h/tan(beta)
    tread_radius: radius r of the tread [mm]
    flange_depth: how far the flange stands beyond the tread, h [mm], above 0
    flange_angle: angle beta of the flange's face from the axle's direction [rad], above 0, at most pi/2
    Returns the limit [mm]: 0 where not even a single wheelset passes or the inner rail is no wider than the
    flange lap; 2 (R - G/2 - lap), the longest that has rails beside it, where the flanges never bind.

    >>> print(f"{wheelbase_limit(37.5, 320, 30.3, 3.1, 8.5, 1.7, np.pi / 2):.1f}")
    68.9

    Source: CALC, plane geometry, worked out here.
    """
    sizes = gauge, radius, back_to_back, flange_thickness, tread_radius, flange_depth, flange_angle
    longest = longest_beside_rails(gauge, radius, tread_radius, flange_depth)
    return _first_below_zero(lambda grid: np.asarray(residual_play(grid, *sizes)), longest) if longest > 0 else 0.0


def _first_below_zero(function: Callable[[np.ndarray], np.ndarray], end: float) -> float:
    """Where on 0 to end a function with at most one dip first falls below 0, else the end.

    Each round narrows the grid to its first negative sample, or to its lowest while none is negative.
    """
    low, high = 0.0, end
    for _ in range(4):
        grid = np.linspace(low, high, 129)
        y = function(grid)
        found = bool(y.min() < 0)
        after, before = (int(np.argmax(y < 0)), 1) if found else (int(np.argmin(y)) + 1, 2)
        low, high = grid[max(after - before, 0)], grid[min(after, 128)]
    return float(low if found else end)


def residual_play(wheelbase: Numbers, gauge: float, radius: float, back_to_back: float, flange_thickness: float,
                  tread_radius: float, flange_depth: float, flange_angle: float) -> Numbers:
    """Sideways play that a rigid pair of axles still has on a curve; it fits while this is 0 or more, exact.

    c is the radius of the wagon's centre line midway between its axles, u = +-W/2 + x, |x| <= lap:
    outer rail: hypot(c + B/2 + t(x), u) <= R + G/2   holds c down
    inner rail: hypot(c - B/2 - t(x), u) >= R - G/2   holds c up
    The play is the lowest upper bound less the highest lower bound. It does not fall with W for ever: past
    about 4 R lap/G the inner rail bends away from the wheels faster than the outer closes in, and it rises.
    With a flange so tapered that 2 r tan(beta) < G it rises from the start.

    wheelbase: axle to axle of the rigid frame, or of the bogie, W [mm], a float or an array
    gauge: inner face to inner face of the rails, G [mm]
    radius: curve radius R of the track centre line [mm]
    back_to_back: between the inner faces of the two wheels, B [mm]
    flange_thickness: thickness of the flange at the tread, T [mm], at least h/tan(beta)
    tread_radius: radius r of the tread [mm]
    flange_depth: how far the flange stands beyond the tread, h [mm], above 0
    flange_angle: angle beta of the flange's face from the axle's direction [rad], above 0, at most pi/2
    Returns the play [mm]; ValueError where W/2 + lap passes the inner rail's radius: no rail is beside it.

    >>> print(f"{residual_play(50, 37.5, 320, 30.3, 3.1, 8.5, 1.7, np.pi / 2):.4f}")
    0.2345

    Source: CALC, plane geometry, worked out here.
    """
    lap = float(flange_lap(tread_radius, flange_depth))
    outer_rail, inner_rail = radius + gauge / 2, radius - gauge / 2
    half = np.reshape(wheelbase, (-1, 1)) / 2
    longest = longest_beside_rails(gauge, radius, tread_radius, flange_depth)
    if np.any(2 * half > longest):
        raise ValueError(f"a wheelbase of {np.max(wheelbase):g} mm is over {longest:g} mm: its flanges pass"
                         f" an inner rail of radius {inner_rail:g} mm")

    def wheel(x: np.ndarray) -> Numbers:
        return back_to_back / 2 + flange_profile(x, tread_radius, flange_thickness, flange_angle)

    # The wagon is symmetric, so one axle tells all: its far half meets the outer rail first, its near
    # half the inner rail. Hence x is measured away from the middle in one and towards it in the other.
    left_over = (_least(lambda x: np.sqrt(outer_rail**2 - (half + x) ** 2) - wheel(x), lap)
                 + _least(lambda x: -np.sqrt(inner_rail**2 - (half - x) ** 2) - wheel(x), lap))
    return left_over.reshape(np.shape(wheelbase))[()]


def flange_profile(x: Numbers, tread_radius: float, flange_thickness: float, flange_angle: float) -> Numbers:
    """Thickness of a flange where the plane of the rail tops cuts it, ahead of or behind the axle.

    t(x) = T - (sqrt(x^2 + r^2) - r)/tan(beta)

    x: distance along the wagon from the axle [mm], within the flange lap
    tread_radius: radius r of the tread [mm]
    flange_thickness: thickness of the flange at the tread, T [mm]
    flange_angle: angle beta of the flange's face from the axle's direction [rad], above 0, pi/2 for no taper
    Returns the thickness [mm], negative beyond a flange tapered to an edge.

    >>> print(f"{flange_profile(3.0, 8.5, 3.1, np.radians(60)):.4f}")
    2.8033

    Source: CALC, the package's own definition: a flange with a conical face, worked out here.
    """
    return flange_thickness - (np.hypot(x, tread_radius) - tread_radius) / np.tan(flange_angle)


def longest_beside_rails(gauge: float, radius: float, tread_radius: float, flange_depth: float) -> float:
    """Longest wheelbase whose flanges all still have the inner rail beside them: where none binds there is no limit.

    2 (R - G/2 - lap)

    gauge: inner face to inner face of the rails, G [mm]
    radius: curve radius R of the track centre line [mm]
    tread_radius: radius of the tread [mm]
    flange_depth: how far the flange stands beyond the tread [mm], above 0
    Returns the wheelbase [mm].

    >>> print(f"{longest_beside_rails(37.5, 320, 8.5, 1.7):.1f}")
    591.2

    Source: CALC, plane geometry, worked out here.
    """
    return 2 * (radius - gauge / 2 - float(flange_lap(tread_radius, flange_depth)))


def _least(function: Callable[[np.ndarray], np.ndarray], reach: float) -> np.ndarray:
    """Smallest value of each row on 0 to reach: dense samples, then the vertex of a parabola."""
    x, step = np.linspace(0.0, reach, _SAMPLES, retstep=True)
    y = function(x)
    row, best = np.arange(len(y)), np.clip(np.argmin(y, axis=1), 1, _SAMPLES - 2)
    left, centre, right = (y[row, best + side] for side in (-1, 0, 1))
    bend = left - 2 * centre + right
    shift = (left - right) / (2 * np.where(bend > 0, bend, np.inf))
    vertex = x[best] + step * np.clip(shift, -1.0, 1.0)
    return np.minimum(function(vertex[:, None])[:, 0], y.min(axis=1))
