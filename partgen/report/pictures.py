"""Pictures, drawn by a child process.

Drawing needs a graphics stack that may be missing, and where it is missing vtk ends the whole process. So a
child draws, and whatever becomes of it this side answers in a sentence.
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
def drawing(scenes: Iterable[Scene], timeout: float = 60, kept: Store | None = None) -> Iterator["Drawing"]:
    """Start a child that draws the scenes whose pictures are not `kept`; gives a Drawing, and ends the child however
    the work beside it ends.

    timeout [s] is for each of them.
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
        asked = tuple(k for k in range(len(keys)) if k not in known)
        timeout *= max(len(asked), 1)
        child, leash, fault = _start([str(folder / f"{k}.{end}") for k in asked for end in ("scene", "png")])
        kept.reused.update([KIND] * len(known))
        pending = Drawing(folder, child, leash, fault, time.monotonic() + timeout, timeout, asked, tuple(keys), known,
                          kept)
        try:
            yield pending
        finally:
            pending.abandon()


class Drawing(Struct, frozen=True):
    """Pictures that a child is drawing while this side goes on with other work: the numbers of those it was `asked`
    for, others are `known`; all are `kept` by their `keys`. The child ends when its `leash` is let go, as it is when
    this side ends by whatever."""

    folder: Path
    child: subprocess.Popen[str] | None
    leash: IO[str] | None
    fault: str
    deadline: float
    timeout: float
    asked: tuple[int, ...]
    keys: tuple[str, ...]
    known: dict[int, bytes]
    kept: Store

    def deliver(self, paths: Sequence[Path]) -> list[str | None]:
        """Wait for the child and put every picture in its place; return None or what is missing for each."""
        done, reason = self._finished(self.child) if self.child else (set(), self.fault)
        return [self._deliver(k, path) if k in done or k in self.known else
                f"No picture {path.name}: {reason}; {CURE}." for k, path in enumerate(paths)]

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

    def _finished(self, child: subprocess.Popen[str]) -> tuple[set[int], str]:
        """The numbers of the pictures the child finished, and why it did not finish the others."""
        try:
            said, complained = child.communicate(timeout=max(self.deadline - time.monotonic(), 0.0))
            reason = _why(child.returncode, complained)
        except subprocess.TimeoutExpired:
            child.kill()
            said, _ = child.communicate()
            reason = f"the renderer was stopped after {self.timeout:g} s"
        return {self.asked[int(line)] for line in said.split() if line.isdigit()}, reason

    def abandon(self) -> None:
        """End the child, if it still draws."""
        if self.child and self.child.poll() is None:
            self.child.kill()
            self.child.communicate()
        if self.leash:
            self.leash.close()


def _command() -> list[str]:
    return [sys.executable, "-m", "partgen.report.render"]


def _start(files: list[str]) -> tuple[subprocess.Popen[str] | None, IO[str] | None, str]:
    """Start the child that draws, if there is anything to draw; return it and its leash, or say why it cannot be."""
    if not files:
        return None, None, ""
    root = str(Path(__file__).resolve().parents[2])
    search = os.pathsep.join(filter(None, [root, os.environ.get("PYTHONPATH")]))
    try:
        child = subprocess.Popen(_command() + files, stdin=subprocess.PIPE, stdout=subprocess.PIPE,
                                 stderr=subprocess.PIPE, errors="replace", env={**os.environ, "PYTHONPATH": search})
    except OSError as fault:
        return None, None, f"the renderer did not start ({fault})"
    leash, child.stdin = child.stdin, None      # which `communicate` would let go at once
    return child, leash, ""


def _why(code: int, said: str) -> str:
    missing = re.search(r"No module named '([\w.]+)'|(lib[\w.+-]+): cannot open shared object", said)
    if missing:
        return f"the renderer misses {missing[1] or missing[2]}"
    if code < 0:
        return f"the renderer died of signal {-code}"
    last = (said.strip().splitlines() or ["no message"])[-1]
    return f"the renderer gave up (exit {code}: {last[:200]})"
