"""The album of a built train: on its sharpest curve, each wagon whole, taken apart and cut open, every part as it is
printed, every step of putting it together."""

from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from math import sqrt
from pathlib import Path

import numpy as np
from msgspec.structs import replace
from trimesh.creation import icosphere

from partgen.identity import PrintedId
from partgen.paper.assembly import steps
from partgen.paper.filenames import step_stem, wagon_stems
from partgen.parts import record_of
from partgen.parts.record import Step
from partgen.parts.steps.track import OFF
from partgen.plan.fasteners import Fastener, sensor_screws
from partgen.plan.item import Item, Place
from partgen.plan.pivot import WASHER
from partgen.plan.train import TrainPlan
from partgen.plan.wagon import WagonPlan
from partgen.printing.posed import alike
from partgen.printing.walls import thinnest_wall
from partgen.report.pictures import drawing
from partgen.report.props import nut, screw, washer
from partgen.report.scene import Point, Prop, Scene
from partgen.report.track_props import jig_props, track_props
from partgen.report.views import cutaway, exploded, stand_on_curve
from partgen.report.wagon_props import (
    BEARING,
    RING,
    ROD,
    SHIM,
    TUBE,
    chord_pose,
    coupled_on_curve,
    loose_props,
    printed_prop,
    wagon_props,
    washes,
    with_bogies_turned,
    with_drawbars_swung,
)
from partgen.solids.built import Built, stand

TIMEOUT = 40.0          # s a picture, with the renderer's own start
SMALLER = (1280, 800)   # px; only the train's own picture is larger
WORDS = {"wheel": None, "axle": "wheelset", "liquid": None}     # labels that are not the thing's own name
CLEAR = 0.45            # of a step that inserts lift the cups further off the cradle
MOUNTS = ("strap", "tape", "felt", "fuse")
ON_TOP = 2.0            # what stands off further comes lower on a wagon without a lid

POSES, POSES_CAPTION = "print-poses.png", "Every part as it is printed, with its thinnest wall in mm"
POSES_CAMERA, POSES_SIZE = (-0.06, -0.55, 1.0), (1760, 1100)
APART = 14.0            # mm between two parts
BROAD = 1.1             # width of the whole over its depth, about: the labels take the rest of the width
MARK, RED = 2.2, (0.75, 0.16, 0.13)     # radius [mm] and colour of the ball on a wall that is too thin

SET_CAMERA = (0.5, 1.0, 0.22)
STEP_CAMERA, STEP_SIZE = (-0.5, -1.0, 0.55), (760, 570)     # small: there are many of them
AXLE_CAMERA = (-1.0, -0.5, 0.6)         # along the wagon, so that what comes off an axle lies side by side
FROM_LEFT = np.array([[1.0, 0, 0, 0], [0, 0, 1, 0], [0, -1, 0, 0], [0, 0, 0, 1]])
ACROSS = 1.5            # of a screw's length that it stands off where it is driven to the right
ON_ITS_HEAD = np.diag([1.0, -1.0, -1.0, 1.0])
BEYOND = 0.12           # of the body's length: screws stand off further than what they hold
PALE = 0.55             # of the way to white for what is there already


Album = Callable[[Path], tuple[dict[Path, str | None], tuple[str, ...]]]
"""Waits for the pictures and puts them into a folder; returns the caption of each by its path, and why others are
missing."""


@contextmanager
def sitting(built: Built, children: int) -> Iterator[Album]:
    """Have every picture of the train drawn by as many children while the build goes on beside them."""
    album = list(_scenes(built))
    with drawing((scene for *_, scene in album), TIMEOUT, built.kept, children) as pending:
        def take(folder: Path) -> tuple[dict[Path, str | None], tuple[str, ...]]:
            folder.mkdir(parents=True, exist_ok=True)
            paths = {folder / name: caption for name, caption, _ in album}
            missing = dict(zip(paths, pending.deliver(list(paths)), strict=True))
            taken = {path: caption for path, caption in paths.items() if not missing[path]}
            return taken, tuple(dict.fromkeys(reason for reason in missing.values() if reason))
        yield take


def _scenes(built: Built) -> Iterator[tuple[str, str | None, Scene]]:
    """Yield (file name, caption, scene) of every picture; steps have no caption, their place is with their text."""
    train, track = built.train, built.train.description.track
    things = {plan.name: wagon_props(built, plan) for plan in train.wagons}
    curved = {plan.name: with_bogies_turned([*things[plan.name], *washes(plan)], plan, track.min_radius)
              for plan in train.wagons}
    stations, swings = coupled_on_curve(train, track.min_radius)
    spans = [(plan.base, s, plan.gear.bogie_wheelbase) for plan, s in zip(train.wagons, stations, strict=True)]
    coupled = stand_on_curve([with_drawbars_swung(curved[plan.name], plan, swing, track.min_radius) for plan, swing in
                              zip(train.wagons, swings, strict=True)], spans, track)
    yield "train.png", f"The train on its sharpest curve, radius {track.min_radius:g} mm", coupled
    stems = wagon_stems(train.origin)
    for plan in train.wagons:
        name = stems[plan.name]
        yield f"{name}.png", f"{plan.name}: ready to run", stand_on_curve(
            [curved[plan.name]], [(plan.base, 0.0, plan.gear.bogie_wheelbase)], track, (0.75, -1.0, 0.55), SMALLER)
        yield f"{name}-apart.png", f"{plan.name}: its parts", exploded(
            [*things[plan.name], *loose_props(built, plan)], lifts(plan),
            WORDS | ({"wheel": "wheel"} if plan.wheelset.printed else {}), size=SMALLER)
        if plan.layout.placed:
            yield f"{name}-inside.png", f"{plan.name}: cut open, every module in its place", cutaway(
                built, plan, things[plan.name])
    yield POSES, POSES_CAPTION, pose_sheet(built)
    plans, beside = {plan.name: plan for plan in train.wagons}, track_props(built)
    whole = {name: [*things[name], *loose_props(built, plan), *jig_props(built, plan)] for name, plan in plans.items()}
    for number, step in enumerate(steps(train), 1):
        name = step.wagons[0] if step.wagons else ""
        if step.new:
            yield f"{step_stem(number)}.png", None, step_scene(step, plans.get(name), whole.get(name, beside))
        elif step.on_track:
            yield f"{step_stem(number)}.png", None, over_marker(plans[name], things[name], beside)
        elif step.whole:
            yield f"{step_stem(number)}.png", None, replace(coupled, size=STEP_SIZE, labels=_in_a_row(train, spans))


def _in_a_row(train: TrainPlan, spans: Sequence[tuple[float, ...]]) -> tuple[tuple[str, Point], ...]:
    """Return every wagon's place in the train and name with a point on its roof, `spans` as for `stand_on_curve`."""
    roofs = [chord_pose(train.description.track.min_radius, *span) @ (0.0, 0.0, plan.body.top, 1.0)
             for plan, span in zip(train.wagons, spans, strict=True)]
    return tuple((f"{place}. {plan.name}", (float(x), float(y), float(z)))
                 for place, (plan, (x, y, z, _)) in enumerate(zip(train.wagons, roofs, strict=True), 1))


def lifts(plan: WagonPlan) -> dict[str, float]:
    """Return how far to lift each kind of thing [mm] so that the wagon reads from the rails upwards."""
    step, lower = 0.3 * plan.length, 0.0 if plan.lid else 0.8
    rise = {item.name: record_of(item.part).apart for item in plan.items}
    rise = {name: share - lower if share > ON_TOP else share for name, share in rise.items()}
    on_top = (2.75 if plan.lid else 1.9) + (2 * CLEAR if plan.inserts else 0.0)
    rise |= {**dict.fromkeys(("wheel", "axle", ROD, RING, BEARING, SHIM, TUBE), -1.5), "magnet": -0.35,
             "ballast": 0.45, "lamp": 1.0, "pane": 1.45, "light-strip": 1.55, "cup": on_top, "liquid": on_top}
    # Modules come out of the body nearly whole, and what is over them makes way.
    out = max(step * 1.15, step * rise["body"] + 0.85 * plan.body.inside[2]) if plan.layout.placed else 0.0
    above = max(out - step * 1.15, 0.0)
    lifted = {name: step * share + (above if share > 1.15 else 0.0) for name, share in rise.items()}
    hung = {one.called: 0.5 * step * record_of("sensor-holder").apart for one in plan.hung}
    return lifted | hung | dict.fromkeys((*(placed.name for placed in plan.layout.placed), *MOUNTS), out)


# ---- every part as it is printed


def pose_sheet(built: Built) -> Scene:
    """Return one picture of each kind of part once as it lies on the bed, largest at the back, labelled with its
    thinnest wall [mm]; too thin a one is marked."""
    kinds = sorted(alike(built), key=lambda kind: (-kind[0].mesh.extents[1], [str(one) for one in kind[2]]))
    spots = shelves([tuple(posed.mesh.extents[:2]) for posed, *_ in kinds])
    things, labels = [], []
    for (posed, item, subjects), (x, y) in zip(kinds, spots, strict=True):
        wall = thinnest_wall(posed)
        things.append(printed_prop(item, posed.mesh).moved(stand(Place(x, y))))
        at = wall.place[0] + x, wall.place[1] + y, wall.place[2]
        labels.append((f"{_name(item, subjects, len(built.train.wagons))}: {wall.thick:.2f}", at))
        if wall.thick < wall.least - 0.05:
            ball = icosphere(subdivisions=3, radius=MARK)
            things.append(Prop.of("mark", ball, RED, transform=stand(Place(*at))))
    return Scene(tuple(things), POSES_CAMERA, POSES_SIZE, tuple(labels), ground=0.0)


def shelves(sizes: Sequence[tuple[float, float]]) -> list[tuple[float, float]]:
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


def _name(item: Item, subjects: Sequence[PrintedId], wagons: int) -> str:
    """Return what to call a part: its own name, and its wagon's where others have another one."""
    name = item.name.replace("-", " ")
    of_all = len(subjects) == wagons > 1 or not subjects[0].wagons
    return name if of_all else f"{subjects[0].wagons[0]} {name}"


# ---- every step of putting it together


def step_scene(step: Step, plan: WagonPlan | None, things: Sequence[Prop]) -> Scene:
    """Return the scene of a step, what comes next standing off; `things` are the wagon's props where they stand in
    the finished wagon, or without a `plan` the track's.

    What comes from below is shown as it is done: with the wagon on its head.
    """
    shown = [prop for prop in things if prop.name in (*(step.there or ()), *step.new)]
    if step.front:
        shown = [prop for prop in shown if prop.placed()[:, 0].mean() > 0]
    own = {item.name: "ring" for item in plan.items if item.part == "insert"} if plan else {}
    own |= {"wheel": "wheel", "axle": "axle"} if plan and (plan.wheelset.printed or step.front) else {}
    words = {prop.name: (WORDS | own).get(prop.name, prop.name.replace("-", " ")) if prop.name in step.new else None
             for prop in shown}
    shown = [prop if prop.name in step.new else _pale(prop) for prop in shown]
    if any(step.new.values()):      # else all is in its place
        shown += [prop for one in step.screws for prop in _fastener(one)]
    offsets = {**step.new, **dict.fromkeys(("screw", "washer"), _off(step, plan))}
    if _from_below(step):
        shown = [prop.moved(ON_ITS_HEAD) for prop in shown]
        offsets = {name: -rise for name, rise in offsets.items()}
    scene = exploded(shown, offsets, words, _camera(step, shown), STEP_SIZE, step.outside)
    return replace(scene, labels=(*scene.labels, *_front(scene.props))) if plan and not step.front else scene


def _front(shown: Sequence[Prop]) -> Iterator[tuple[str, Point]]:
    """Yield the word for a wagon's front with a point there, on its frame or else its body or lid."""
    for points in [prop.placed() for prop in shown if prop.name in ("frame", "body", "lid")][:1]:
        x, y, z = points[np.argmax(points[:, 0] - 0.1 * points[:, 1])]
        yield "front", (float(x), float(y), float(z))


def _camera(step: Step, shown: Sequence[Prop]) -> Point:
    """Return where a step is seen from: the side that most comes in from, where it does from outside."""
    x, y, z = STEP_CAMERA if not step.front or not step.outside else AXLE_CAMERA
    for axis in (0, 1):
        sides = [prop.placed()[:, axis].mean() for prop in shown if step.outside.get(prop.name) == axis]
        if sides and min(sides) > 0:
            x, y = (-x, y) if axis == 0 else (x, -y)
    return x, y, z


def over_marker(plan: WagonPlan, things: Sequence[Prop], beside: Sequence[Prop]) -> Scene:
    """Return a wagon's sensor over a marker, near and from the left, where its slot shows: `things` are the wagon's
    props, `beside` the track's. What is over the frame is left out."""
    x = plan.hung[0].way.x
    trays = {item.name for item in plan.items if item.part == "sensor-holder"} | {one.called for one in plan.hung}
    words = {name: name.replace("-", " ") for name in (*sorted(trays), "marker")} | {"washer": "screw, washer"}
    laid = [prop.moved(stand(Place(x))) for prop in beside if prop.name in ("marker", "rail", "sleeper")]
    held = [prop for prop in things if prop.name in trays or prop.name == "frame"]
    shown = [prop if prop.name in words else replace(_pale(prop), in_frame=False) for prop in (*held, *laid)]
    shown += [prop for one in sensor_screws(plan) for prop in _fastener(one, 0.0)]
    return exploded(shown, {}, {prop.name: words.get(prop.name) for prop in shown}, SET_CAMERA, STEP_SIZE)


def _from_below(step: Step) -> bool:
    """Does something of it come from below, or is all in its place there?"""
    return min(step.new.values()) < 0 or not any(step.new.values())


def _off(step: Step, plan: WagonPlan | None) -> float:
    """Return how far [mm] the screws stand off: beyond what they hold, on the side they come from."""
    if plan is None:        # only the locomotive's adaptor has some
        return min((0.0, *step.new.values())) - OFF if step.screws else 0.0
    beyond = BEYOND * plan.length
    if all(one.across for one in step.screws):
        return 0.0          # beside the wagon, at the height where they hold
    if _from_below(step):
        return min(step.new.values()) - beyond
    held = step.new.get(step.screws[0].what, 0.0) if step.screws else 0.0
    return held + beyond + (plan.body.inside[2] if "body" in step.new else 0.0)


def _pale(prop: Prop) -> Prop:
    red, green, blue = (share + PALE * (0.9 - share) for share in prop.colour)
    return replace(prop, colour=(red, green, blue))


def _fastener(one: Fastener, off: float = ACROSS) -> Iterator[Prop]:
    """Yield a screw where it holds, its shank up or down, or so much of its length `off` to the left, its shank to the
    right; washer and nut on its way."""
    out = off * one.length if one.across else 0.0
    turn = np.eye(4) if one.down else FROM_LEFT if one.across else ON_ITS_HEAD
    yield screw(one.screw, one.length, one.sunk).moved(stand(Place(one.x, one.y + out, one.z)) @ turn)
    if one.washer:
        under = stand(Place(z=-WASHER[one.screw.name][1]))
        yield washer(one.screw).moved(stand(Place(one.x, one.y + 0.5 * out, one.z)) @ turn @ under)
    if one.nut:
        beyond = stand(Place(z=-one.to_nut - one.screw.nut_height, yaw=90.0 * one.across))
        yield nut(one.screw).moved(stand(Place(one.x, one.y, one.z)) @ turn @ beyond)
