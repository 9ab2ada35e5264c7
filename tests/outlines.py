"""Outlines of vehicles, plans to send them over, and how to ask an envelope for its farthest places."""

import numpy as np
import shapely
from rivals import outline_throw


def box(length, width, ahead=0.0, left=0.0):
    return np.array([(ahead + x * length / 2, left + y * width / 2) for x, y in ((1, 1), (-1, 1), (-1, -1), (1, -1))])


def rounded(length, width, radius):
    ring = shapely.Polygon(box(length - 2 * radius, width - 2 * radius)).buffer(radius, quad_segs=6).exterior
    return shapely.get_coordinates(ring)[:-1]


ENTRY = [("straight", 160), ("left", 320, 75), ("straight", 160)]
REVERSE = [("straight", 120), ("left", 320, 40), ("right", 260, 45), ("straight", 130)]
HOOK = [("straight", 90), ("right", 400, 12), ("straight", 22), ("left", 280, 20), ("left", 500, 10), ("straight", 90)]
PLANS = {"entry": ENTRY, "reverse": REVERSE, "hook": HOOK}
CASES = {
    "short": (70, 0, rounded(140, 60, 4)),
    "overhung": (44, 0, box(150, 54)),
    "bogies": (120, 44, rounded(170, 56, 3)),
    "lopsided": (90, 0, np.array([(66, 20), (40, 31), (-58, 31), (-70, 10), (-70, -24), (60, -24)])),
}


def stations(envelope):
    """Stations of the plan, at most a step of the sweep apart."""
    length = envelope.sweep.path.length
    return np.linspace(0, length, int(length / envelope.sweep.step) + 2)


def worst_on(envelope, side):
    """The farthest reach to a side over the whole plan."""
    return envelope.worst(side, 0.0, envelope.sweep.path.length)


def steady(outline, radius, base, bogie=0.0):
    return outline_throw(outline, radius, base, bogie)
