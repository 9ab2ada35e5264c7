"""A track and the vehicles on it, once more and simply: the judge of `partgen.motion`.

The line is summed up from thousands of short steps, stands are found by scipy's root finder one at a time,
distances by shapely. Nothing here is imported from the package but the two ways to lay a piece.
"""

import numpy as np
import shapely
from scipy.optimize import brentq

from partgen.motion.path import Path, arc, straight

STEP = 0.02     # mm; the midpoint sum is then good to 1e-8 mm on toy curves, a chord between to 2e-7 mm
LEAD = 500.0    # mm of straight before and beyond


def laid(plan, closed=False):
    """Return the package's path of a plan such as [("straight", 200), ("left", 320, 90)]."""
    return Path([straight(p[1]) if p[0] == "straight" else arc(p[1], p[2], p[0]) for p in plan], closed)


def mirrored(plan):
    """Return the plan with left and right exchanged."""
    hand = {"left": "right", "right": "left", "straight": "straight"}
    return [(hand[p[0]], *p[1:]) for p in plan]


class Track:
    """A plan summed up step by step from -LEAD to LEAD beyond its end."""

    def __init__(self, plan):
        lengths = [p[1] if p[0] == "straight" else p[1] * np.radians(p[2]) for p in plan]
        bends = [{"left": 1, "right": -1, "straight": 0}[p[0]] / p[1] for p in plan]
        self.length = sum(lengths)
        self.knots = np.concatenate([[-LEAD, 0], np.cumsum(lengths), [self.length + LEAD]])
        turned = np.cumsum(np.multiply(lengths, bends))
        self.headings = np.concatenate([[0, 0], turned, turned[-1:]])
        self.s = np.linspace(-LEAD, self.length + LEAD, int((self.length + 2 * LEAD) / STEP) + 1)
        middle = (self.s[1:] + self.s[:-1]) / 2
        steps = np.exp(1j * self.heading(middle)) * np.diff(self.s)
        self.z = np.concatenate([[0], np.cumsum(steps)]) - LEAD

    def at(self, s):
        return np.interp(s, self.s, self.z)

    def heading(self, s):
        """Return the heading at stations, exact: it is a straight line from joint to joint."""
        return np.interp(s, self.knots, self.headings)

    def _behind(self, point, s, distance, guided):
        return brentq(lambda t: abs(point - guided(t)) - distance, s - 1.5 * distance - 1, s - 0.8 * distance,
                      xtol=1e-10)

    def axles(self, s, bogie):
        """Return the front and the rear axle of a bogie that stands evenly about station s."""
        u = brentq(lambda u: abs(self.at(s + u) - self.at(s - u)) - bogie, 0.4 * bogie, 0.8 * bogie, xtol=1e-10)
        return self.at(s + u), self.at(s - u)

    def pivot(self, s, bogie):
        """Return the pivot of a bogie that stands evenly about station s."""
        return sum(self.axles(s, bogie)) / 2 if bogie else self.at(s)

    def trailing(self, base, bogie, s):
        """Return the station of the rear guided point of a vehicle led at station s."""
        return self._behind(self.pivot(s, bogie), s, base, lambda t: self.pivot(t, bogie))

    def pose(self, base, bogie, s):
        """Return the origin of a vehicle led at station s, and its direction."""
        front, rear = self.pivot(s, bogie), self.pivot(self.trailing(base, bogie, s), bogie)
        return (front + rear) / 2, (front - rear) / abs(front - rear)

    def beside(self, z, near, reach):
        """Return stations and offsets to the left of points about station `near`, by shapely."""
        low = np.searchsorted(self.s, near - reach)
        part = slice(low, np.searchsorted(self.s, near + reach), int(2 / STEP))     # 2 mm apart: 0.002 mm of sag
        line = shapely.linestrings(np.column_stack([self.z[part].real, self.z[part].imag]))
        points = shapely.points(z.real, z.imag)
        s = self.s[low] + shapely.line_locate_point(line, points)
        ahead = np.exp(1j * self.heading(s))
        side = np.sign((np.conj(ahead) * (z - self.at(s))).imag)
        return s, side * shapely.distance(line, points)


def sweep(track, base, bogie, outline, leads):
    """Return stations and offsets of points all along an outline, for every leading station."""
    ring = shapely.segmentize(shapely.LinearRing(outline), 2.5)
    points = shapely.get_coordinates(ring) @ [1, 1j]
    reach = np.abs(points).max() * 1.6 + base
    stations, offsets = [], []
    for lead in leads:
        origin, ahead = track.pose(base, bogie, lead)
        s, d = track.beside(origin + ahead * points, lead - base / 2, reach)
        stations.append(s)
        offsets.append(d)
    return np.array(stations), np.array(offsets)
