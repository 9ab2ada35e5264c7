"""Light strips as pictures show them: glowing bars under the eaves, and the light they throw down the sides."""

import numpy as np

from partgen.plan.body.light_strip import THICK, WIDE
from partgen.plan.wagon import WagonPlan
from partgen.report.props import PALETTE, rounded_box
from partgen.report.scene import Prop

NAME = "light-strip"
BANDS = 14              # of fading light down a side
FADE = 0.45             # of the wall's height in which it falls to a third
STRONGEST = 0.92        # opacity of the light where it is brightest
SKIN = 0.06             # mm of air between wall and light


def strips(plan: WagonPlan) -> list[Prop]:
    """Return both strips in their grooves, in wagon axes."""
    if not (plan.lid and plan.lid.strip):
        return []
    strip, top = plan.lid.strip, plan.lid.bottom + plan.lid.strip.depth
    return [_bar(NAME, (strip.strip, WIDE, THICK), (0.0, side * strip.middle, top - THICK / 2)) for side in (1, -1)]


def washes(plan: WagonPlan) -> list[Prop]:
    """Return the light on the sides of a wagon whose strips are on, as clear sheets that fade downwards."""
    if not (plan.lid and plan.lid.strip):
        return []
    high = plan.body.top - plan.body.bottom
    edges = plan.body.top - high * np.linspace(0.0, 1.0, BANDS + 1)
    length, face = plan.length - 2 * plan.body.corner, plan.width / 2 + SKIN
    return [_sheet(length, side * face, low, top,
                   STRONGEST * float(np.exp((low + top - 2 * plan.body.top) / 2 / (FADE * high))))
            for side in (1, -1) for top, low in zip(edges, edges[1:])]


def _bar(name, size, middle) -> Prop:
    vertices, faces = rounded_box(size, 0.2, 1)
    return Prop(name, vertices + middle, faces, PALETTE[name], finish="glow")


def _sheet(length: float, y: float, low: float, high: float, opacity: float) -> Prop:
    """Return an upright sheet that looks outward; without thickness, so that no edge of it is drawn."""
    corners = np.array([(x * length / 2, y, z) for x, z in ((-1, low), (1, low), (1, high), (-1, high))])
    faces = np.array([(0, 1, 2), (0, 2, 3)])
    return Prop("glow", corners, faces if y < 0 else faces[:, ::-1], PALETTE["glow"], finish="glow", opacity=opacity)
