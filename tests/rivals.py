"""How far a wagon reaches in the middle of a long curve, once more and in closed form: a judge of `partgen.motion`.

A wagon is two guided points on the track centre line, so all of it is plane geometry of chords in a circle (CALC).
"""

import numpy as np
import shapely


def mid_radius(radius, wheelbase, bogie_wheelbase=0.0):
    """Distance from the centre of the curve to the wagon's centre line, midway between its pivots.

    A pivot runs on the circle of radius sqrt(R^2 - (p/2)^2), half way along the chord p of its bogie; the wagon's
    middle half way along the chord of its pivots in that.
    """
    return np.sqrt(radius**2 - bogie_wheelbase**2 / 4 - wheelbase**2 / 4)


def outline_throw(outline, radius, wheelbase, bogie_wheelbase=0.0):
    """How far an outline reaches inwards and outwards from the track centre line, of left and right curve the worse.

    Both are the whole half width reached: inwards R less the nearest distance of the filled outline from the
    curve's centre, outwards the largest distance of a corner from it less R.
    """
    body, aside = shapely.Polygon(outline), mid_radius(radius, wheelbase, bogie_wheelbase)
    centres = shapely.points([(0, aside), (0, -aside)])
    corners = shapely.points(np.asarray(outline, dtype=float))
    return (radius - shapely.distance(body, centres).min(),
            shapely.distance(corners[:, None], centres).max() - radius)
