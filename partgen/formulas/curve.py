"""Where a wagon stands on a curve: throws, attack angle, versines.

A wagon is two guided points on the track centre line (axles, or the pivots of bogies) and a body
fixed to them. Every formula is plane geometry of chords in circles. The exact forms are the ones to use;
the handbook forms are kept as what the exact ones must approach when the radius grows.

Marks in the Source lines: SEEN, read in the source; SEEN-2, read on a secondary page; MEM, from memory;
CALC, worked out.
"""

import numpy as np


def _leg(radius, chord, what):
    """Distance from the centre of a circle to the middle of a chord."""
    square = np.square(radius, dtype=float) - np.square(chord, dtype=float) / 4
    if np.any(square < 0):
        raise ValueError(f"{what} of {chord} mm is longer than a circle of radius {radius} mm is wide")
    return np.sqrt(square)


def pivot_radius(radius, bogie_wheelbase):
    """Radius of the circle that the pivot of a bogie runs on.

    Rp = sqrt(R^2 - (p/2)^2): both axles stand on the centre line, the pivot is midway on the chord.

    radius: curve radius R of the track centre line [mm], at least p/2
    bogie_wheelbase: axle to axle p within the bogie [mm], 0 for a two-axle wagon
    Returns the radius [mm]; ValueError where the bogie is longer than the circle is wide.

    >>> print(f"{pivot_radius(320, 40):.4f}")
    319.3744

    Source: CALC, worked out here from plane geometry.
    """
    return _leg(radius, bogie_wheelbase, "a bogie wheelbase")


def mid_radius(radius, wheelbase, bogie_wheelbase=0.0):
    """Distance from the centre of the curve to the wagon's centre line, midway between its pivots.

    xm = sqrt(Rp^2 - (a/2)^2), Rp from `pivot_radius`.

    radius: curve radius R of the track centre line [mm]
    wheelbase: axle to axle of a two-axle wagon, pivot spacing of a bogie wagon, a [mm], at most 2 Rp
    bogie_wheelbase: axle to axle p within a bogie [mm], 0 for a two-axle wagon
    Returns the distance [mm]; ValueError where the wagon cannot stand on the circle.

    >>> print(f"{mid_radius(300, 60):.4f}")
    298.4962

    Source: CALC, worked out here from plane geometry.
    """
    return _leg(pivot_radius(radius, bogie_wheelbase), wheelbase, "a wheelbase or pivot spacing")


def inner_throw(radius, wheelbase, bogie_wheelbase=0.0):
    """How far the middle of a wagon stands inside the track centre line, exact.

    inner = R - xm. The body side stands as much nearer to the inside as the centre line does.

    radius: curve radius R of the track centre line [mm]
    wheelbase: axle to axle of a two-axle wagon, pivot spacing of a bogie wagon, a [mm], at most 2 Rp
    bogie_wheelbase: axle to axle p within a bogie [mm], 0 for a two-axle wagon
    Returns the throw [mm]; ValueError where the wagon cannot stand on the circle.

    >>> print(f"{inner_throw(300, 60):.4f}")
    1.5038

    Source: CALC, worked out here from plane geometry.
    """
    return radius - mid_radius(radius, wheelbase, bogie_wheelbase)


def outer_throw(radius, wheelbase, length, width, bogie_wheelbase=0.0):
    """How far the corner of a body reaches beyond where its side stands on straight track, exact.

    outer = hypot(xm + W/2, L/2) - R - W/2, negative while the corners stay within the pivots' reach.

    radius: curve radius R of the track centre line [mm]
    wheelbase: axle to axle of a two-axle wagon, pivot spacing of a bogie wagon, a [mm], at most 2 Rp
    length: body length L, lying evenly about the middle [mm]
    width: body width W, lying evenly about the centre line [mm]; 0 gives the throw of the centre line
    bogie_wheelbase: axle to axle p within a bogie [mm], 0 for a two-axle wagon
    Returns the throw [mm]; ValueError where the wagon cannot stand on the circle.

    >>> print(f"{outer_throw(300, 60, 120, 60):.4f}")
    3.9308

    Source: CALC, worked out here from plane geometry.
    """
    xm = mid_radius(radius, wheelbase, bogie_wheelbase)
    return np.hypot(xm + np.divide(width, 2), np.divide(length, 2)) - radius - np.divide(width, 2)


def mid_throw(radius, wheelbase):
    """Handbook form of the inner throw of a two-axle wagon, good while the radius is much the longer.

    a^2/(8R), the versine of the wheelbase.

    radius: curve radius R of the track centre line [mm], above 0
    wheelbase: axle to axle, or pivot spacing, a [mm]
    Returns the throw [mm], short of the exact one by about a^2/(16 R^2) of it.

    >>> print(f"{mid_throw(300, 60):.4f}")
    1.5000

    Source: SEEN-2, a copy of a railway engineering chapter on extra clearance on curves.
    """
    return versine_approx(radius, wheelbase)


def end_throw(radius, wheelbase, length):
    """Handbook form of the outer throw: what the end of the centre line stands outside the track's.

    (L^2 - a^2)/(8R). The corner of a wide body really throws less, since it sits on a larger radius.

    radius: curve radius R of the track centre line [mm], above 0
    wheelbase: axle to axle, or pivot spacing, a [mm]
    length: body length L [mm]
    Returns the throw [mm], negative for a body shorter than its wheelbase.

    >>> print(f"{end_throw(300, 60, 120):.4f}")
    4.5000

    Source: SEEN-2, same chapter, which prints L^2 - C^2 without the bracket it needs.
    """
    return (np.square(length, dtype=float) - np.square(wheelbase, dtype=float)) / (8 * radius)


def section_inside(radius, wheelbase, distance, bogie_wheelbase=0.0):
    """Handbook form of the inner throw at any section between the pivots.

    (a n - n^2 + p^2/4)/(2R)

    radius: curve radius R of the track centre line [mm], above 0
    wheelbase: axle to axle, or pivot spacing, a [mm]
    distance: from the section to the nearest pivot, n [mm], 0 to a/2
    bogie_wheelbase: axle to axle p within a bogie [mm], 0 for a two-axle wagon
    Returns the throw towards the inside [mm].

    >>> print(f"{section_inside(300, 60, 30):.4f}")
    1.5000

    Source: the section form of the European gauging rules, MEM; equal to mid throw at n = a/2.
    """
    return (wheelbase * distance - np.square(distance) + np.square(bogie_wheelbase) / 4) / (2 * radius)


def section_outside(radius, wheelbase, distance, bogie_wheelbase=0.0):
    """Handbook form of the outer throw at any section beyond the pivots.

    (a n + n^2 - p^2/4)/(2R)

    radius: curve radius R of the track centre line [mm], above 0
    wheelbase: axle to axle, or pivot spacing, a [mm]
    distance: from the section to the nearest pivot, n [mm], 0 to the overhang
    bogie_wheelbase: axle to axle p within a bogie [mm], 0 for a two-axle wagon
    Returns the throw towards the outside [mm], negative close to a bogie's pivot.

    >>> print(f"{section_outside(300, 60, 30):.4f}")
    4.5000

    Source: the section form of the European gauging rules, MEM; equal to end throw at the end.
    """
    return (wheelbase * distance + np.square(distance) - np.square(bogie_wheelbase) / 4) / (2 * radius)


def attack_angle(wheelbase, radius):
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
        raise ValueError(f"a wheelbase of {wheelbase} mm is longer than a circle of radius {radius} mm"
                         " is wide")
    return np.arcsin(sine)


def min_radius_for_attack(wheelbase, limit):
    """Sharpest curve on which a rigid wheelbase keeps to an attack angle.

    R = W/(2 sin(limit))

    wheelbase: axle to axle of the rigid frame, or of the bogie, W [mm]
    limit: largest attack angle [rad], above 0, at most pi/2
    Returns the radius of the track centre line [mm]; ValueError for a limit of 0 or less.

    >>> print(f"{min_radius_for_attack(50, np.radians(12)):.2f}")
    120.24

    Source: CALC from the rule of NEM 111 (2016) page 1, SEEN.
    """
    if np.any(np.less_equal(limit, 0)):
        raise ValueError(f"an attack angle of {limit} rad allows no curve: it must be above 0")
    return wheelbase / (2 * np.sin(limit))


def versine(radius, chord):
    """Middle ordinate: how far an arc bulges from the middle of its chord, exact.

    v = R - sqrt(R^2 - c^2/4)

    radius: radius R of the arc [mm]
    chord: length c of the chord [mm], at most 2R
    Returns the ordinate [mm]; ValueError for a chord longer than the circle is wide.

    >>> print(f"{versine(168000, 6446.28):.3f}")
    30.921

    Source: CALC, worked out here from plane geometry.
    """
    return radius - _leg(radius, chord, "a chord")


def versine_approx(radius, chord):
    """Middle ordinate, handbook form.

    v = c^2/(8R)

    radius: radius R of the arc [mm], above 0
    chord: length c of the chord [mm], much shorter than R
    Returns the ordinate [mm].

    >>> print(f"{versine_approx(168000, 6446.28):.3f}")
    30.919

    Source: SEEN-2 as the mid throw of a railway engineering chapter.
    """
    return np.square(chord, dtype=float) / (8 * radius)


def radius_of_degree(degree, chord=30480.0):
    """Radius of a curve given, as American railways do, by the angle that a chord of 100 feet spans.

    R = (c/2)/sin(D/2); with the chord of 100 feet, R[ft] = 50/sin(D/2).

    degree: degree of curve D, the angle at the centre [rad], above 0, at most pi
    chord: the chord c that spans it [mm], 100 feet by default
    Returns the radius [mm]; ValueError for an angle of 0 or less.

    >>> print(f"{radius_of_degree(np.radians(5)) / 304.8:.2f}")
    1146.28

    Source: SEEN as the table of NMRA S-8 (old edition), which the formula reproduces.
    """
    if np.any(np.less_equal(degree, 0)):
        raise ValueError(f"a degree of curve of {degree} rad is a straight: it must be above 0")
    return chord / (2 * np.sin(np.divide(degree, 2)))


def outline_throw(outline, radius, wheelbase, bogie_wheelbase=0.0):
    """How far any outline reaches from the track centre line on a curve, each way, exact.

    With C the centre of the curve at (0, +-xm) in wagon axes, of left and right curves the worse of
    inner = R - nearest distance of the filled outline from C    (R where the outline covers C)
    outer = largest distance of a corner from C - R
    Both are the whole half width reached, not the excess over straight track. Negative: the outline lies
    wholly on the other side of the centre line.

    outline: corners of a closed polygon, first one not repeated, shape (n, 2), x forward and y left [mm]
    radius: curve radius R of the track centre line [mm]
    wheelbase: axle to axle of a two-axle wagon, pivot spacing of a bogie wagon, a [mm], at most 2 Rp
    bogie_wheelbase: axle to axle p within a bogie [mm], 0 for a two-axle wagon
    Returns (inner, outer) [mm]; ValueError where the wagon cannot stand on the circle.

    >>> box = [(60, 30), (-60, 30), (-60, -30), (60, -30)]
    >>> print("{:.4f} {:.4f}".format(*outline_throw(box, 300, 60)))
    31.5038 33.9308

    Source: CALC, worked out here; a centred box gives the two exact throws plus W/2.
    """
    corners = np.asarray(outline, dtype=float)
    xm = mid_radius(radius, wheelbase, bogie_wheelbase)
    seen_from = [corners - (0.0, xm), corners + (0.0, xm)]
    nearest = min(_distance_from_origin(polygon) for polygon in seen_from)
    farthest = max(np.hypot(*polygon.T).max() for polygon in seen_from)
    return float(radius - nearest), float(farthest - radius)


def _distance_from_origin(polygon):
    """Distance from the origin to a filled polygon; its edges count, not only its corners."""
    start, end = polygon, np.roll(polygon, -1, axis=0)
    edge = end - start
    square = (edge * edge).sum(axis=1)
    along = np.clip(-(start * edge).sum(axis=1) / np.where(square > 0, square, 1.0), 0.0, 1.0)
    # A ray from the origin along +x leaves a filled polygon through an odd number of its edges.
    rises = end[:, 1] > start[:, 1]
    crosses = (end[:, 1] > 0) != (start[:, 1] > 0)
    ahead = (start[:, 0] * end[:, 1] - end[:, 0] * start[:, 1] > 0) == rises
    if np.count_nonzero(crosses & ahead) % 2:
        return 0.0
    return np.hypot(*(start + along[:, None] * edge).T).min()
