"""What a picture shows, as plain arrays: things, a camera, labels; and where each lands on the picture.

Nothing here draws. A scene travels to the child process that does (`render.py`) as one .npz file.
"""

import json
from pathlib import Path

import numpy as np
from msgspec import Struct, field
from msgspec.structs import asdict, replace

FINISHES = ("plastic", "metal", "ceramic", "liquid", "wood", "board", "glow")
LABEL_HEIGHT = 26  # letters of a 1000-pixel-high picture that still read when it is shown at half size
LETTER_WIDTH = 0.62  # of the letter height; above the drawn font's mean, so that a text stays in its margin
FILL = 0.9  # of the frame's half width and height that the subject may reach


class Prop(Struct, frozen=True, eq=False):
    """One closed body of one colour.

    vertices [mm] is (n, 3) float, faces (m, 3) int wound outward, colour sRGB 0..1, transform 4 x 4 from
    the body's own frame to the scene. A prop with `in_frame` false is drawn, but the camera does not step
    back to fit it.
    """

    name: str
    vertices: np.ndarray
    faces: np.ndarray
    colour: tuple[float, float, float]
    transform: np.ndarray = field(default_factory=lambda: np.eye(4))
    finish: str = "plastic"
    opacity: float = 1.0
    in_frame: bool = True

    def __post_init__(self):
        if self.finish not in FINISHES:
            raise ValueError(f"finish {self.finish!r} of {self.name} is none of {', '.join(FINISHES)}")

    def placed(self) -> np.ndarray:
        """Vertices in scene axes, (n, 3) [mm]."""
        turn, shift = self.transform[:3, :3], self.transform[:3, 3]
        return np.asarray(self.vertices, float) @ turn.T + shift

    def moved(self, transform: np.ndarray) -> "Prop":
        """The same body with a 4 x 4 transform put after the one it has."""
        return replace(self, transform=np.asarray(transform, float) @ self.transform)


class Camera(Struct, frozen=True):
    """Where a picture is taken from.

    direction points from the subject to the camera, up is what stands upright in the picture, zoom above 1
    steps nearer than the whole subject needs, angle is the vertical field of view [deg].
    """

    direction: tuple[float, float, float] = (-0.62, -1.0, 0.52)
    up: tuple[float, float, float] = (0.0, 0.0, 1.0)
    zoom: float = 1.0
    angle: float = 20.0


class Scene(Struct, frozen=True, eq=False):
    """Everything in one picture: labels are (text, xyz [mm]), lines (xyz, xyz) [mm] thin guide lines.

    size is (width, height) [px]; ground is the height [mm] of the table top that catches the shadows, or
    None for a picture without one.
    """

    props: tuple[Prop, ...]
    camera: Camera = Camera()
    size: tuple[int, int] = (1600, 1000)
    labels: tuple[tuple[str, tuple[float, float, float]], ...] = ()
    lines: tuple[tuple[tuple[float, float, float], tuple[float, float, float]], ...] = ()
    ground: float | None = None

    def __post_init__(self):
        if not self.props:
            raise ValueError("a scene needs at least one prop")


class View(Struct, frozen=True, eq=False):
    """A camera in its place: position [mm], rows of axes right, up and back, slope = tan(angle / 2)."""

    position: np.ndarray
    axes: np.ndarray
    slope: float
    size: tuple[int, int]

    def project(self, points: np.ndarray) -> np.ndarray:
        """Picture coordinates (n, 2) [px], x right and y down from the top left corner, of (n, 3) [mm]."""
        x, y, back = ((np.atleast_2d(points) - self.position) @ self.axes.T).T
        width, height = self.size
        scale = height / 2 / self.slope / -back
        return np.column_stack([width / 2 + x * scale, height / 2 - y * scale])


def view(scene: Scene) -> View:
    """The view that just holds every prop marked in_frame, centred, with room at the sides for the labels.

    In camera axes a point (x, y, b) shows inside a half width of slope t when |x - cx| <= t (cb - b); the
    nearest camera (cx, cb) that satisfies this for all points follows from two maxima.
    """
    axes = _axes(scene.camera)
    framed = [p for p in scene.props if p.in_frame] or list(scene.props)
    points = np.vstack([p.placed() for p in framed]) @ axes.T
    width, height = scene.size
    slope = np.tan(np.radians(scene.camera.angle) / 2)
    beside = 1 - 2 * label_margin(scene) / width
    usable = FILL * np.array([slope * width / height * beside, slope])
    reach = points[:, :2] + usable * points[:, 2:]
    mirror = -points[:, :2] + usable * points[:, 2:]
    high, low = reach.max(axis=0), mirror.max(axis=0)
    place = np.append((high - low) / 2, np.max((high + low) / 2 / usable))
    middle = (points[:, 2].max() + points[:, 2].min()) / 2
    place[2] = middle + (place[2] - middle) / scene.camera.zoom
    return View(place @ axes, axes, slope, scene.size)


def _axes(camera: Camera) -> np.ndarray:
    back = np.asarray(camera.direction, float)
    back = back / np.linalg.norm(back)
    right = np.cross(camera.up, back)
    right = right / np.linalg.norm(right)
    return np.array([right, np.cross(back, right), back])


def label_margin(scene: Scene) -> float:
    """Width [px] kept free at each side of the picture for the labels; 0 without labels."""
    if not scene.labels:
        return 0.0
    return 40 + max(_text_width(text, scene) for text, _ in scene.labels)


def letter_height(scene: Scene) -> float:
    """Nominal letter height [px] of the labels."""
    return LABEL_HEIGHT * scene.size[1] / 1000


def _text_width(text: str, scene: Scene) -> float:
    return len(text) * LETTER_WIDTH * letter_height(scene)


def place_labels(scene: Scene) -> list[tuple[str, np.ndarray, np.ndarray, bool]]:
    """Each label's text, anchor [px], near end of its text line [px] and whether it stands on the right.

    Labels stand in one column at each side, in the order of their anchors so that no two leader lines of a
    column cross, and are pushed apart to at least 1.7 letter heights.
    """
    if not scene.labels:
        return []
    anchors = view(scene).project(np.array([xyz for _, xyz in scene.labels]))
    width, height = scene.size
    order = np.argsort(anchors[:, 0], kind="stable")
    half = (len(order) + 1) // 2
    placed = []
    for column, on_right in ((order[:half], False), (order[half:], True)):
        column = column[np.argsort(anchors[column, 1], kind="stable")]
        heights = _spread(anchors[column, 1], 1.7 * letter_height(scene), height)
        x = width - label_margin(scene) if on_right else label_margin(scene)
        placed += [
            (scene.labels[k][0], anchors[k], np.array([x, y]), on_right) for k, y in zip(column, heights)
        ]
    return placed


def _spread(wished: np.ndarray, gap: float, height: float) -> np.ndarray:
    """Sorted positions at least `gap` apart, inside the picture, near the wished ones."""
    if not len(wished):
        return wished
    steps = gap * np.arange(len(wished))
    pushed = np.maximum.accumulate(wished - steps) + steps
    pulled = steps - np.maximum.accumulate((steps - wished)[::-1])[::-1]
    middle = (pushed + pulled) / 2
    top, bottom = gap, height - gap
    middle = np.minimum(middle, bottom - steps[::-1])
    return np.maximum(middle, top + steps)


def save(scene: Scene, path: Path | str) -> None:
    """Write the scene to one .npz file: arrays as arrays, the rest as JSON text; loading it runs no code."""
    arrays = {}
    for k, prop in enumerate(scene.props):
        arrays[f"vertices{k}"] = np.asarray(prop.vertices, np.float64)
        arrays[f"faces{k}"] = np.asarray(prop.faces, np.int32)
        arrays[f"transform{k}"] = np.asarray(prop.transform, np.float64)
    plain = {
        "props": [
            _plain((p.name, tuple(p.colour), p.finish, p.opacity, p.in_frame)) for p in scene.props
        ],
        "camera": _plain(asdict(scene.camera)),
        "size": _plain(scene.size),
        "labels": _plain(scene.labels),
        "lines": _plain(scene.lines),
        "ground": _plain(scene.ground),
    }
    np.savez(path, text=np.array(json.dumps(plain)), **arrays)


def _plain(value):
    """numpy numbers and tuples as what JSON knows."""
    if isinstance(value, dict):
        return {key: _plain(item) for key, item in value.items()}
    if isinstance(value, (tuple, list, np.ndarray)):
        return [_plain(item) for item in value]
    return value.item() if isinstance(value, np.generic) else value


def load(path: Path | str) -> Scene:
    """The scene that `save` wrote."""
    with np.load(path, allow_pickle=False) as stored:
        plain = json.loads(str(stored["text"]))
        props = tuple(
            Prop(name, stored[f"vertices{k}"], stored[f"faces{k}"], tuple(colour), stored[f"transform{k}"],
                 finish, opacity, in_frame)
            for k, (name, colour, finish, opacity, in_frame) in enumerate(plain["props"])
        )
    camera = {key: tuple(v) if isinstance(v, list) else v for key, v in plain["camera"].items()}
    labels = tuple((text, tuple(xyz)) for text, xyz in plain["labels"])
    lines = tuple((tuple(a), tuple(b)) for a, b in plain["lines"])
    return Scene(props, Camera(**camera), tuple(plain["size"]), labels, lines, plain["ground"])
