"""What a picture shows, as plain arrays: things, a camera, labels; and where each lands on the picture.

Nothing here draws. A scene travels pickled to the child process that does (`render.py`).
"""

from collections.abc import Iterator
from typing import TYPE_CHECKING, Any, Literal

import numpy as np
from msgspec import Struct, field
from msgspec.structs import replace

if TYPE_CHECKING:
    from trimesh import Trimesh

Colour = tuple[float, float, float]
Point = tuple[float, float, float]
Finish = Literal["plastic", "metal", "ceramic", "liquid", "wood", "board", "glow"]

LABEL_HEIGHT = 26  # letters of a 1000-pixel-high picture that still read when it is shown at half size
LETTER_WIDTH = 0.62  # of the letter height; above the drawn font's mean, so that a text stays in its margin
ANGLE = 20.0  # the camera's vertical field of view [deg]
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
    colour: Colour
    transform: np.ndarray = field(default_factory=lambda: np.eye(4))
    finish: Finish = "plastic"
    opacity: float = 1.0
    in_frame: bool = True

    @classmethod
    def of(cls, name: str, mesh: "Trimesh", colour: Colour, **more: Any) -> "Prop":
        """A mesh [mm] as a prop; its arrays become plain ones, which the child unpickles without the mesh library."""
        return cls(name, np.asarray(mesh.vertices), np.asarray(mesh.faces), colour, **more)

    def placed(self) -> np.ndarray:
        """Vertices in scene axes, (n, 3) [mm]."""
        turn, shift = self.transform[:3, :3], self.transform[:3, 3]
        return np.asarray(self.vertices, float) @ turn.T + shift

    def moved(self, transform: np.ndarray) -> "Prop":
        """The same body with a 4 x 4 transform put after the one it has."""
        return replace(self, transform=np.asarray(transform, float) @ self.transform)


class Scene(Struct, frozen=True, eq=False):
    """Everything in one picture: labels are (text, xyz [mm]), lines (xyz, xyz) [mm] thin guide lines.

    camera points from the subject to where it is looked at from, z standing upright in the picture; size is
    (width, height) [px]; ground is the height [mm] of the table top that catches the shadows, or
    None for a picture without one.
    """

    props: tuple[Prop, ...]
    camera: Point = (-0.62, -1.0, 0.52)
    size: tuple[int, int] = (1600, 1000)
    labels: tuple[tuple[str, Point], ...] = ()
    lines: tuple[tuple[Point, Point], ...] = ()
    ground: float | None = None

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
    slope = float(np.tan(np.radians(ANGLE) / 2))
    beside = 1 - 2 * label_margin(scene) / width
    usable = FILL * np.array([slope * width / height * beside, slope])
    reach = points[:, :2] + usable * points[:, 2:]
    mirror = -points[:, :2] + usable * points[:, 2:]
    high, low = reach.max(axis=0), mirror.max(axis=0)
    place = np.append((high - low) / 2, np.max((high + low) / 2 / usable))
    return View(place @ axes, axes, slope, scene.size)


def _axes(camera: Point) -> np.ndarray:
    back = np.asarray(camera, float)
    back = back / np.linalg.norm(back)
    right = np.cross((0.0, 0.0, 1.0), back)
    right = right / np.linalg.norm(right)
    return np.array([right, np.cross(back, right), back])


def label_margin(scene: Scene) -> float:
    """Width [px] kept free at each side of the picture for the labels; 0 without labels."""
    if not scene.labels:
        return 0.0
    return 40 + max(len(text) for text, _ in scene.labels) * LETTER_WIDTH * letter_height(scene)


def letter_height(scene: Scene) -> float:
    """Nominal letter height [px] of the labels."""
    return LABEL_HEIGHT * scene.size[1] / 1000


def place_labels(scene: Scene) -> Iterator[tuple[str, np.ndarray, np.ndarray, bool]]:
    """Yield each label's text, anchor [px], near end of its text line [px] and whether it stands on the right.

    Labels stand in one column at each side, in the order of their anchors so that no two leader lines of a
    column cross, and are pushed apart to at least 1.7 letter heights.
    """
    anchors = view(scene).project(np.array([xyz for _, xyz in scene.labels]).reshape(-1, 3))
    width, height = scene.size
    order = np.argsort(anchors[:, 0], kind="stable")
    half = (len(order) + 1) // 2
    for column, on_right in ((order[:half], False), (order[half:], True)):
        column = column[np.argsort(anchors[column, 1], kind="stable")]
        heights = _spread(anchors[column, 1], 1.7 * letter_height(scene), height)
        x = width - label_margin(scene) if on_right else label_margin(scene)
        for k, y in zip(column, heights, strict=True):
            yield scene.labels[k][0], anchors[k], np.array([x, y]), on_right


def _spread(wished: np.ndarray, gap: float, height: float) -> np.ndarray:
    """Sorted positions at least `gap` apart, inside the picture, near the wished ones."""
    steps = gap * np.arange(len(wished))
    pushed = np.maximum.accumulate(wished - steps) + steps
    pulled = steps - np.maximum.accumulate((steps - wished)[::-1])[::-1]
    middle = (pushed + pulled) / 2
    top, bottom = gap, height - gap
    middle = np.minimum(middle, bottom - steps[::-1])
    return np.maximum(middle, top + steps)
