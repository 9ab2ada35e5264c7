"""Figures of eight over one crossing, for tests: two loops of half a turn and the crossing's angle each, whose
tangents, R cot(angle / 2) long, meet in the crossing's middle."""

from math import radians, tan


def eight(angle=90.0, radius=320.0, length=120.0, gap=4.5, more="", told=None, off=0.0):
    """Return lines of a track: a figure of eight; `more` is added to its crossings, `told` is the angle that they tell,
    and the first of them lies `off` [mm] out of its place."""
    leg = radius / tan(radians(angle) / 2) - length / 2
    cross = f"{{go = 'crossing', length = {length}, angle = {told or angle}, gap = {gap}{more}}}"
    legs = [f"{{go = 'straight', length = {leg + by!r}}}" for by in (off, -off, 0.0)]
    left, right = (f"{{go = '{way}', radius = {radius}, angle = {90 + angle / 2}, times = 2}}"
                   for way in ("left", "right"))
    return (f"plan = [{legs[0]}, {cross}, {legs[1]}, {left}, {legs[2]}, {cross}, {legs[2]}, {right}]\nclosed = true")
