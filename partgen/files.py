"""Whatever is written is written whole or not at all: first beside its place, then moved into it."""

import os
import shutil
from codecs import BOM_UTF8
from collections.abc import Callable, Collection, Iterator
from contextlib import contextmanager
from pathlib import Path, PurePosixPath

from partgen.errors import OutputError
from partgen.scratch import ASIDE, locked, scratch, scratch_file, sweep_temporary

ELSEWHERE = "name another place with -o"        # the cure that most commands have


def ensure_room(out: Path, size: int = 0) -> None:
    """Raise OutputError at once, before any work, when `out` cannot become a folder that takes `size` more bytes.
    What dead runs have left in it, and in the system's temporary folder, goes."""
    sweep_temporary()
    place = Path(os.path.realpath(out))
    nearest = next(one for one in (place, *place.parents) if os.path.lexists(one))
    if not nearest.is_dir():
        raise OutputError(f"{nearest} is a file: name a folder with -o, or move the file away")
    try:
        with scratch(nearest) as trial:
            (trial / place.relative_to(nearest)).mkdir(parents=True, exist_ok=True)
        free = shutil.disk_usage(nearest).free
    except OSError as error:
        raise OutputError(f"{out} cannot be written ({error.strerror}): name another folder with -o") from error
    if free < size:
        raise OutputError(f"{out} has {free / 1e6:.1f} MB of room left, and {size / 1e6:.1f} MB are to be written: "
                          "make room, or name another folder with -o")


def ensure_replaceable(target: Path, size: int = 0) -> None:
    """Raise OutputError at once, before any work, when a fresh folder of `size` bytes could not take the place of
    `target`."""
    place = Path(os.path.realpath(target))
    ensure_room(place.parent, size)
    ensure_room(place)
    if place.is_mount():
        raise OutputError(f"{target} is a disk of its own and cannot be replaced: name a folder in it with -o")
    for folder, _, _ in os.walk(place):
        if not os.access(folder, os.W_OK | os.X_OK):
            raise OutputError(f"{folder} is read-only, so what is in it cannot be replaced: let it be written, or name "
                              "another folder with -o")


# ---- one file


def put(path: Path, data: bytes, cure: str = ELSEWHERE) -> None:
    """Write `data` to the file at `path`, as `written` does."""
    with written(path, cure) as fresh:
        fresh.write_bytes(data)


@contextmanager
def written(path: Path, cure: str = ELSEWHERE) -> Iterator[Path]:
    """Give the path of a fresh file with the same ending; on leaving without an error it takes the place of the file
    at `path`, whose mode it has, and whose folder is made where there is none. Through a link its target is written.

    Raises OutputError, naming the place and the `cure`, when it cannot be written; what was there is untouched.
    """
    place = Path(os.path.realpath(path))
    try:
        place.parent.mkdir(parents=True, exist_ok=True)
        with scratch_file(place.parent, place.suffix) as fresh:
            yield fresh
            if place.is_file():
                fresh.chmod(place.stat().st_mode & 0o7777)
            elif place.exists():
                raise OSError(None, "it is no ordinary file")
            fresh.replace(place)
    except OSError as error:
        raise OutputError(f"{path} cannot be written ({error.strerror}): {cure}") from error


def edit(path: Path, change: Callable[[str], str]) -> None:
    """Write `change` of the UTF-8 text in the file at `path` back; its byte-order mark and line ends stay.

    `change` sees lines that end in "\\n", unless the file mixes both kinds. Raises OutputError as `written` does.
    """
    raw = path.read_bytes()
    text = raw.removeprefix(BOM_UTF8).decode("utf-8")
    plain = text.replace("\r\n", "\n")
    dos = "\r\n" in text and "\n" not in text.replace("\r\n", "")     # all lines alike: mixed ones are left as they are
    changed = change(plain).replace("\n", "\r\n") if dos else change(text)
    put(path, raw[:len(raw) - len(raw.removeprefix(BOM_UTF8))] + changed.encode("utf-8"), "it is as it was")


# ---- a folder


@contextmanager
def replaced(target: Path, own: Collection[str] | Callable[[], Collection[str]] = ()) -> Iterator[Path]:
    """Give a fresh folder beside `target`; on leaving without an error it takes the target's place, and has its mode.
    Through a link its target is replaced.

    Of what stood there only the files in `own`, paths within it, give way; all else stays where it was. What tells them
    is asked at the last moment, while no other run that writes beside the target can change it. Whatever goes
    wrong, Ctrl-C and a full disk included, `target` stays as it was. Raises OutputError, naming the place, when it
    cannot be written, or when one of the fresh files would take the place of one that is not in `own`.
    """
    place = Path(os.path.realpath(target))
    ensure_replaceable(place)
    try:
        place.parent.mkdir(parents=True, exist_ok=True)
        with scratch(place.parent) as folder:
            fresh = folder / "fresh"
            fresh.mkdir()
            yield fresh
            with locked(place.parent):
                _keep(place, fresh, own() if callable(own) else own)
                _swap(fresh, place, folder / ASIDE)
    except OSError as error:
        raise OutputError(f"{target} cannot be written ({error.strerror}); what was there is untouched") from error


def _keep(old: Path, fresh: Path, own: Collection[str]) -> None:
    """Bring what stands in the folder `old`, if there is one, and is not its `own` into `fresh`, where it stands in
    both until one of them goes."""
    made = {str(parent) for path in own for parent in PurePosixPath(path).parents}
    for folder, folders, files in os.walk(old):
        inside = Path(folder).relative_to(old)
        for name in [*files, *(name for name in folders if (Path(folder) / name).is_symlink())]:
            if (inside / name).as_posix() not in own:
                if os.path.lexists(fresh / inside / name):
                    raise OutputError(f"{old / inside / name} is of no earlier build: move it away, or name another "
                                      "folder with -o")
                (fresh / inside).mkdir(parents=True, exist_ok=True)
                _bring(old / inside / name, fresh / inside / name)
        if not folders and not files and inside.as_posix() not in made:
            (fresh / inside).mkdir(parents=True, exist_ok=True)


def _bring(path: Path, to: Path) -> None:
    """Let a file, or a link itself, stand at `to` as well; its bytes are copied where the file system has no links."""
    try:
        os.link(path, to, follow_symlinks=False)
    except OSError:
        shutil.copy2(path, to, follow_symlinks=False)


def _swap(fresh: Path, target: Path, aside: Path) -> None:
    """Move `fresh` to `target`; an older folder steps aside first, from where it comes back if that fails."""
    if target.exists():
        fresh.chmod(target.stat().st_mode & 0o7777)
        aside.mkdir()
        target.rename(aside / target.name)
    fresh.rename(target)
