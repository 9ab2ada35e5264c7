"""Parts drawn with and without their features, and points in them that tell whether a feature is there."""

from functools import cache
from importlib import import_module

import pytest
from cadquery import Shape, Solid, Vector
from conftest import bare

from partgen import parts
from partgen.describe.load import loads
from partgen.plan.train import resolve

MODULES = """
[module.board]
length = 50
width = 30
height = 12
mass = 20
mount = "bosses"
holes = [[21, 11], [21, -11], [-21, 11], [-21, -11]]
hole = 2.7
heat = 1
[module.cell]
length = 60
width = 26
height = 20
mass = 60
mount = "strap"
[module.port]
length = 20
width = 14
height = 9
mass = 5
mount = "tape"
looks_out = [{ side = "left", width = 14, height = 6 }]
[module.eye]
length = 26
width = 13
height = 9
mass = 4
looks_out = [{ side = "bottom", width = 9, height = 7 }]
[module.shown]
length = 27
width = 21
height = 8
mass = 6
looks_out = [{ side = "top", width = 15, height = 11 }]
"""

SLIM = "[cup.slim]\nprofile = [[0, 38], [60, 46]]\nmass = 90\nwall = 2.5\nfill = 30"
TRAINS = {
    "fitted": {"module": MODULES, "wagon": "modules = ['board', 'cell', 'port', 'eye', 'box']\nwidth = 66\n"
               "plate = 'TEA'"},
    "lamped": {"wagon": "modules = ['box']\nlights = 'lamps'"},
    "lit": {"module": MODULES, "wagon": "modules = ['cell', 'shown']\nlights = 'strip'\nsides = 'panelled'"},
    "carrying": {"cup": SLIM, "wagon": "modules = ['box']\ncups = ['tea']\ninserts = ['slim']\nlength = 130"},
    "long": {"wagon": "pivot_spacing = 150\nlength = 236"},
}
GONE = Solid.makeBox(1, 1, 1, Vector(0, 0, -900))     # a tool that meets nothing


@cache
def wagon(train):
    plan = resolve(loads(bare(**TRAINS[train]).replace("wheelbase = 64", "wheelbase = 34" if train == "long" else
                                                       "wheelbase = 64"))).wagons[0]
    assert not plan.wanting, plan.wanting
    return plan


@cache
def track():
    return resolve(loads(bare(**TRAINS["fitted"]))).trackside


def item(train, part):
    plan = track() if train == "track" else wagon(train)
    return next(one for one in plan.items if one.part == part).plan


@cache
def drawn(train, part):
    return parts.build(part, item(train, part))


def on_wall(plan, wall, x, deep, z):
    """A point `deep` under the face of a side wall, at x."""
    return x, (1 if wall == "left" else -1) * (plan.width / 2 - deep), z


def before(plan, wall, along, deep, z):
    """A point `deep` under the face of a wall, `along` it to the right as seen from outside."""
    if wall in ("left", "right"):
        return on_wall(plan, wall, -along if wall == "left" else along, deep, z)
    side = 1 if wall == "front" else -1
    return side * (plan.length / 2 - deep), side * along, z


def is_there(train, part, feature):
    """Assert that a feature's points in air lie in air and those in plastic in plastic."""
    air, plastic = feature(item(train, part))
    assert air and plastic
    shape = drawn(train, part)
    assert [p for p in air if shape.isInside(Vector(*p))] == [], "plastic where air should be"
    assert [p for p in plastic if not shape.isInside(Vector(*p))] == [], "air where plastic should be"


def is_missed(shape, train, part, feature):
    """Is one of the feature's points not where it should be in this shape?"""
    air, plastic = feature(item(train, part))
    return any(shape.isInside(Vector(*p)) for p in air) or not all(shape.isInside(Vector(*p)) for p in plastic)


def without(train, part, drawers):
    """The part with every function that draws a feature of it drawing nothing, or its plan without the feature."""
    plan = item(train, part)
    with pytest.MonkeyPatch.context() as patch:
        for drawer in drawers:
            if callable(drawer):
                plan = drawer(plan)
            else:
                file, function = drawer.split(".")
                module = import_module(f"partgen.parts.{file}")
                patch.setattr(module, function, drawing_nothing(getattr(module, function)))
        file, function = parts.record_of(part).drawn_by.split(".")
        return getattr(import_module(f"partgen.parts.{file}"), function)(plan)


def drawing_nothing(real):
    """The same function, giving no tools, or one that meets nothing; letters leave the body as it is."""
    def drawer(*given, **named):
        if real.__name__ == "lettered":
            return given[0]
        return GONE if isinstance(real(*given, **named), Shape) else []
    return drawer
