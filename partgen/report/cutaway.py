"""A wagon with its near side cut away: the modules in their places, the lid's clips, the way the plugs go."""

from msgspec.structs import replace

from partgen.checks.built import Built
from partgen.checks.halved import halved
from partgen.plan.wagon import WagonPlan
from partgen.report.glow import NAME
from partgen.report.scene import Camera, Prop, Scene

CUT = ("body", "lid", "cradle", "lid-clip")
ASIDE = -0.24           # of the width: the cut lies to the right of the middle, and most modules are behind it
LID_ASIDE = 0.12        # a lid without cups is cut further back, for a look in from above
CAMERA = Camera((-0.42, -1.0, 0.78))
SIZE = (1280, 720)
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
    labels = tuple((placed.name, _corner(plan, placed)) for placed in plan.layout.placed)
    return Scene((*cut, *rest), CAMERA, SIZE, labels, ground=_lowest(rest))


def _colour(part: str, props) -> tuple[float, float, float]:
    return next(prop.colour for prop in props if prop.name == part)


def _before(prop: Prop, aside: float) -> bool:
    """Is it a light strip under the side that is cut away?"""
    return prop.name == NAME and prop.placed()[:, 1].mean() < aside


def _tint(module) -> tuple[float, float, float]:
    return BATTERY if module.battery else WARM if module.warm else PLAIN


def _corner(plan, placed) -> tuple[float, float, float]:
    """Return a point on the module's upper face, near the side from which it is seen best."""
    y = placed.y + (-0.45 if plan.cradle else 0.3) * placed.width
    return (placed.x, y, plan.floor_z + placed.z + placed.height)


def _lowest(props) -> float:
    return min(float(prop.placed()[:, 2].min()) for prop in props)
