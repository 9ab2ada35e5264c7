"""A wagon with its near side cut away: the modules in their places, the lid's clips, the way the plugs go."""

import numpy as np
from msgspec.structs import replace

from partgen.plan.wagon import WagonPlan
from partgen.report.glow import NAME
from partgen.report.pictures import hidden
from partgen.report.scene import Camera, Prop, Scene, view
from partgen.solids.built import Built
from partgen.solids.sections import halved

CUT = ("body", "lid", "cradle", "lid-clip")
ASIDE = -0.24           # of the width: the cut lies to the right of the middle, and most modules are behind it
LID_ASIDE = 0.12        # a lid without cups is cut further back, for a look in from above
CAMERA = Camera((-0.42, -1.0, 0.78))
SIZE = (1280, 720)
ALONG, ACROSS = (0.0, -0.3, 0.3, -0.45, 0.45), (0.2, 0.0, -0.2, -0.45)   # of a module, where its label may point
BATTERY, WARM, PLAIN = (0.21, 0.23, 0.27), (0.62, 0.31, 0.22), (0.22, 0.42, 0.47)


def cutaway(built: Built, plan: WagonPlan, props: list[Prop]) -> Scene:
    """Show a wagon with everything it carries, `props` in its axes, body and lid cut open, modules named.

    Modules stay whole: batteries are dark, what gets warm is red.
    """
    aside = {part: plan.width * (ASIDE if plan.cradle or part == "body" else LID_ASIDE) for part in CUT}
    cut = [Prop(item.part, half.vertices, half.faces, _colour(item.part, props))
           for item, _, mesh in built.standing(plan) if item.part in CUT
           for half in [halved(mesh, (0.0, 1.0, 0.0), aside[item.part])] if len(half.faces)]
    modules = {placed.name: placed.module for placed in plan.layout.placed}
    rest = [replace(prop, colour=_tint(modules[prop.name])) if prop.name in modules else prop
            for prop in props if prop.name not in CUT and not _before(prop, aside["lid"])]
    scene = Scene((*cut, *rest), CAMERA, SIZE, ground=_lowest(rest))
    return replace(scene, labels=tuple(_label(plan, placed, view(scene).position, aside["lid"])
                                       for placed in plan.layout.placed))


def _colour(part: str, props) -> tuple[float, float, float]:
    return next(prop.colour for prop in props if prop.name == part)


def _before(prop: Prop, aside: float) -> bool:
    """Is it a light strip under the side that is cut away?"""
    return prop.name == NAME and prop.placed()[:, 1].mean() < aside


def _tint(module) -> tuple[float, float, float]:
    return BATTERY if module.battery else WARM if module.warm else PLAIN


def _label(plan, placed, eye, aside: float) -> tuple[str, tuple[float, float, float]]:
    """Return a module's name and a point on its upper face, one that neither another module nor the lid from `aside`
    [mm] on hides if there is one; else the name says that it stands behind."""
    top = plan.floor_z + placed.z + placed.height
    spots = np.array([(placed.x + along * placed.length, placed.y + across * placed.width, top)
                      for across in ACROSS for along in ALONG])
    boxes = [np.array(other.box).T + (0.0, 0.0, plan.floor_z) for other in plan.layout.placed if other is not placed]
    seen = ~hidden(spots, eye, [*boxes, _over(plan.lid, aside)])
    name = placed.name if seen.any() else f"{placed.name}, behind"
    return name, tuple(map(float, spots[seen.argmax()]))


def _over(lid, aside: float):
    """Return the box of what is left of a lid cut open at `aside` [mm]."""
    return np.array([(-lid.length / 2, aside, lid.lowest), (lid.length / 2, lid.width / 2, lid.top)])


def _lowest(props) -> float:
    return min(float(prop.placed()[:, 2].min()) for prop in props)
