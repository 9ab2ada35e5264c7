"""Pictures of wagons: how they are arranged, and the child process that draws them.

Drawing needs a graphics stack that may be missing, and where it is missing vtk ends the whole process. So a
child draws, and whatever becomes of it this side answers in a sentence.
"""

import os
import re
import subprocess
import sys
import tempfile
import time
from collections.abc import Mapping, Sequence
from contextlib import contextmanager
from pathlib import Path

import numpy as np
from msgspec import Struct

from partgen.errors import OutputError
from partgen.files import put
from partgen.report.props import track_arc, track_straight
from partgen.report.scene import Camera, Prop, Scene, save, view

__all__ = [
    "Drawing", "chord_pose", "drawing", "exploded", "hidden", "render", "render_many", "stand_on_curve"]

CURE = "on Debian or Ubuntu, `apt-get install -y libgl1 libegl1 libgl1-mesa-dri` brings what pictures need"
SAID = "said", "complained"
SPOTS = (1 / 3, 1 / 3, 1 / 3), (0.8, 0.1, 0.1), (0.1, 0.8, 0.1), (0.1, 0.1, 0.8)   # shares of a face's corners
SOLID = 0.8     # share of its box that a block fills
SLEEPER = 3.5  # thickness [mm] of the sleepers under the pictured track


def render(scene: Scene, path: Path | str, timeout: float = 60) -> str | None:
    """Draw a scene to a PNG file.

    Returns None, or one sentence that says why there is no picture; then a picture already at `path` stays as
    it was. timeout [s].
    """
    return render_many([(scene, path)], timeout)[0]


def render_many(jobs: Sequence[tuple[Scene, Path | str]], timeout: float = 60) -> list[str | None]:
    """As `render`, several pictures in one child, which saves its start-up time; timeout [s] is for all."""
    with drawing([scene for scene, _ in jobs], timeout) as pending:
        return pending.deliver([Path(path) for _, path in jobs])


class Drawing(Struct, frozen=True):
    """Pictures that a child is drawing while this side goes on with other work."""

    folder: Path
    child: subprocess.Popen | None
    fault: str
    deadline: float
    timeout: float

    def deliver(self, paths: Sequence[Path]) -> list[str | None]:
        """Wait for the child and put every picture in its place; return None or what is missing for each."""
        done, reason = self._finished() if self.child else (set(), self.fault)
        return [_deliver(self.folder / f"{k}.png", path) if k in done else
                f"No picture {path.name}: {reason}; {CURE}." for k, path in enumerate(paths)]

    def _finished(self) -> tuple[set[int], str]:
        """The numbers of the pictures the child finished, and why it did not finish the others."""
        try:
            code = self.child.wait(max(self.deadline - time.monotonic(), 0.0))
            reason = _why(code, (self.folder / SAID[1]).read_text(errors="replace"))
        except subprocess.TimeoutExpired:
            reason = f"the renderer was stopped after {self.timeout:g} s"
            self.abandon()
        said = (self.folder / SAID[0]).read_text(errors="replace")
        return {int(line) for line in said.split() if line.isdigit()}, reason

    def abandon(self) -> None:
        """End the child, if it still draws."""
        if self.child and self.child.poll() is None:
            self.child.kill()
            self.child.wait()


@contextmanager
def drawing(scenes: Sequence[Scene], timeout: float = 60):
    """Start a child that draws scenes; gives a Drawing, and ends the child however the work beside it ends.

    timeout [s] is for all of them.
    """
    with tempfile.TemporaryDirectory(prefix="partgen-") as name:
        folder = Path(name)
        files = []
        for k, scene in enumerate(scenes):
            save(scene, folder / f"{k}.npz")
            files += [str(folder / f"{k}.npz"), str(folder / f"{k}.png")]
        child, fault = _start(files, folder) if scenes else (None, "")
        pending = Drawing(folder, child, fault, time.monotonic() + timeout, timeout)
        try:
            yield pending
        finally:
            pending.abandon()


def _command() -> list[str]:
    return [sys.executable, "-m", "partgen.report.render"]


def _start(files: list[str], folder: Path) -> tuple[subprocess.Popen | None, str]:
    """Start the child that draws; where it cannot be, say why."""
    root = str(Path(__file__).resolve().parents[2])
    search = os.pathsep.join(filter(None, [root, os.environ.get("PYTHONPATH")]))
    with open(folder / SAID[0], "wb") as said, open(folder / SAID[1], "wb") as complained:
        try:
            return subprocess.Popen(_command() + files, stdout=said, stderr=complained,
                                    env={**os.environ, "PYTHONPATH": search}), ""
        except OSError as fault:
            return None, f"the renderer did not start ({fault})"


def _why(code: int, said: str) -> str:
    missing = re.search(r"No module named '([\w.]+)'|(lib[\w.+-]+): cannot open shared object", said)
    if missing:
        return f"the renderer misses {missing[1] or missing[2]}"
    if code < 0:
        return f"the renderer died of signal {-code}"
    last = (said.strip().splitlines() or ["no message"])[-1]
    return f"the renderer gave up (exit {code}: {last[:200]})"


def _deliver(drawn: Path, path: Path) -> str | None:
    """Put a finished picture in its place in one step."""
    try:
        put(path, drawn.read_bytes(), "it is missing")
    except (OSError, OutputError) as fault:
        return f"No picture {path.name}: {fault}."
    return None


def chord_pose(radius: float, wheelbase: float, s: float, bogie_wheelbase: float = 0.0) -> np.ndarray:
    """Where a wagon stands whose axles are all on the centre line, 4 x 4 from wagon to scene axes.

    The centre line leaves the origin along +x and turns left about (0, radius); s is the arc length [mm] at
    which the wagon's midpoint stands, radius [mm] may be infinite for straight track. The wagon is a chord of the
    circle: its midpoint lies sqrt(R^2 - W^2 / 4) from the centre, on bogies of wheelbase p, wheelbase then being
    from pivot to pivot, sqrt(R^2 - p^2 / 4 - W^2 / 4). All [mm], neither chord longer than the circle is wide.
    """
    pose = np.eye(4)
    if np.isinf(radius):
        pose[0, 3] = s
        return pose
    angle, apothem = s / radius, np.sqrt(radius**2 - bogie_wheelbase**2 / 4 - wheelbase**2 / 4)
    c, k = np.cos(angle), np.sin(angle)
    pose[:2, :2] = [[c, -k], [k, c]]
    pose[:2, 3] = apothem * k, radius - apothem * c
    return pose


def stand_on_curve(items: Sequence[Sequence[Prop]], radius: float, spans: Sequence[tuple[float, ...]],
                   gauge: float = 37.5, rail_head: float = 3.0, rail_height: float = 6.0,
                   camera: Camera | None = None, size: tuple[int, int] = (1600, 1000)) -> Scene:
    """Wagons on a curve to the left, on their track, on a table.

    items holds each wagon's props in wagon axes, spans its (wheelbase, arc length of its midpoint) [mm], and on
    bogies their own wheelbase as third, as for `chord_pose`;
    radius [mm], infinite for straight track; gauge, rail_head and rail_height [mm] as for `track_arc`.
    Seen from outside the curve and ahead, unless a camera is given.
    """
    wagons = [p.moved(chord_pose(radius, *span)) for props, span in zip(items, spans) for p in props]
    reach = max(np.ptp(p.placed()[:, :2], axis=0).max() for p in wagons)
    stations = [s for _, s, *_ in spans]
    beyond = 0.45 * (max(stations) - min(stations)) + max(1.6 * reach, 3 * gauge)
    start, end = min(stations) - beyond, max(stations) + beyond
    middle = (start + end) / 2
    if np.isinf(radius):
        track, heading = track_straight(gauge, start, end, rail_head, rail_height, SLEEPER), 0.0
    else:
        half = min((end - start) / 2, 0.97 * np.pi * radius)  # the two ends of the track never meet
        angles = np.degrees([(middle - half) / radius, (middle + half) / radius])
        track, heading = track_arc(gauge, radius, *angles, rail_head, rail_height, SLEEPER), middle / radius
    c, k = np.cos(heading), np.sin(heading)
    seen = camera or Camera((0.62 * c + k, 0.62 * k - c, 0.62))
    return Scene((*wagons, *track), seen, size, ground=-rail_height - SLEEPER)


def exploded(props: Sequence[Prop], offsets: Mapping[str, float | tuple[float, float, float]],
             names: Mapping[str, str | None] | None = None,
             camera: Camera = Camera((-0.55, -1.0, 0.38)), size: tuple[int, int] = (1600, 1000)) -> Scene:
    """One wagon's props drawn apart, each kind labelled with its name and how many there are.

    offsets [mm] by prop name: a rise along z, or (x, y, z); a name without one stays where it is. names gives
    other words for a prop's label, None for no label; a drink goes unlabelled unless named.
    """
    words = {"liquid": None, **(names or {})}
    moved = [p.moved(_shift(offsets.get(p.name, 0.0))) for p in props]
    lines = tuple(
        (tuple(_centre(home)), tuple(_centre(away))) for home, away in zip(props, moved)
        if np.any(offsets.get(home.name, 0.0)) and words.get(home.name, home.name)
    )
    seen = view(Scene(tuple(moved), camera, size))
    return Scene(tuple(moved), camera, size, _labels(moved, words, seen), lines)


def _labels(props: Sequence[Prop], words: Mapping[str, str | None], seen) -> tuple:
    """(text, point) for each kind of prop that is seen, from the top down by turns on the left and on the right."""
    kinds = {p.name: [q for q in props if q.name == p.name] for p in props if words.get(p.name, p.name)}
    height = {name: max(_centre(p) @ seen.axes[1] for p in same) for name, same in kinds.items()}
    blocks, labels = [(p.name, _box(p)) for p in props if _fills_its_box(p)], []
    for k, name in enumerate(sorted(kinds, key=height.get, reverse=True)):
        word = words.get(name) or name.replace("-", " ")
        count = len(kinds[name])
        text = f"{count} × {word}" if count > 1 else word
        others = [box for owner, box in blocks if owner != name]
        spot = _handhold(kinds[name], seen, 1 if k % 2 else -1, others)
        labels += [(text, spot)] if spot else []
    return tuple(labels)


def _shift(offset: float | tuple[float, float, float]) -> np.ndarray:
    pose = np.eye(4)
    pose[:3, 3] = (0, 0, offset) if np.isscalar(offset) else offset
    return pose


def _centre(prop: Prop) -> np.ndarray:
    points = prop.placed()
    return (points.min(axis=0) + points.max(axis=0)) / 2


def _box(prop: Prop) -> tuple[np.ndarray, np.ndarray]:
    points = prop.placed()
    return points.min(axis=0), points.max(axis=0)


def _fills_its_box(prop: Prop) -> bool:
    """Is it a block that hides whatever stands behind its box?"""
    low, high = _box(prop)
    a, b, c = np.moveaxis(prop.placed()[np.asarray(prop.faces)] - low, 1, 0)
    return (np.cross(a, b) * c).sum() / 6 > SOLID * np.prod(high - low)


def hidden(points: np.ndarray, eye: np.ndarray, boxes) -> np.ndarray:
    """Say of each point (n, 3) [mm] whether one of the boxes, (low, high) corners, stands between it and the eye."""
    with np.errstate(divide="ignore", invalid="ignore"):
        ends = [[(side - points) / (eye - points) for side in box] for box in boxes]
    enter = [np.minimum(*pair).max(axis=1) for pair in ends]
    leave = [np.maximum(*pair).min(axis=1) for pair in ends]
    return np.any([(np.maximum(a, 0) < np.minimum(b, 1)) for a, b in zip(enter, leave)], axis=0)


def _handhold(props: Sequence[Prop], seen, side: int, others) -> tuple[float, float, float] | None:
    """A point on a face that looks at the camera, far out on the label's side, about half way up the body, and
    not behind one of the `others`, boxes as (low, high) corners [mm]; None where all of it is."""
    prop = max(props, key=lambda p: side * _centre(p) @ seen.axes[0])
    corners = prop.placed()[np.asarray(prop.faces)]
    normals = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
    length = np.maximum(np.linalg.norm(normals, axis=1), 1e-12)
    spots = np.concatenate([share @ corners for share in np.array(SPOTS)[:, None]])[:, 0]
    towards = np.tile(normals @ seen.axes[2] / length, len(SPOTS))
    across, up = seen.axes[:2] @ (spots - _centre(prop)).T
    shown = ~hidden(spots, seen.position, others) if others else np.ones(len(spots), dtype=bool)
    merit = side * across - 1.5 * np.abs(up) + np.where(towards > 0.3, 0, -1e6) + np.where(shown, 0, -np.inf)
    return tuple(spots[np.argmax(merit)]) if shown.any() else None
