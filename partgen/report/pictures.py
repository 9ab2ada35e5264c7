"""Pictures, drawn by a child process.

Drawing needs a graphics stack that may be missing, and where it is missing vtk ends the whole process. So a
child draws, and whatever becomes of it this side answers in a sentence.
"""

import os
import pickle
import re
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path

from msgspec import Struct

from partgen.errors import OutputError
from partgen.files import put
from partgen.report.scene import Scene

CURE = "on Debian or Ubuntu, `apt-get install -y libgl1 libegl1 libgl1-mesa-dri` brings what pictures need"


def render(scene: Scene, path: Path, timeout: float = 60) -> str | None:
    """Draw a scene to a PNG file.

    Returns None, or one sentence that says why there is no picture; then a picture already at `path` stays as
    it was. timeout [s].
    """
    with drawing([scene], timeout) as pending:
        return pending.deliver([path])[0]


@contextmanager
def drawing(scenes: Sequence[Scene], timeout: float = 60) -> Iterator["Drawing"]:
    """Start a child that draws scenes; gives a Drawing, and ends the child however the work beside it ends.

    timeout [s] is for all of them.
    """
    with tempfile.TemporaryDirectory(prefix="partgen-") as name:
        folder = Path(name)
        files = []
        for k, scene in enumerate(scenes):
            (folder / f"{k}.scene").write_bytes(pickle.dumps(scene))
            files += [str(folder / f"{k}.scene"), str(folder / f"{k}.png")]
        child, fault = _start(files) if scenes else (None, "")
        pending = Drawing(folder, child, fault, time.monotonic() + timeout, timeout)
        try:
            yield pending
        finally:
            pending.abandon()


class Drawing(Struct, frozen=True):
    """Pictures that a child is drawing while this side goes on with other work."""

    folder: Path
    child: subprocess.Popen[str] | None
    fault: str
    deadline: float
    timeout: float

    def deliver(self, paths: Sequence[Path]) -> list[str | None]:
        """Wait for the child and put every picture in its place; return None or what is missing for each."""
        done, reason = self._finished(self.child) if self.child else (set(), self.fault)
        return [_deliver(self.folder / f"{k}.png", path) if k in done else
                f"No picture {path.name}: {reason}; {CURE}." for k, path in enumerate(paths)]

    def _finished(self, child: subprocess.Popen[str]) -> tuple[set[int], str]:
        """The numbers of the pictures the child finished, and why it did not finish the others."""
        try:
            said, complained = child.communicate(timeout=max(self.deadline - time.monotonic(), 0.0))
            reason = _why(child.returncode, complained)
        except subprocess.TimeoutExpired:
            child.kill()
            said, _ = child.communicate()
            reason = f"the renderer was stopped after {self.timeout:g} s"
        return {int(line) for line in said.split() if line.isdigit()}, reason

    def abandon(self) -> None:
        """End the child, if it still draws."""
        if self.child and self.child.poll() is None:
            self.child.kill()
            self.child.communicate()


def _command() -> list[str]:
    return [sys.executable, "-m", "partgen.report.render"]


def _start(files: list[str]) -> tuple[subprocess.Popen[str] | None, str]:
    """Start the child that draws; where it cannot be, say why."""
    root = str(Path(__file__).resolve().parents[2])
    search = os.pathsep.join(filter(None, [root, os.environ.get("PYTHONPATH")]))
    try:
        return subprocess.Popen(_command() + files, stdout=subprocess.PIPE, stderr=subprocess.PIPE, errors="replace",
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
