"""What was worked out before, kept on disk by a digest of all that it hangs on, for every train and every run.

One file holds one answer under a digest of itself and of its place: what was damaged, moved there from elsewhere or
changed by hand counts as none and is replaced. Nothing hangs on what is kept but time: where nothing can be written
nothing is kept. Files of one's own rather than a database's: damage to one answer stays with that one, and any number
of processes may read and write at once.
"""

import os
from collections import Counter
from collections.abc import Callable, Iterator
from contextlib import suppress
from functools import cache
from hashlib import sha256
from importlib.metadata import PackageNotFoundError, version
from pathlib import Path
from stat import S_ISREG
from typing import Any, TypeVar, cast

from msgspec import msgpack

from partgen.scratch import scratch_file, sweep

FOLDER = "PARTGEN_CACHE"    # environment: another folder; empty keeps nothing
ROOM = 1 << 30              # bytes that are kept; what was not asked for longest makes room
LIBRARIES = ("cadquery", "cadquery-ocp", "embreex", "lib3mf", "manifold3d", "matplotlib", "numpy", "ortools", "scipy",
             "shapely", "trimesh", "vtk")
"""What besides this package makes an answer what it is; to ask takes 0.2 s, which `check` has no need of."""

HERE = Path(__file__).parent

T = TypeVar("T")


Answers = dict[tuple[str, str], bytes]
"""What is kept by kind and key."""


class Store:
    """Answers kept in a folder by kind and key, without one as long as this lives; those of workers are `taken` from
    them. Counts what was `reused` and what was `made` anew."""

    def __init__(self, folder: Path | None = None) -> None:
        self.folder = folder
        self.here: Answers = {}
        self.new: set[tuple[str, str]] = set()      # since this lives
        self.reused: Counter[str] = Counter()
        self.made: Counter[str] = Counter()

    def data(self, kind: str, things: tuple[Any, ...], make: Callable[[], T], type_: Any) -> T:
        """Return the answer to `things`, of a type that msgspec can write, as `answer` does."""
        return self.answer(kind, key_of(code(), libraries(), *things), make, _packed,
                           lambda body: cast(T, msgpack.decode(body, type=type_)))

    def raw(self, kind: str, things: tuple[Any, ...], make: Callable[[], bytes]) -> bytes:
        """Return the bytes that answer `things`, as `answer` does."""
        return self.answer(kind, key_of(code(), libraries(), *things), make, bytes, bytes)

    def holds(self, kind: str, things: tuple[Any, ...]) -> bool:
        """Is the answer to `things` kept?"""
        return self.recall(kind, key_of(code(), libraries(), *things)) is not None

    def find(self, kind: str, things: tuple[Any, ...], type_: type[T]) -> T | None:
        """Return what is kept of the answer to `things`; None where nothing is, or nothing that is of that type."""
        body = self.recall(kind, key_of(code(), libraries(), *things))
        with suppress(ValueError):
            found = msgpack.decode(body, type=type_) if body is not None else None
            self.reused.update([kind] if found is not None else [])
            return found
        return None

    def answer(self, kind: str, key: str, make: Callable[[], T], encode: Callable[[T], bytes],
               decode: Callable[[bytes], T]) -> T:
        """Return the answer of that kind to `key`: what is kept, or what `make` gives, which is then kept.

        What `decode` cannot read, for which it raises ValueError, counts as none.
        """
        kept = self.recall(kind, key)
        if kept is not None:
            with suppress(ValueError):
                found = decode(kept)
                self.reused.update([kind] if (kind, key) not in self.new else [])
                return found
        body = encode(make())
        self.made[kind] += 1
        self.new.add((kind, key))
        self.keep(kind, key, body)
        return decode(body)             # so that it is the same, made or recalled

    def recall(self, kind: str, key: str) -> bytes | None:
        """Return what is kept; None where there is nothing that can be believed."""
        if (kind, key) in self.here:
            return self.here[kind, key]
        with suppress(OSError, ValueError):
            place = self._place(kind, key)
            digest, _, body = _ordinary(place).partition(b"\n")
            if digest == _digest(place, body):
                os.utime(place)         # so that it is not the first to go
                return body
        return None

    def keep(self, kind: str, key: str, body: bytes) -> None:
        """Keep an answer, if it can be."""
        if self.folder is None:
            self.here[kind, key] = body
        with suppress(OSError, ValueError):
            place = self._place(kind, key)
            place.parent.mkdir(parents=True, exist_ok=True)
            with scratch_file(place.parent, place.suffix) as fresh:
                fresh.write_bytes(_digest(place, body) + b"\n" + body)
                fresh.replace(place)        # a link itself, never what it points at

    def take(self, answers: Answers, made: Counter[str]) -> None:
        """Keep what a worker gave, and count what it has `made`."""
        self.here |= answers
        self.new |= answers.keys()
        self.made += made
        for (kind, key), body in answers.items():
            self.keep(kind, key, body)

    def files(self) -> Iterator[tuple[Path, os.stat_result]]:
        """Yield every file kept, and its size and times."""
        with suppress(OSError):
            for place in self.folder.glob("*/*.kept") if self.folder else ():
                with suppress(OSError):
                    yield place, place.lstat()

    def contents(self) -> dict[str, tuple[int, int]]:
        """Return by kind how many answers are kept, in how many bytes."""
        found: dict[str, tuple[int, int]] = {}
        for place, stat in sorted(self.files()):
            count, size = found.get(place.parent.name, (0, 0))
            found[place.parent.name] = count + 1, size + stat.st_size
        return found

    def tidy(self, room: int = ROOM) -> int:
        """Throw away what was not asked for longest until all is within `room` [bytes], and what dead runs have left
        half written; return how many files went."""
        for place in self.folder.glob("*") if self.folder else ():
            sweep(place)
        files = sorted(self.files(), key=lambda one: one[1].st_mtime_ns, reverse=True)
        gone = total = 0
        for place, stat in files:
            total += stat.st_size
            if total > room:
                with suppress(OSError):
                    place.unlink()
                    gone += 1
        return gone

    def _place(self, kind: str, key: str) -> Path:
        if self.folder is None:
            raise ValueError("nothing is to be kept")
        return self.folder / kind / f"{key}.kept"


def store() -> Store:
    """Return the store of this user, in the folder that the environment names or where the system keeps such things."""
    wished = os.environ.get(FOLDER)
    if wished is not None:
        return Store(Path(wished) if wished else None)
    with suppress(RuntimeError):        # there may be no home
        return Store(Path(os.environ.get("XDG_CACHE_HOME") or Path.home() / ".cache") / "partgen")
    return Store(None)


def key_of(*things: Any) -> str:
    """Return one name for all that an answer hangs on: structs of plain values, texts, numbers and digests."""
    return sha256("\n".join(map(repr, things)).encode()).hexdigest()[:40]


@cache
def code(room: str = "") -> str:
    """Return a digest of this package's code, or of one room of it."""
    return sha256(b"".join(path.read_bytes() for path in sorted((HERE / room).rglob("*.py")))).hexdigest()


@cache
def libraries() -> tuple[str, ...]:
    """Return name and version of every library that makes an answer what it is."""
    return tuple(f"{name} {found}" for name in LIBRARIES for found in _version(name))


def _version(name: str) -> Iterator[str]:
    with suppress(PackageNotFoundError):
        yield version(name)


def _ordinary(place: Path) -> bytes:
    """Return the bytes of an ordinary file. Raises OSError for anything else, of which a pipe would be waited for."""
    if not S_ISREG(place.lstat().st_mode):
        raise OSError(f"{place} is no ordinary file")
    return place.read_bytes()


def _packed(found: Any) -> bytes:
    return msgpack.encode(found, enc_hook=lambda number: number.item())     # numpy's numbers are plain ones here


def _digest(place: Path, body: bytes) -> bytes:
    return sha256(f"{place.parent.name}/{place.name}".encode() + body).hexdigest().encode()
