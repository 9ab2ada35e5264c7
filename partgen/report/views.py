"""Views of a wagon or a train: on its track, taken apart, cut open; and where a label points at what is seen."""

from collections.abc import Iterable, Mapping, Sequence
from math import degrees

import numpy as np
from msgspec.structs import replace
from trimesh import Trimesh

from partgen.describe.cargo_tables import Module
from partgen.describe.track_tables import Track
from partgen.plan.body.layout import Placed
from partgen.plan.item import Place
from partgen.plan.wagon import WagonPlan
from partgen.printing.walls import nearest_hit
from partgen.report.props import SLEEPER, track_arc
from partgen.report.scene import Point, Prop, Scene, View, view
from partgen.report.wagon_props import LAMP_NAME, STRIP, chord_pose, printed_prop
from partgen.solids.built import Built, stand
from partgen.solids.sections import halved

SPOTS = (1 / 3, 1 / 3, 1 / 3), (0.8, 0.1, 0.1), (0.1, 0.8, 0.1), (0.1, 0.1, 0.8)   # shares of a face's corners
PROPS, BEST, SPREAD = 4, 16, 48     # of a kind that are tried; of one's points the best, and others all over it
FACING, OFF_FACE = 0.3, 0.05    # how far a face looks at the camera [1]; mm off it that a look at it ends

CUT = ("body", "lid", "cradle", "lid-clip")
ASIDE = -0.24           # of the width: the cut lies to the right of the middle, and most modules are behind it
LID_ASIDE = 0.12        # a lid without cups is cut further back, for a look in from above
CUT_CAMERA, CUT_SIZE = (-0.42, -1.0, 0.78), (1280, 720)
ALONG, ACROSS = (0.0, -0.3, 0.3, -0.45, 0.45), (0.2, 0.0, -0.2, -0.45)   # of a module, where its label may point
BATTERY, WARM, PLAIN = (0.21, 0.23, 0.27), (0.62, 0.31, 0.22), (0.22, 0.42, 0.47)

Box = tuple[np.ndarray, np.ndarray] | np.ndarray
"""Lowest and highest corner [mm]."""


# ---- on the track


def stand_on_curve(items: Sequence[Sequence[Prop]], spans: Sequence[tuple[float, ...]], track: Track,
                   camera: Point | None = None, size: tuple[int, int] = (1600, 1000)) -> Scene:
    """Wagons on the track's sharpest curve, to the left, on a table.

    items holds each wagon's props in wagon axes, spans its (wheelbase, arc length of its midpoint) [mm], and on
    bogies their own wheelbase as third, as for `chord_pose`. Seen from outside the curve and ahead, unless a camera
    is given.
    """
    radius = track.min_radius
    wagons = [p.moved(chord_pose(radius, *span)) for props, span in zip(items, spans, strict=True) for p in props]
    reach = max(np.ptp(p.placed()[:, :2], axis=0).max() for p in wagons)
    stations = [s for _, s, *_ in spans]
    middle, apart = (max(stations) + min(stations)) / 2, max(stations) - min(stations)
    # The two ends of the track never meet.
    half = min(0.95 * apart + max(1.6 * reach, 3 * track.gauge), 0.97 * np.pi * radius)
    laid = track_arc(track.gauge, radius, degrees((middle - half) / radius), degrees((middle + half) / radius),
                     track.rail_head, track.rail_height)
    c, k = np.cos(middle / radius), np.sin(middle / radius)
    seen = camera or (0.62 * c + k, 0.62 * k - c, 0.62)
    return Scene((*wagons, *laid), seen, size, ground=-track.rail_height - SLEEPER)


# ---- taken apart


def exploded(props: Sequence[Prop], offsets: Mapping[str, float], names: Mapping[str, str | None],
             camera: Point = (-0.55, -1.0, 0.38), size: tuple[int, int] = (1280, 800),
             outside: Mapping[str, int] | None = None) -> Scene:
    """One wagon's props drawn apart, each kind labelled with its name and how many there are.

    offsets by prop name how far it rises [mm]; a name without one stays where it is, one `outside` moves along x, 0,
    or y, 1, away from the middle. names gives other words for a prop's label, None for no label.
    """
    moved = [p.moved(_apart(p, offsets.get(p.name, 0.0), (outside or {}).get(p.name))) for p in props]
    lines = tuple((tuple(_centre(home)), tuple(_centre(away))) for home, away in zip(props, moved, strict=True)
                  if offsets.get(home.name) and names.get(home.name, home.name))
    scene = Scene(tuple(moved), camera, size, lines=lines)
    # Labels take room beside it, which moves the camera; where they point hardly changes by that.
    return replace(scene, labels=_labels(moved, names, view(scene)))


def _apart(prop: Prop, by: float, axis: int | None) -> np.ndarray:
    """Return what lifts a prop `by` so much [mm], or moves it outwards along an axis."""
    if axis is None:
        return stand(Place(z=by))
    out = by if _centre(prop)[axis] > 0 else -by
    return stand(Place(y=out) if axis else Place(out))


def _labels(props: Sequence[Prop], names: Mapping[str, str | None], seen: View) -> tuple[tuple[str, Point], ...]:
    """(text, point) for each kind of prop that is seen, from the top down by turns on the left and on the right."""
    kinds = {p.name: [q for q in props if q.name == p.name] for p in props if names.get(p.name, p.name)}
    height = {name: max(_centre(p) @ seen.axes[1] for p in same) for name, same in kinds.items()}
    ahead = sorted(kinds, key=lambda name: -height[name])
    spots = [_handholds(kinds[name], seen, 1 if k % 2 else -1) for k, name in enumerate(ahead)]
    shown, first = _in_sight(props, np.concatenate([*spots, np.empty((0, 3))]), seen.position), 0
    labels = []
    for name, places in zip(ahead, spots, strict=True):
        word, count = names.get(name) or name.replace("-", " "), len(kinds[name])
        seen_of, first = places[shown[first:first + len(places)]], first + len(places)
        if len(seen_of):
            labels.append((f"{count} × {word}" if count > 1 else word, _point(seen_of[0])))
    return tuple(labels)


def _handholds(props: Sequence[Prop], seen: View, side: int) -> np.ndarray:
    """Return points (n, 3) [mm] on faces that look at the camera, best first: of the props furthest out on the label's
    side, far out there, about half way up."""
    found = [np.empty((0, 3))]
    for prop in sorted(props, key=lambda p: -side * _centre(p) @ seen.axes[0])[:PROPS]:
        corners = prop.placed()[np.asarray(prop.faces)]
        normals = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
        length = np.maximum(np.linalg.norm(normals, axis=1), 1e-12)
        spots = np.concatenate([share @ corners for share in np.array(SPOTS)[:, None]])[:, 0]
        spots = spots[np.tile(normals @ seen.axes[2] / length, len(SPOTS)) > FACING]
        across, up = seen.axes[:2] @ (spots - _centre(prop)).T
        order = np.argsort(1.5 * np.abs(up) - side * across, kind="stable")
        some = np.unique(np.append(np.arange(BEST), np.linspace(0, len(order) - 1, SPREAD).astype(int)))
        found.append(spots[order[some[some < len(order)]]] if len(order) else np.empty((0, 3)))
    return np.concatenate(found)


def _in_sight(props: Sequence[Prop], points: np.ndarray, eye: np.ndarray) -> np.ndarray:
    """Say of each point (n, 3) [mm] whether nothing that one cannot see through stands between it and the eye."""
    solid = [prop for prop in props if prop.opacity == 1.0]
    starts = np.cumsum([0, *(len(prop.vertices) for prop in solid)])
    mesh = Trimesh(np.concatenate([prop.placed() for prop in solid]), np.concatenate(
        [np.asarray(prop.faces) + start for prop, start in zip(solid, starts, strict=False)]), process=False)
    ways = eye - points
    far = np.linalg.norm(ways, axis=1)
    ways = ways / far[:, None]
    return nearest_hit(mesh, points + OFF_FACE * ways, ways, far.max(initial=1.0))[0] >= far - 2 * OFF_FACE


def hidden(points: np.ndarray, eye: np.ndarray, boxes: Iterable[Box]) -> np.ndarray:
    """Say of each point (n, 3) [mm] whether one of the boxes stands between it and the eye."""
    behind = np.zeros(len(points), dtype=bool)
    for box in boxes:
        with np.errstate(divide="ignore", invalid="ignore"):
            ends = [(side - points) / (eye - points) for side in box]
        enter, leave = np.minimum(*ends).max(axis=1), np.maximum(*ends).min(axis=1)
        behind |= np.maximum(enter, 0) < np.minimum(leave, 1)
    return behind


def _box(prop: Prop) -> tuple[np.ndarray, np.ndarray]:
    points = prop.placed()
    return points.min(axis=0), points.max(axis=0)


def _centre(prop: Prop) -> np.ndarray:
    low, high = _box(prop)
    return (low + high) / 2


def _point(place: np.ndarray) -> Point:
    x, y, z = map(float, place)
    return x, y, z


# ---- cut open


def cutaway(built: Built, plan: WagonPlan, props: Sequence[Prop]) -> Scene:
    """Show a wagon with everything it carries, `props` in its axes, its near side cut away, modules named.

    Modules stay whole: batteries are dark, what gets warm is red.
    """
    aside = {part: plan.width * (ASIDE if plan.cradle or part == "body" else LID_ASIDE) for part in CUT}
    cut = [printed_prop(item, half) for item, _, mesh in built.standing(plan) if item.part in CUT
           for half in [halved(mesh, (0.0, 1.0, 0.0), aside[item.part])] if len(half.faces)]
    modules = {placed.name: placed.module for placed in plan.layout.placed}
    rest = [replace(prop, colour=_tint(modules[prop.name])) if prop.name in modules else prop for prop in props
            if prop.name not in CUT and not (prop.name in (STRIP, LAMP_NAME) and _centre(prop)[1] < aside["lid"])]
    ground = min(float(prop.placed()[:, 2].min()) for prop in rest)
    scene = Scene((*cut, *rest), CUT_CAMERA, CUT_SIZE, ground=ground)
    return replace(scene, labels=tuple(_module_label(plan, placed, view(scene).position, aside["lid"])
                                       for placed in plan.layout.placed))


def _tint(module: Module) -> tuple[float, float, float]:
    return BATTERY if module.battery else WARM if module.warm else PLAIN


def _module_label(plan: WagonPlan, placed: Placed, eye: np.ndarray, aside: float) -> tuple[str, Point]:
    """Return a module's name and a point on its upper face, one that neither another module nor the lid from `aside`
    [mm] on hides if there is one; else the name says that it stands behind."""
    top, lid = plan.floor_z + placed.z + placed.height, plan.lid
    spots = np.array([(placed.x + along * placed.length, placed.y + across * placed.width, top)
                      for across in ACROSS for along in ALONG])
    boxes = [np.array(other.box).T + (0.0, 0.0, plan.floor_z) for other in plan.layout.placed if other is not placed]
    if lid:
        boxes.append(np.array([(-lid.length / 2, aside, lid.lowest), (lid.length / 2, lid.width / 2, lid.top)]))
    seen = ~hidden(spots, eye, boxes)
    return placed.name if seen.any() else f"{placed.name}, behind", _point(spots[seen.argmax()])
