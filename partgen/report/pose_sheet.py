"""One picture of every part as it lies on the bed, its thinnest wall marked."""

from math import sqrt

import numpy as np

from partgen.parts import record_of
from partgen.printing.posed import alike
from partgen.printing.walls import thinnest_wall
from partgen.report.props import lathe
from partgen.report.scene import Camera, Prop, Scene
from partgen.solids.built import Built

NAME = "print-poses.png"
CAPTION = "Every part as it is printed, with its thinnest wall in mm"
APART = 14.0            # mm between two parts
BROAD = 1.1            # width of the whole over its depth, about: the labels take the rest of the width
SIZE = (1760, 1100)
CAMERA = Camera((-0.06, -0.55, 1.0))
MARK, RED = 2.2, (0.75, 0.16, 0.13)     # radius [mm] and colour of the ball on a wall that is too thin


def pose_sheet(built: Built) -> Scene:
    """Return the scene: each kind of part once, largest at the back, labelled with its thinnest wall [mm]."""
    kinds = sorted(alike(built), key=lambda kind: (-kind[0].mesh.extents[1], [str(one) for one in kind[2]]))
    spots = shelves([tuple(posed.mesh.extents[:2]) for posed, *_ in kinds])
    things, labels = [], []
    for (posed, item, subjects), (x, y) in zip(kinds, spots):
        wall, place = thinnest_wall(posed)
        move = np.eye(4)
        move[:2, 3] = x, y
        things.append(Prop(item.name, posed.mesh.vertices, posed.mesh.faces, record_of(item.part).colour, move))
        at = tuple(np.add(place, (x, y, 0.0)))
        labels.append((f"{_name(item, subjects, len(built.train.wagons))}: {wall:.2f}", at))
        if wall < posed.printer.thinnest_wall - 0.05:
            move = np.eye(4)
            move[:3, 3] = at
            things.append(Prop("mark", *_ball(), RED, move))
    return Scene(tuple(things), CAMERA, SIZE, tuple(labels), ground=0.0)


def shelves(sizes) -> list[tuple[float, float]]:
    """Return the middles (x, y) [mm] of things of `sizes` (along x, y) [mm] in rows, the first row at the back."""
    room = sum((x + APART) * (y + APART) for x, y in sizes)
    wide = max(max(x for x, _ in sizes), sqrt(BROAD * room))
    places, x, y, deep = [], 0.0, 0.0, 0.0
    for length, depth in sizes:
        if x and x + length > wide:
            x, y, deep = 0.0, y - deep - APART, 0.0
        places.append((x + length / 2, y - depth / 2))
        x, deep = x + length + APART, max(deep, depth)
    return places


def _name(item, subjects, wagons) -> str:
    """Return what to call a part: its own name, and its wagon's where others have another one."""
    name = item.name.replace("-", " ")
    of_all = len(subjects) == wagons > 1 or not subjects[0].wagons
    return name if of_all else f"{subjects[0].wagons[0]} {name}"


def _ball():
    turn = np.linspace(-np.pi / 2, np.pi / 2, 13)
    return lathe(np.column_stack([MARK * np.cos(turn).clip(0), MARK * np.sin(turn)]), "z", 24)
