"""Things that are not printed, to look at: wheelsets, cups, modules, magnets, screws, light strips, track.

Each maker of a mesh returns it wound outward [mm], each maker of a thing a Prop.
"""

from collections.abc import Sequence
from functools import reduce
from itertools import product
from operator import add
from typing import Any

import numpy as np
from numpy.typing import ArrayLike
from trimesh import Trimesh
from trimesh.convex import convex_hull
from trimesh.creation import revolve

from partgen.parts.bought import COLOURS
from partgen.plan.deck.handles import LOWEST
from partgen.plan.hardware import Screw
from partgen.plan.item import Place
from partgen.plan.pivot import WASHER
from partgen.report.scene import Colour, Finish, Prop
from partgen.solids.built import stand

PALETTE: dict[str, tuple[Colour, Finish]] = {
    "module": ((0.27, 0.43, 0.53), "board"),
    "pane": ((0.80, 0.88, 0.90), "ceramic"),
    "light-strip": ((1.0, 0.94, 0.74), "glow"),
    "lamp": ((1.0, 0.94, 0.74), "glow"),
    "fuse": ((0.13, 0.13, 0.14), "board"),
    "glow": ((1.0, 0.73, 0.34), "glow"),
    "cup": ((0.92, 0.91, 0.88), "ceramic"),
    "liquid": ((0.29, 0.16, 0.08), "liquid"),
    "rubber-ring": (COLOURS["rubber-ring"], "board"),
    **{look: (COLOURS[look], "metal") for look in ("wheel", "bearing", "axle", "magnet", "screw", "nut", "washer")},
    "ballast": ((0.55, 0.56, 0.58), "metal"),
    "strap": ((0.20, 0.21, 0.24), "board"),
    "tape": ((0.93, 0.93, 0.90), "board"),
    "felt": ((0.35, 0.52, 0.36), "board"),
    "locomotive": ((0.42, 0.20, 0.17), "board"),
    "rail": ((0.66, 0.64, 0.61), "metal"),
    "sleeper": ((0.52, 0.39, 0.28), "wood"),
}
"""Colours of what is not printed, as sRGB shares, and finishes; `parts.PARTS` has the colours of the parts."""

CLEAR = 0.3             # opacity of a clear sheet
SMOOTH = 96             # sides of a full turn: the chords of a 60 mm cup stay within 0.02 mm
SLEEPER = 3.5           # thickness of sleepers [mm]
STEP = 1.5              # from one flat of a rail on an arc to the next [deg]


def thing(look: str, mesh: Trimesh, **more: Any) -> Prop:
    """A mesh [mm] that looks as PALETTE has it, and is called so unless `more` has another name."""
    colour, finish = PALETTE[look]
    return Prop.of(mesh=mesh, colour=colour, finish=finish, **({"name": look} | more))


# ---- meshes


def lathe(profile: ArrayLike, axis: str = "z", sides: int = SMOOTH, angle: float | None = None) -> Trimesh:
    """Turn a (k, 2) profile of (radius, height) [mm] about an axis, whole or by `angle` [rad], the ends then closed.

    A profile that starts and ends on the axis (radius 0) gives a solid, any other is closed on itself and
    gives a ring.
    """
    profile = np.asarray(profile, float)
    if profile[[0, -1], 0].any():
        profile = np.vstack([profile, profile[:1]])
    turned = revolve(profile, angle, cap=angle is not None, sections=sides)
    turned.vertices = turned.vertices[:, {"z": (0, 1, 2), "x": (2, 0, 1), "y": (1, 2, 0)}[axis]]
    if turned.volume < 0:
        turned.invert()
    return turned


def rounded_box(size: Sequence[float], radius: float, steps: int = 2, middle: ArrayLike = (0.0, 0.0, 0.0)) -> Trimesh:
    """A box about its middle with round edges, each edge in `steps` flats a side [mm]: the hull of balls in its
    corners."""
    half = np.asarray(size, float) / 2
    radius = min(radius, 0.98 * half.min())
    turn = np.linspace(0, np.pi / 2, 2 * steps + 1)
    ball = np.array([(np.cos(t) * np.cos(p), np.sin(t) * np.cos(p), np.sin(p)) for t in turn for p in turn])
    hull = convex_hull(np.vstack([sign * (half - radius + radius * ball) for sign in product((1, -1), repeat=3)]))
    return hull.apply_translation(middle)


def fillet(centre: tuple[float, float], radius: float, start: float, end: float, steps: int = 6) -> np.ndarray:
    """Points of an arc in a profile, angles [deg] from the radius axis towards the height axis."""
    turn = np.radians(np.linspace(start, end, steps + 1))
    return np.column_stack([centre[0] + radius * np.cos(turn), centre[1] + radius * np.sin(turn)])


def _rod(diameter: float, length: float, chamfer: float, axis: str, sides: int) -> Trimesh:
    """A round bar about the origin with chamfered ends [mm]."""
    r, h, c = diameter / 2, length / 2, chamfer
    return lathe([(0, -h), (r - c, -h), (r, c - h), (r, h - c), (r - c, h), (0, h)], axis, sides)


# ---- running gear and hardware


def wheelset(tread_diameter: float, flange_diameter: float, flange_thickness: float, back_to_back: float,
             width: float, axle_diameter: float, axle_length: float,
             pointed: bool = False) -> tuple[Prop, Prop, Prop]:
    """Two wheels and their axle along y about the origin, all [mm]; width is a wheel's, flange included."""
    radii = tread_diameter / 2, flange_diameter / 2
    profile = _wheel_profile(*radii, flange_thickness, width, axle_diameter / 2)
    profile[:, 1] += back_to_back / 2
    left = lathe(profile, "y")
    right = left.copy().apply_transform(np.diag([1, -1, 1, 1]))
    return thing("wheel", left), thing("wheel", right), axle(axle_diameter, axle_length, pointed)


def axle(diameter: float, length: float, pointed: bool = False, name: str = "axle") -> Prop:
    """A round bar along y about the origin [mm], its ends bevelled or pointed by 60 degrees."""
    if not pointed:
        return thing("axle", _rod(diameter, length, 0.2 * diameter, "y", 48), name=name)
    r, h, point = diameter / 2, length / 2, diameter / 2 * 3**0.5
    return thing("axle", lathe([(0, -h), (r, point - h), (r, h - point), (0, h)], "y", 48), name=name)


def bearing(inside: float, outside: float, width: float) -> Prop:
    """A shielded ball bearing about the y axis, its middle at the origin [mm]."""
    r, ring, deep = inside / 2, (outside - inside) / 8, 0.1 * width
    low, high = -width / 2, width / 2
    profile = [(r, low), (r + ring, low), (r + ring, low + deep), (outside / 2 - ring, low + deep),
               (outside / 2 - ring, low), (outside / 2, low), (outside / 2, high), (outside / 2 - ring, high),
               (outside / 2 - ring, high - deep), (r + ring, high - deep), (r + ring, high), (r, high)]
    return thing("bearing", lathe(profile, "y"))


def ring(name: str, look: str, inside: float, outside: float, width: float) -> Prop:
    """A plain ring or tube about the y axis, its middle at the origin [mm]."""
    return thing(look, lathe([(inside / 2, -width / 2), (outside / 2, -width / 2), (outside / 2, width / 2),
                              (inside / 2, width / 2)], "y"), name=name)


def rubber_ring(inside: float, cord: float) -> Prop:
    """A ring of a round cord about the y axis, its middle at the origin [mm]."""
    return thing("rubber-ring", lathe(fillet((inside / 2 + cord / 2, 0.0), cord / 2, 0, 360, 24)[:-1], "y"))


def _wheel_profile(tread: float, flange: float, thick: float, width: float, axle: float) -> np.ndarray:
    """Ring profile (radius, distance from the back) of a wheel with a round flange and a dished front."""
    tip = min(0.45 * thick, 0.6 * (flange - tread))
    root = min(0.5 * (flange - tread), 0.25 * (width - thick))
    hub = min(axle + 0.3 * (tread - axle), axle + 3)
    rim = max(tread - 0.16 * tread, hub + 0.2)
    dish = 0.28 * (width - thick)
    bore = 0.9 * axle  # inside the axle, so that the two bodies overlap instead of sharing a skin
    return np.vstack([
        [(bore, 0)],
        fillet((flange - tip, tip), tip, -90, 0),
        fillet((flange - tip, max(thick - tip, tip)), tip, 0, 70),
        fillet((tread + root, thick + root), root, -110, -180),
        fillet((tread - 0.3, width - 0.3), 0.3, 0, 90, 3),
        [(rim, width), (rim - 0.4, width - dish), (hub + 0.4, width - dish)],
        [(hub, width + 0.3), (bore, width + 0.3)],
    ])


def magnet(diameter: float, thickness: float) -> Prop:
    """A disc magnet about the origin with its axis along x [mm]."""
    return thing("magnet", _rod(diameter, thickness, min(0.25, 0.2 * thickness), "x", 64))


def screw(size: Screw, length: float, sunk: bool = False) -> Prop:
    """A socket head screw [mm], its head's seat on z = 0 and the shank down; one that is sunk lies flush with it."""
    r = size.thread / 2
    shank = [(0.0, -length), (0.7 * r, -length), (r, 0.4 * r - length)]
    if sunk:
        rim, top = size.sunk_head
        head: ArrayLike = [(r, top + r - rim), (rim, top)]
    else:
        rim, top = size.head / 2, size.head_height
        head = np.vstack([[(r, 0.0), (rim, 0.0)], fillet((0.85 * rim, top - 0.15 * rim), 0.15 * rim, 0, 90)])
    hex_, deep = 0.45 * rim, top - 0.5 * size.thread
    return thing("screw", lathe(np.vstack([shank, head, [(hex_, top), (0.9 * hex_, deep), (0.0, deep)]]), "z", 48))


def nut(size: Screw) -> Prop:
    """A hexagon nut [mm] standing on z = 0 about the z axis, two flats facing along y."""
    ring = lathe([(size.thread / 2, 0), (size.nut / 3**0.5, 0), (size.nut / 3**0.5, size.nut_height),
                  (size.thread / 2, size.nut_height)], "z", 6)
    return thing("nut", ring)


def washer(size: Screw) -> Prop:
    """A large washer [mm] lying on z = 0 about the z axis."""
    outer, thick = WASHER[size.name]
    return thing("washer", lathe([(size.clearance / 2, 0), (outer / 2, 0), (outer / 2, thick),
                                  (size.clearance / 2, thick)], "z", 64))


# ---- loads


def cup(profile: Sequence[tuple[float, float]], inside: Sequence[tuple[float, float]], fill: float,
        handle: float = 25.0) -> tuple[Prop, Prop]:
    """A cup standing on z = 0 about the z axis, and the surface of the drink in it.

    Arguments [mm]: profile as (height, outer diameter) from the foot up, inside as (height, inner diameter) from its
    bottom up to the rim, fill as the depth of the drink over that bottom,
    handle as how far one stands out towards +y beyond the widest place, 0 where there is none.
    """
    (heights, radii), (hollow, bore) = (np.asarray(pairs, float).T * [[1.0], [0.5]] for pairs in (profile, inside))
    thick, level = radii[-1] - bore[-1], hollow[0] + fill
    foot, lip = min(0.5 * thick, 0.25 * heights[1]), thick / 2
    z = np.union1d(np.linspace(0, heights[-1], 25), np.append(heights, hollow))
    outer, inner = (z > foot) & (z < heights[-1] - lip), (z > hollow[0]) & (z < heights[-1] - lip)
    section = np.vstack([
        [(0, 0)], fillet((radii[0] - foot, foot), foot, -90, -15),
        np.column_stack([np.interp(z, heights, radii), z])[outer],
        fillet((radii[-1] - lip, heights[-1] - lip), lip, 0, 180, 10),
        np.column_stack([np.interp(z, hollow, bore), z])[inner][::-1], [(bore[0], hollow[0]), (0, hollow[0])],
    ])
    body = lathe(section)
    if handle:
        body += _handle(heights, radii, thick, radii.max() + handle)
    rim = np.interp(level, hollow, bore) + 0.1 * thick  # just into the wall, so that no gap shows
    drink = lathe([(0, level - 1), (rim - 0.2, level - 1), (rim, level), (0, level)])
    return thing("cup", body), thing("liquid", drink)


def _handle(heights: np.ndarray, radii: np.ndarray, thick: float, reach: float) -> Trimesh:
    """Half a torus, leaning with the wall and stretched to reach +y; its two ends stop inside the wall."""
    tall = heights[-1] - heights[0]
    low, high = heights[0] + LOWEST * tall, heights[0] + 0.78 * tall
    foot, head = np.interp([low, high], heights, radii) - 0.45 * thick
    half, tube = (high - low) / 2, min(0.08 * tall, 4.5)
    ring = lathe(fillet((half, 0.0), tube, 0, 345, 23), "x", 24, np.pi)
    across, up, out = ring.vertices.T
    wall = (foot + head) / 2 + up / (2 * half) * (head - foot)
    stretched = ((reach - wall)[out > 0] / out[out > 0]).min()
    level = up + (low + high) / 2
    # Its ends follow the wall just under its skin: a flat end's edge would show through a thin wall.
    skin = np.sqrt(np.maximum((np.interp(level, heights, radii) - 0.1 * thick)**2 - across**2, 0.0))
    ring.vertices = np.column_stack([across, np.where(out > 1e-9, wall + stretched * out, skin), level])
    ring.invert()           # y and z have changed places
    return ring


def module(size: tuple[float, float, float], name: str = "module") -> Prop:
    """A piece of electronics as a box of the given size [mm], standing on z = 0 about the z axis."""
    return thing("module", rounded_box(size, min(0.8, 0.1 * min(size)), 1, (0, 0, size[2] / 2)), name=name)


def pane(length: float, width: float, thickness: float) -> Prop:
    """A clear sheet [mm], lying on z = 0 about the z axis."""
    return thing("pane", rounded_box((length, width, thickness), 0.1, 1, (0, 0, thickness / 2)), opacity=CLEAR)


def strap(across: float, wide: float, high: float, thick: float) -> Prop:
    """A closed strap [mm] round a space `across` along x and `high`, standing on z = 0, its middle on the z axis."""
    level, upright = (across + 2 * thick, wide, thick), (thick, wide, high + 2 * thick)
    side, middle = (across + thick) / 2, high / 2 + thick
    return thing("strap", reduce(add, (
        rounded_box(level, 0.3, 1, (0, 0, thick / 2)), rounded_box(level, 0.3, 1, (0, 0, high + 1.5 * thick)),
        rounded_box(upright, 0.3, 1, (side, 0, middle)), rounded_box(upright, 0.3, 1, (-side, 0, middle)))))


def light_bar(size: tuple[float, float, float], middle: tuple[float, float, float]) -> Prop:
    """A bought light strip, lit, about its middle [mm]."""
    return thing("light-strip", rounded_box(size, 0.2, 1, middle))


def lamp(diameter: float, length: float) -> Prop:
    """A lamp [mm] that shines along y, its round tip a quarter of it beyond the origin."""
    r, tip = diameter / 2, length / 4
    body = np.vstack([[(0.0, tip - length), (r, tip - length)], fillet((0.0, tip - r), r, 0, 90)])
    return thing("lamp", lathe(body, "y", 32))


def fuse(length: float, diameter: float) -> Prop:
    """A fuse in its holder, lying along x on z = 0 [mm]."""
    bar = _rod(diameter, length, 0.2 * diameter, "x", 32).apply_translation((0.0, 0.0, diameter / 2))
    return thing("fuse", bar)


# ---- track


def track_arc(gauge: float, radius: float, start_angle: float, end_angle: float, rail_head: float,
              rail_height: float) -> tuple[Prop, ...]:
    """Two rails and their sleepers on an arc to the left.

    The centre line leaves the origin along +x and turns about (0, +radius); start_angle and end_angle [deg]
    count from the origin, z = 0 is the rail top, gauge [mm] is between the rails' inner faces, rail_head
    [mm] the width of a rail, rail_height [mm] from the sleepers to the rail top.
    """
    angle = np.radians(end_angle - start_angle)
    sides = max(2, int(np.ceil((end_angle - start_angle) / STEP)) + 1)
    section = _rail_section(rail_head, rail_height)
    rails = (lathe(section + (radius - side * (gauge + rail_head) / 2, 0), "z", sides, angle) for side in (1, -1))
    count = max(1, int(radius * angle / (0.62 * gauge)))
    apart = np.degrees(0.62 * gauge / radius)
    turns = (start_angle + end_angle) / 2 + apart * (np.arange(count) - (count - 1) / 2)
    sleeper = rounded_box((0.24 * gauge, 1.62 * gauge, SLEEPER), 0.25 * SLEEPER,
                          middle=(0, -radius, -rail_height - SLEEPER / 2))
    sleepers = reduce(add, (sleeper.copy().apply_transform(stand(Place(0.0, radius, yaw=turn))) for turn in turns))
    # A lathe starts on the x axis: a quarter turn before the origin, seen from the centre.
    ahead = stand(Place(0.0, radius, yaw=start_angle - 90))
    return (*(thing("rail", rail.apply_transform(ahead), in_frame=False) for rail in rails),
            thing("sleeper", sleepers, in_frame=False))


def _rail_section(head: float, height: float) -> np.ndarray:
    """Closed outline (across, z) of a rail: round-topped head, thinner web, a foot as wide as the head."""
    half, web, round_ = head / 2, 0.32 * head, min(0.3 * head, 0.2 * height)
    top = fillet((half - round_, -round_), round_, 0, 90, 4)
    foot = [(half, -height), (half, -0.86 * height), (web, -0.72 * height)]
    right = np.vstack([foot, [(web, -0.5 * height), (half, -0.36 * height)], top])
    return np.vstack([right, right[::-1] * (-1, 1)])
