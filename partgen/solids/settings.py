"""Where a track sensor's tray holds what it holds, and how far its lug lets it go, tried on the meshes."""

from collections.abc import Callable
from functools import partial

from manifold3d import Manifold
from msgspec import Struct

from partgen.plan.body.sensor_holder import Hung
from partgen.plan.item import Item
from partgen.plan.wagon import WagonPlan
from partgen.solids.built import Built, stand
from partgen.solids.overlap import solid

STEP = 0.02             # mm: how near it is looked
FAR = 12.0              # mm: how far
TOUCH = 0.02            # mm3: facets of what only touches cross by less


class Setting(Struct, frozen=True):
    """What was found: the height of the face that looks down and of the tray's lowest point over rail top, and how far
    up and down from there the screw can go in the lug; all in mm."""

    face: float
    low: float
    up: float
    down: float


def setting(built: Built, plan: WagonPlan, one: Hung, name: str) -> Setting:
    """Return how tray and lug are built: a block as large as what hangs is let down until it rests, a shank as thick as
    the screw is moved up and down in the lug's slot until it meets the frame."""
    item = next(item for item in plan.items if item.name == name)
    frame = next(item for item in plan.items if item.name == "frame")
    return built.kept.data("sensor settings", (*built.known(plan, item), *built.known(plan, frame), one),
                           lambda: _tried(built, plan, one, item), Setting)


def _tried(built: Built, plan: WagonPlan, one: Hung, item: Item) -> Setting:
    name = item.name
    tray = solid(built.meshes[plan.name, name].copy().apply_transform(stand(item.places[0])))
    frame, low = solid(built.meshes[plan.name, "frame"]), tray.bounding_box()[2]
    thing = Manifold.cube(one.size, center=True).translate((one.way.x, 0.0, one.size[2] / 2))
    face = low + FAR - _way(lambda by: thing.translate((0.0, 0.0, low + FAR - by)), tray)
    shank = Manifold.cylinder(one.lug.thick, one.lug.shank / 2, circular_segments=48).rotate((-90.0, 0.0, 0.0))
    shank = shank.translate((one.lug.x, one.lug.y, low + one.tray.screw_z))
    higher, lower = (_way(partial(_swept, shank, sign), frame) for sign in (1.0, -1.0))
    return Setting(face, low, higher, lower)


def _swept(shank: Manifold, sign: float, by: float) -> Manifold:
    """Return what a shank takes on its way up or down [mm]: beyond the lug's end it would be free again."""
    return Manifold.batch_hull([shank, shank.translate((0.0, 0.0, sign * by))])


def _way(at: Callable[[float], Manifold], other: Manifold) -> float:
    """Return how far [mm] a thing goes before it meets the other, FAR at most; from there on it meets it all the way.
    """
    free, met = 0.0, FAR
    while met - free > STEP:
        middle = (free + met) / 2
        free, met = (free, middle) if (at(middle) ^ other).volume() > TOUCH else (middle, met)
    return free
