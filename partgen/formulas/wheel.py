"""Wheels between rails: flange lap, play, check gauge, and the longest wheelbase that passes a curve.

The exact limit keeps the two rails' different radii and the flange's own shape. The handbook widening
treats the wagon as one straight body that touches the inner rail at its middle; so it agrees with the exact
limit on wide curves while the wheelbase is under two laps, and asks for too much beyond.

Marks in the Source lines: SEEN, read in the source; SEEN-2, read on a secondary page; MEM, from memory;
CALC, worked out.
"""

import numpy as np

# 33 samples leave 1/32 of a lap between them; the parabola through the best three is then good to 1e-6 mm.
_SAMPLES = 33


def flange_lap(tread_radius, flange_depth):
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


def play(gauge, back_to_back, flange_thickness):
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


def check_gauge(back_to_back, flange_thickness):
    """Check gauge of a wheelset: back of one wheel to the running face of the other's flange.

    K = B + T

    back_to_back: between the inner faces of the two wheels, B [mm]
    flange_thickness: thickness of the flange at the tread, T [mm]
    Returns the check gauge [mm].

    >>> print(f"{check_gauge(14.6, 0.7):.1f}")
    15.3

    Source: SEEN, rule printed with NEM 310 (2009).
    """
    return back_to_back + np.asarray(flange_thickness, dtype=float)


def flange_profile(x, tread_radius, flange_thickness, flange_angle):
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


def residual_play(wheelbase, gauge, radius, back_to_back, flange_thickness, tread_radius, flange_depth,
                  flange_angle):
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
    lap = flange_lap(tread_radius, flange_depth)
    outer_rail, inner_rail = radius + gauge / 2, radius - gauge / 2
    half = np.reshape(wheelbase, (-1, 1)) / 2
    longest = _longest_beside_rails(gauge, radius, lap)
    if np.any(2 * half > longest):
        raise ValueError(f"a wheelbase of {np.max(wheelbase):g} mm is over {longest:g} mm: its flanges pass"
                         f" an inner rail of radius {inner_rail:g} mm")

    def to_outer_rail(x):
        return np.sqrt(outer_rail**2 - (half + x) ** 2) - back_to_back / 2 - flange(x)

    def to_inner_rail(x):
        return -np.sqrt(inner_rail**2 - (half - x) ** 2) - back_to_back / 2 - flange(x)

    def flange(x):
        return flange_profile(x, tread_radius, flange_thickness, flange_angle)

    # The wagon is symmetric, so one axle tells all: its far half meets the outer rail first, its near
    # half the inner rail. Hence x is measured away from the middle in one and towards it in the other.
    left_over = _least(to_outer_rail, lap) + _least(to_inner_rail, lap)
    return left_over.reshape(np.shape(wheelbase))[()]


def _longest_beside_rails(gauge, radius, lap):
    """Longest wheelbase whose flanges all still have the inner rail beside them."""
    return 2 * (radius - gauge / 2 - lap)


def _least(function, reach):
    """Smallest value of each row on 0 to reach: dense samples, then the vertex of a parabola."""
    x, step = np.linspace(0.0, reach, _SAMPLES, retstep=True)
    y = function(x)
    row, best = np.arange(len(y)), np.clip(np.argmin(y, axis=1), 1, _SAMPLES - 2)
    left, centre, right = (y[row, best + side] for side in (-1, 0, 1))
    bend = left - 2 * centre + right
    shift = (left - right) / (2 * np.where(bend > 0, bend, np.inf))
    vertex = x[best] + step * np.clip(shift, -1.0, 1.0)
    return np.minimum(function(vertex[:, None])[:, 0], y.min(axis=1))


def wheelbase_limit(gauge, radius, back_to_back, flange_thickness, tread_radius, flange_depth, flange_angle):
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
    longest = _longest_beside_rails(gauge, radius, flange_lap(tread_radius, flange_depth))

    def fit(wheelbase):
        return residual_play(wheelbase, gauge, radius, back_to_back, flange_thickness, tread_radius,
                             flange_depth, flange_angle)

    return _first_below_zero(fit, longest) if longest > 0 else 0.0


def _first_below_zero(function, end):
    """Where on 0 to end a function with at most one dip first falls below 0, else the end.

    Each round narrows the grid to its first negative sample, or to its lowest while none is negative.
    """
    low, high = 0.0, end
    for _ in range(4):
        grid = np.linspace(low, high, 129)
        y = function(grid)
        found = y.min() < 0
        after, before = (np.argmax(y < 0), 1) if found else (np.argmin(y) + 1, 2)
        low, high = grid[max(after - before, 0)], grid[min(after, 128)]
    return float(low if found else end)


def flange_chord(tread_diameter, flange_depth):
    """Handbook "lap of flange": the whole chord of the flange's tip circle at rail top, twice `flange_lap`.

    L = 2 sqrt(h^2 + D h)

    tread_diameter: wheel diameter D at the tread [mm]
    flange_depth: how far the flange stands beyond the tread, h [mm]
    Returns the chord [mm].

    >>> print(f"{flange_chord(1524, 32):.2f}")
    446.28

    Source: SEEN-2, lap formula of three calculator pages; CALC shows that it is this chord.
    """
    return 2 * flange_lap(np.divide(tread_diameter, 2), flange_depth)


def widening_textbook(wheelbase, chord, radius):
    """Extra gauge for a rigid wheelbase on a curve, railway textbook form.

    w[cm] = 13 (B + L)^2/R with B, L and R in metres; so w = 0.13 (B + L)^2/R in one unit. The 13 is the
    100/8 = 12.5 of the versine, rounded up.

    wheelbase: axle to axle of the rigid frame, B [mm]
    chord: lap of flange L, from `flange_chord` [mm]
    radius: curve radius R of the track centre line [mm], above 0
    Returns the widening [mm].

    >>> print(f"{widening_textbook(6000, 446.28, 350000):.2f}")
    15.43

    Source: MEM for the formula; the data of the example SEEN-2 in an examination paper.
    """
    return 0.13 * np.square(np.add(wheelbase, chord)) / radius


def widening_versine(wheelbase, chord, radius):
    """Extra gauge for a rigid wheelbase on a curve: the versine of wheelbase plus lap, handbook form.

    w = (B + L)^2/(8R). The square belongs on the sum; several calculator pages print it on L alone.

    wheelbase: axle to axle of the rigid frame, B [mm]
    chord: lap of flange L, from `flange_chord` [mm]
    radius: curve radius R of the track centre line [mm], above 0
    Returns the widening [mm].

    >>> print(f"{widening_versine(6000, 446.28, 168000):.3f}")
    30.919

    Source: CALC, the form behind the textbook's rounded factor, worked out here.
    """
    return np.square(np.add(wheelbase, chord)) / (8 * radius)


def handbook_wheelbase_limit(lateral_play, chord, radius):
    """Longest rigid wheelbase by the handbook versine, from (B + L)^2/(8R) <= s.

    B = sqrt(8 R s) - L. On wide curves this is the exact limit while B is under L, and less than the exact
    limit beyond, where the wheels no longer touch the inner rail at the wagon's middle.

    lateral_play: play s between flanges and rails on straight track, from `play` [mm]
    chord: lap of flange L, from `flange_chord` [mm]
    radius: curve radius R of the track centre line [mm]
    Returns the limit [mm], 0 where nothing fits.

    >>> print(f"{handbook_wheelbase_limit(1.0, flange_chord(17.0, 1.7), 320):.1f}")
    39.3

    Source: CALC, the versine form solved for the wheelbase, worked out here.
    """
    longest = np.sqrt(8 * np.multiply(radius, np.maximum(lateral_play, 0.0))) - chord
    return np.maximum(longest, 0.0)
