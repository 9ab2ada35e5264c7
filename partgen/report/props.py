"""Shapes of things that are not printed: wheelsets, cups, modules, magnets, screws, track. numpy only.

Each maker of a mesh returns (vertices (n, 3) [mm], faces (m, 3)) wound outward, each maker of a thing a Prop.
"""

import numpy as np

from partgen.report.scene import Prop

Mesh = tuple[np.ndarray, np.ndarray]

PALETTE = {
    "module": (0.27, 0.43, 0.53),
    "pane": (0.80, 0.88, 0.90),
    "light-strip": (1.0, 0.94, 0.74),
    "glow": (1.0, 0.73, 0.34),
    "cup": (0.92, 0.91, 0.88),
    "liquid": (0.29, 0.16, 0.08),
    "wheel": (0.40, 0.40, 0.42),
    "axle": (0.72, 0.72, 0.73),
    "magnet": (0.80, 0.80, 0.82),
    "screw": (0.70, 0.69, 0.67),
    "rail": (0.66, 0.64, 0.61),
    "sleeper": (0.52, 0.39, 0.28),
}
"""Colours of what is not printed, as sRGB shares; `parts.PARTS` has those of the parts."""

CLEAR = 0.3     # opacity of a clear sheet
SMOOTH = 96  # sides of a full turn: the chords of a 60 mm cup stay within 0.02 mm


def lathe(profile: np.ndarray, axis: str = "z", sides: int = SMOOTH) -> Mesh:
    """Turn a (k, 2) profile of (radius, height) [mm] about an axis.

    A profile that starts and ends on the axis (radius 0) gives a solid, any other is closed on itself and
    gives a ring.
    """
    profile = np.asarray(profile, float)
    solid = profile[0, 0] == 0 and profile[-1, 0] == 0
    ring = profile[1:-1] if solid else profile
    turn = 2 * np.pi * np.arange(sides) / sides
    flat = np.column_stack([np.cos(turn), np.sin(turn)])
    vertices = np.concatenate([np.column_stack([r * flat, np.full(sides, h)]) for r, h in ring])
    rows = len(ring) - 1 if solid else len(ring)
    faces = _quads(_ring_quads(np.arange(rows), len(ring), sides))
    if solid:
        first, last = len(vertices), len(vertices) + 1
        vertices = np.vstack([vertices, [[0, 0, profile[0, 1]], [0, 0, profile[-1, 1]]]])
        start = np.arange(sides)
        after = (start + 1) % sides
        end = (len(ring) - 1) * sides
        fans = [[np.full(sides, first), after, start], [np.full(sides, last), end + start, end + after]]
        faces = np.vstack([faces, *(np.column_stack(fan) for fan in fans)])
    order = {"z": (0, 1, 2), "x": (2, 0, 1), "y": (1, 2, 0)}[axis]
    return outward(vertices[:, order], faces)


def _ring_quads(rows: np.ndarray, count: int, sides: int) -> np.ndarray:
    row, side = np.meshgrid(rows, np.arange(sides), indexing="ij")
    row, side = row.ravel(), side.ravel()
    above, beside = (row + 1) % count, (side + 1) % sides
    low, high = row * sides, above * sides
    return np.column_stack([low + side, low + beside, high + beside, high + side])


def _quads(corners: np.ndarray) -> np.ndarray:
    return np.vstack([corners[:, [0, 1, 2]], corners[:, [0, 2, 3]]])


def volume(vertices: np.ndarray, faces: np.ndarray) -> float:
    """Signed volume [mm3] of a closed mesh, positive when it is wound outward."""
    a, b, c = (vertices[faces[:, k]] for k in range(3))
    return float(np.einsum("ij,ij->", a, np.cross(b, c)) / 6)


def outward(vertices: np.ndarray, faces: np.ndarray) -> Mesh:
    """The same closed mesh, wound so that its volume is positive."""
    return (vertices, faces) if volume(vertices, faces) > 0 else (vertices, faces[:, ::-1])


def merged(*meshes: Mesh) -> Mesh:
    """Several meshes as one list of vertices and faces; the bodies stay apart."""
    starts = np.cumsum([0] + [len(v) for v, _ in meshes])
    return np.vstack([v for v, _ in meshes]), np.vstack([f + s for (_, f), s in zip(meshes, starts)])


def rounded_box(size: tuple[float, float, float], radius: float, steps: int = 2) -> Mesh:
    """A box about the origin with round edges, each edge in `steps` flats a side [mm].

    A grid over the box's skin, whose outer cells are pulled onto the sphere round each inner corner.
    """
    half = np.asarray(size, float) / 2
    radius = min(radius, 0.98 * half.min())
    rim = np.linspace(0, 1, steps + 1)
    grid = [np.concatenate([-h + radius * rim, h - radius * rim[::-1]]) for h in half]
    n = 2 * (steps + 1)
    index = np.stack(np.meshgrid(*[np.arange(n)] * 3, indexing="ij"), -1).reshape(-1, 3)
    skin = index[((index == 0) | (index == n - 1)).any(axis=1)]
    number = np.full((n, n, n), -1)
    number[tuple(skin.T)] = np.arange(len(skin))
    points = np.column_stack([grid[k][skin[:, k]] for k in range(3)])
    core = np.clip(points, radius - half, half - radius)
    away = np.tan(np.pi / 4 * (points - core) / radius)  # even steps of angle along each rounded edge
    vertices = core + radius * away / np.linalg.norm(away, axis=1, keepdims=True)
    return vertices, _quads(np.vstack([_side(number, axis, end) for axis in range(3) for end in (0, n - 1)]))


def _side(number: np.ndarray, axis: int, end: int) -> np.ndarray:
    sheet = np.take(number, end, axis=axis)
    corners = np.stack([sheet[:-1, :-1], sheet[1:, :-1], sheet[1:, 1:], sheet[:-1, 1:]], -1).reshape(-1, 4)
    # np.take drops the axis: the two that stay run right-handed about axes 0 and 2, left-handed about axis 1
    return corners if (end > 0) == (axis != 1) else corners[:, ::-1]


def fillet(centre: tuple[float, float], radius: float, start: float, end: float, steps: int = 6):
    """Points of an arc in a profile, angles [deg] from the radius axis towards the height axis."""
    turn = np.radians(np.linspace(start, end, steps + 1))
    return np.column_stack([centre[0] + radius * np.cos(turn), centre[1] + radius * np.sin(turn)])


def wheelset(tread_diameter: float, flange_diameter: float, flange_thickness: float, back_to_back: float,
             width: float, axle_diameter: float, axle_length: float) -> tuple[Prop, Prop, Prop]:
    """Two wheels and their axle along y about the origin, all [mm]; width is a wheel's, flange included."""
    radii = tread_diameter / 2, flange_diameter / 2
    profile = _wheel_profile(*radii, flange_thickness, width, axle_diameter / 2)
    profile[:, 1] += back_to_back / 2
    left = lathe(profile, "y")
    right = outward(left[0] * (1, -1, 1), left[1])
    r, h, c = axle_diameter / 2, axle_length / 2, 0.2 * axle_diameter
    axle = lathe([(0, -h), (r - c, -h), (r, c - h), (r, h - c), (r - c, h), (0, h)], "y", 48)
    return (
        Prop("wheel", *left, PALETTE["wheel"], finish="metal"),
        Prop("wheel", *right, PALETTE["wheel"], finish="metal"),
        Prop("axle", *axle, PALETTE["axle"], finish="metal"),
    )


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


def cup(profile: list[tuple[float, float]], inner_radius: float, fill: float, wall: float = 2.0,
        handle: bool = True) -> tuple[Prop, Prop]:
    """A cup standing on z = 0 about the z axis, and the surface of the drink in it.

    Arguments [mm]: profile as (height, outer diameter) from the foot up, inner_radius at the drink's
    surface, fill as the depth of the drink over the inner floor, wall as the least wall and the floor.
    """
    heights, radii = np.asarray(profile, float).T * [[1.0], [0.5]]
    z = np.linspace(heights[0], heights[-1], 25)
    outer = np.interp(z, heights, radii)
    level = wall + fill
    thick = max(np.interp(level, heights, radii) - inner_radius, wall)
    inside = np.maximum(outer - thick, 0.3 * outer)
    foot, lip = 0.5 * wall, thick / 2
    inner = z > heights[0] + wall
    profile = np.vstack([
        [(0, heights[0])], fillet((outer[0] - foot, heights[0] + foot), foot, -90, -15),
        np.column_stack([outer, z])[(z > heights[0] + foot) & (z < heights[-1] - lip)],
        fillet((outer[-1] - lip, heights[-1] - lip), lip, 0, 180, 10),
        np.column_stack([inside, z])[inner & (z < heights[-1] - lip)][::-1],
        [(np.interp(heights[0] + wall, z, inside) - wall, heights[0] + wall), (0, heights[0] + wall)],
    ])
    body = lathe(profile)
    if handle:
        body = merged(body, _handle(heights, radii, thick))
    rim = np.interp(level, z, inside) + 0.1 * wall  # just into the wall, so that no gap shows
    drink = lathe([(0, level - 1), (rim - 0.2, level - 1), (rim, level), (0, level)])
    return (Prop("cup", *body, PALETTE["cup"], finish="ceramic"),
            Prop("liquid", *drink, PALETTE["liquid"], finish="liquid"))


def _handle(heights: np.ndarray, radii: np.ndarray, thick: float) -> Mesh:
    """A bent tube whose two ends stop inside the wall, towards +y."""
    tall = heights[-1] - heights[0]
    low, high = heights[0] + 0.28 * tall, heights[0] + 0.78 * tall
    tube = min(0.07 * tall, 4.0)
    turn = np.linspace(-np.pi / 2, np.pi / 2, 25)
    foot = np.interp([low, high], heights, radii) - 0.45 * thick
    along = (np.sin(turn) + 1) / 2
    reach = 0.3 * tall * np.cos(turn)
    path = np.column_stack([foot[0] + along * (foot[1] - foot[0]) + reach, low + along * (high - low)])
    way = np.gradient(path, axis=0)
    way /= np.linalg.norm(way, axis=1, keepdims=True)
    round_ = 2 * np.pi * np.arange(20) / 20
    side, out = tube * 1.25 * np.cos(round_), tube * 0.8 * np.sin(round_)
    rings = [np.column_stack([side, p[0] + out * w[1], p[1] - out * w[0]]) for p, w in zip(path, way)]
    return tube_mesh(np.array(rings))


def tube_mesh(rings: np.ndarray) -> Mesh:
    """Skin through (k, sides, 3) rings, closed at both ends by a fan round the middle of the ring's box."""
    count, sides = rings.shape[:2]
    faces = _quads(_ring_quads(np.arange(count - 1), count, sides))
    middle = (rings.min(axis=1) + rings.max(axis=1)) / 2
    vertices = np.vstack([rings.reshape(-1, 3), middle[[0, -1]]])
    start = np.arange(sides)
    after, end = (start + 1) % sides, (count - 1) * sides
    first, last = np.full(sides, count * sides), np.full(sides, count * sides + 1)
    return outward(vertices, np.vstack([faces, np.column_stack([first, after, start]),
                                        np.column_stack([last, end + start, end + after])]))


def module(size: tuple[float, float, float], name: str = "module") -> Prop:
    """A piece of electronics as a box of the given size [mm], standing on z = 0 about the z axis."""
    vertices, faces = rounded_box(size, min(0.8, 0.1 * min(size)), 1)
    return Prop(name, vertices + (0, 0, size[2] / 2), faces, PALETTE["module"], finish="board")


def pane(length: float, width: float, thickness: float) -> Prop:
    """A clear sheet [mm], lying on z = 0 about the z axis."""
    vertices, faces = rounded_box((length, width, thickness), 0.1, 1)
    return Prop("pane", vertices + (0, 0, thickness / 2), faces, PALETTE["pane"], finish="ceramic", opacity=CLEAR)


def magnet(diameter: float, thickness: float, axis: str = "x") -> Prop:
    """A disc magnet about the origin with its axis along x, y or z [mm]."""
    r, h = diameter / 2, thickness / 2
    c = min(0.25, 0.2 * thickness)
    mesh = lathe([(0, -h), (r - c, -h), (r, c - h), (r, h - c), (r - c, h), (0, h)], axis, 64)
    return Prop("magnet", *mesh, PALETTE["magnet"], finish="metal")


def screw(diameter: float, length: float) -> Prop:
    """A pan-head screw [mm], its head's seat on z = 0 and the shank down; head 2 d wide and 0.7 d tall."""
    r, head, tall = diameter / 2, diameter, 0.7 * diameter
    round_ = 0.45 * tall
    profile = np.vstack([
        [(0, -length), (0.7 * r, -length), (r, 0.4 * r - length), (r, 0), (head, 0)],
        fillet((head - round_, tall - round_), round_, 0, 90),
        [(0.55 * r, tall), (0.45 * r, 0.45 * tall), (0, 0.45 * tall)],
    ])
    return Prop("screw", *lathe(profile, "z", 48), PALETTE["screw"], finish="metal")


def track_arc(gauge: float, radius: float, start_angle: float, end_angle: float, rail_head: float,
              rail_height: float, sleeper_thickness: float = 3.5) -> tuple[Prop, ...]:
    """Two rails and their sleepers on an arc to the left.

    The centre line leaves the origin along +x and turns about (0, +radius); start_angle and end_angle [deg]
    count from the origin, z = 0 is the rail top, gauge [mm] is between the rails' inner faces, rail_head
    [mm] the width of a rail, rail_height [mm] from the sleepers to the rail top.
    """
    a, b = np.radians([start_angle, end_angle])
    count = max(2, int(np.ceil((b - a) / np.radians(1.5))) + 1)
    return _track(lambda offset, s: _on_arc(radius, offset, s / radius), gauge, (a * radius, b * radius),
                  count, rail_head, rail_height, sleeper_thickness)


def track_straight(gauge: float, start: float, end: float, rail_head: float, rail_height: float,
                   sleeper_thickness: float = 3.5) -> tuple[Prop, ...]:
    """Two rails and their sleepers along the x axis from start to end, as `track_arc` [mm]."""
    def frame(offset, s):
        return np.stack([np.broadcast_to(s, np.shape(offset)), np.asarray(offset, float)], -1), 0.0
    return _track(frame, gauge, (start, end), 2, rail_head, rail_height, sleeper_thickness)


def _on_arc(radius: float, offset, angle: float):
    """Point at an offset to the left of the centre line, and the line's heading [rad]."""
    r = radius - np.asarray(offset, float)
    return np.stack([r * np.sin(angle), radius - r * np.cos(angle)], -1), angle


def _track(frame, gauge, span, count, head, height, thick) -> tuple[Prop, ...]:
    section = _rail_section(head, height)
    rails = []
    for side in (1, -1):
        offset = side * (gauge + head) / 2 + section[:, 0]
        rings = [np.column_stack([frame(offset, s)[0], section[:, 1]]) for s in np.linspace(*span, count)]
        mesh = tube_mesh(np.array(rings))
        rails.append(Prop("rail", *mesh, PALETTE["rail"], finish="metal", in_frame=False))
    pitch = 0.62 * gauge
    laid = max(1, int((span[1] - span[0]) / pitch))
    places = (span[0] + span[1]) / 2 + pitch * (np.arange(laid) - (laid - 1) / 2)
    box = rounded_box((0.24 * gauge, 1.62 * gauge, thick), 0.25 * thick)
    sleepers = merged(*(_laid(box, frame, s, -height - thick / 2) for s in places))
    return (*rails, Prop("sleeper", *sleepers, PALETTE["sleeper"], finish="wood", in_frame=False))


def _laid(box: Mesh, frame, s: float, z: float) -> Mesh:
    (x, y), heading = frame(0.0, s)
    c, k = np.cos(heading), np.sin(heading)
    return box[0] @ np.array([[c, -k, 0], [k, c, 0], [0, 0, 1]]).T + (x, y, z), box[1]


def _rail_section(head: float, height: float) -> np.ndarray:
    """Closed outline (across, z) of a rail: round-topped head, thinner web, a foot as wide as the head.

    Star-shaped about its middle only in the web, so the web is kept wide enough for the end fans to close.
    """
    half, web, round_ = head / 2, 0.32 * head, min(0.3 * head, 0.2 * height)
    top = fillet((half - round_, -round_), round_, 0, 90, 4)
    foot = [(half, -height), (half, -0.86 * height), (web, -0.72 * height)]
    right = np.vstack([foot, [(web, -0.5 * height), (half, -0.36 * height)], top])
    return np.vstack([right, right[::-1] * (-1, 1)])
