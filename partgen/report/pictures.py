"""Pictures, drawn by child processes.

Drawing needs a graphics stack that may be missing, and where it is missing vtk ends the whole process. So children
draw, and whatever becomes of them this side answers in a sentence.
"""

import os
import pickle
import re
import subprocess
import sys
import time
from collections.abc import Iterable, Iterator, Sequence
from contextlib import contextmanager
from hashlib import sha256
from pathlib import Path
from typing import IO

from msgspec import Struct

from partgen.errors import OutputError
from partgen.files import put
from partgen.kept import Store, code, key_of, libraries
from partgen.report.scene import Scene
from partgen.scratch import scratch

KIND = "pictures"
CURE = "on Debian or Ubuntu, `apt-get install -y libgl1 libegl1 libgl1-mesa-dri` brings what pictures need"


def render(scene: Scene, path: Path, timeout: float = 60) -> str | None:
    """Draw a scene to a PNG file.

    Returns None, or one sentence that says why there is no picture; then a picture already at `path` stays as
    it was. timeout [s].
    """
    with drawing([scene], timeout) as pending:
        return pending.deliver([path])[0]


@contextmanager
def drawing(scenes: Iterable[Scene], timeout: float = 60, kept: Store | None = None,
            children: int = 1) -> Iterator["Drawing"]:
    """Start as many children to draw the scenes whose pictures are not `kept`; gives a Drawing, and ends the children
    however the work beside them ends.

    timeout [s] is for each of the scenes.
    """
    kept = kept or Store()
    with scratch() as folder:
        keys: list[str] = []
        known: dict[int, bytes] = {}
        for k, scene in enumerate(scenes):
            whole = pickle.dumps(scene)
            keys.append(key_of(code("report"), libraries(), sha256(whole).hexdigest()))
            picture = kept.recall(KIND, keys[k])
            if picture is not None:
                known[k] = picture
            else:
                (folder / f"{k}.scene").write_bytes(whole)
        asked = [k for k in range(len(keys)) if k not in known]
        shares = [share for start in range(children) if (share := tuple(asked[start::children]))]
        kept.reused.update([KIND] * len(known))
        drawers: list[Drawer] = []
        try:
            drawers += (_started(folder, share, timeout * len(share)) for share in shares)
            yield Drawing(folder, tuple(drawers), tuple(keys), known, kept)
        finally:
            for drawer in drawers:
                drawer.abandon()


class Drawer(Struct, frozen=True):
    """A child that draws the pictures of the numbers that it was `asked` for, or the `fault` why there is none. It ends
    when its `leash` is let go, as it is when this side ends by whatever."""

    asked: tuple[int, ...]
    child: subprocess.Popen[str] | None
    leash: IO[str] | None
    fault: str
    deadline: float
    timeout: float

    def finished(self) -> tuple[set[int], str]:
        """Wait for the child; return the numbers of the pictures it finished, and why it did not finish the others."""
        if not self.child:
            return set(), self.fault
        try:
            said, complained = self.child.communicate(timeout=max(self.deadline - time.monotonic(), 0.0))
            reason = _why(self.child.returncode, complained)
        except subprocess.TimeoutExpired:
            self.child.kill()
            said, _ = self.child.communicate()
            reason = f"the renderer was stopped after {self.timeout:g} s"
        return {self.asked[int(line)] for line in said.split() if line.isdigit()}, reason

    def abandon(self) -> None:
        """End the child, if it still draws."""
        if self.child and self.child.poll() is None:
            self.child.kill()
            self.child.communicate()
        if self.leash:
            self.leash.close()


class Drawing(Struct, frozen=True):
    """Pictures that children are drawing while this side goes on with other work; others are `known`; all are `kept` by
    their `keys`."""

    folder: Path
    drawers: tuple[Drawer, ...]
    keys: tuple[str, ...]
    known: dict[int, bytes]
    kept: Store

    def deliver(self, paths: Sequence[Path]) -> list[str | None]:
        """Wait for the children and put every picture in its place; return None or what is missing for each."""
        done, reasons = set(self.known), dict[int, str]()
        for drawer in self.drawers:
            finished, reason = drawer.finished()
            done |= finished
            reasons |= dict.fromkeys(drawer.asked, reason)
        return [self._deliver(k, path) if k in done else f"No picture {path.name}: {reasons[k]}; {CURE}."
                for k, path in enumerate(paths)]

    def _deliver(self, k: int, path: Path) -> str | None:
        """Put a finished picture in its place in one step, and keep it."""
        try:
            drawn = self.known.get(k) or (self.folder / f"{k}.png").read_bytes()
            put(path, drawn, "it is missing")
        except (OSError, OutputError) as fault:
            return f"No picture {path.name}: {fault}."
        if k not in self.known:
            self.kept.keep(KIND, self.keys[k], drawn)
            self.kept.made[KIND] += 1
        return None


def _command() -> list[str]:
    return [sys.executable, "-m", "partgen.report.render"]


def _started(folder: Path, asked: tuple[int, ...], timeout: float) -> Drawer:
    """Start a child that draws the pictures of those numbers, within `timeout` [s]."""
    files = [str(folder / f"{k}.{end}") for k in asked for end in ("scene", "png")]
    root = str(Path(__file__).resolve().parents[2])
    search = os.pathsep.join(filter(None, [root, os.environ.get("PYTHONPATH")]))
    until = time.monotonic() + timeout
    try:
        child = subprocess.Popen(_command() + files, stdin=subprocess.PIPE, stdout=subprocess.PIPE,
                                 stderr=subprocess.PIPE, errors="replace", env={**os.environ, "PYTHONPATH": search})
    except OSError as fault:
        return Drawer(asked, None, None, f"the renderer did not start ({fault})", until, timeout)
    leash, child.stdin = child.stdin, None      # which `communicate` would let go at once
    return Drawer(asked, child, leash, "", until, timeout)


def _why(code: int, said: str) -> str:
    missing = re.search(r"No module named '([\w.]+)'|(lib[\w.+-]+): cannot open shared object", said)
    if missing:
        return f"the renderer misses {missing[1] or missing[2]}"
    if code < 0:
        return f"the renderer died of signal {-code}"
    last = (said.strip().splitlines() or ["no message"])[-1]
    return f"the renderer gave up (exit {code}: {last[:200]})"
