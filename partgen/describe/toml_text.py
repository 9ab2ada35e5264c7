"""TOML text: read from a path, or refused with a plain word about why it is of no use."""

import re
import tomllib
from pathlib import Path
from stat import S_ISDIR, S_ISREG
from textwrap import fill
from typing import Any
from unicodedata import normalize

from partgen.describe.wording import path_text, value_text
from partgen.errors import DescriptionError, Fault

WIDTH = 96              # of what is written
NEW = "`partgen new FILE` writes one to start from"
LARGEST = 1_000_000
LONGEST_LINE = 2_000
_DEEPEST, _BROADEST = 8, 200

_PLACE = re.compile(r"(.*) \(at (?:line (\d+), column (\d+)|end of document)\)", re.DOTALL)
_SLIPS = (
    (re.compile(r"^[^\"'=:#]*[^\0-\x7f]"), 'put the name in straight quotes, as in [cup."café"]'),
    (re.compile(r"=\s*[+-]?\d+,\d"), "write a decimal point, not a comma"),
    (re.compile(r"=\s*[+-]?[\d.]+\s*[^\W\d_]"), "leave the unit out, every number has its own"),
    (re.compile(r"=\s*(yes|no|True|False|on|off)\b"), "write true or false"),
    (re.compile(r"=\s*(#.*)?$"), "write a value after the equals sign, or delete the line"),
    (re.compile(r"=\s*[^\W\d]"), "put text in double quotes"),
    (re.compile(r"^\s*\w[\w -]*:"), "write name = value"),
)


def text_at(path: Path, begun: str = NEW) -> str:
    """Return the UTF-8 text of the file at `path`; what writes one is `begun` with.

    Raises DescriptionError when it cannot be read, saying why, or is no such text, saying at which byte.
    """
    raw = _content(path, begun)
    try:
        return raw.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = raw.count(b"\n", 0, error.start) + 1
        raise _refusal(path.name, f"is not UTF-8 text at byte {error.start + 1}, line {line}: "
                                  "is this the right file? If so, save it as UTF-8") from error


def _content(path: Path, begun: str) -> bytes:
    """Return the bytes of a file, at most LARGEST."""
    try:
        found = path.stat()
        if S_ISDIR(found.st_mode):
            raise _refusal(path, "is a folder: name the description file in it")
        if not S_ISREG(found.st_mode):
            raise _refusal(path, "is not an ordinary file")
        if found.st_size > LARGEST:
            raise _refusal(path, f"has {found.st_size / 1e6:.3g} MB, a description at most "
                                 f"{LARGEST / 1e6:g} MB: is this the right file?")
        with path.open("rb") as file:
            return file.read(LARGEST)
    except FileNotFoundError:
        raise _refusal(path, f"there is no such file; {begun}") from None
    except (OSError, ValueError) as error:
        raise _refusal(path, f"cannot be read: {getattr(error, 'strerror', None) or error}") from error


def composed(text: str) -> str:
    """Return `text` with every letter and its accents as one sign where there is one (NFC of Unicode), so that names
    that look alike are alike."""
    return normalize("NFC", text)


def parsed(text: str, where: str, begun: str = NEW) -> dict[str, Any]:
    """Return the TOML data in `text`; what writes one is `begun` with.

    Raises DescriptionError with line, column and the likely slip.
    """
    if len(text) > LARGEST:
        raise _refusal(where, f"is over {LARGEST / 1e6:g} MB: is this the right file?")
    if not text.strip():
        raise _refusal(where, f"is empty: {begun}")
    if "\r" in text.replace("\r\n", ""):
        raise _refusal(where, "ends its lines with CR alone, as very old computers did: save it with LF or CR LF")
    text = composed(text)
    lines = text.split("\n")
    for number, line in enumerate(lines, 1):
        if len(line) > LONGEST_LINE:
            raise _refusal(where, f"line {number} has {len(line)} letters: is this the right file?")
    try:
        return tomllib.loads(text)
    except RecursionError as error:
        raise _refusal(where, "lists or tables are nested too deeply") from error
    except ValueError as error:
        raise _refusal(where, _syntax(str(error), lines)) from error


def _syntax(message: str, lines: list[str]) -> str:
    """Say where TOML broke off, show the line, and name the usual slip when it is one."""
    found = _PLACE.fullmatch(message)
    if not found or not found[2]:
        return f"{message}: is a bracket or a quotation mark still open?"
    line = lines[int(found[2]) - 1].strip()
    cure = next((cure for slip, cure in _SLIPS if slip.search(line)), "")
    return (f"line {found[2]}, column {found[3]}: {found[1][0].lower()}{found[1][1:]} in {value_text(line)}"
            + (f": {cure}" if cure else ""))


def _refusal(where: Path | str, message: str) -> DescriptionError:
    where = str(where)
    return DescriptionError([Fault(where if where.isprintable() else repr(where), message)])


def frozen(value: Any, *steps: str | int) -> Any:
    """Return TOML data, standing at path `steps`, with its lists as tuples, which the strict models ask for.

    Raises DescriptionError where tables are deeper or broader than any description's.
    """
    if len(steps) > _DEEPEST or (isinstance(value, dict) and len(value) > _BROADEST):
        size = "is nested too deeply" if len(steps) > _DEEPEST else f"holds {len(value)} entries"
        name = path_text(*steps[:3])
        raise _refusal(name, f"{name or 'the file'} {size}: no description is like that")
    if isinstance(value, dict):
        return {key: frozen(entry, *steps, key) for key, entry in value.items()}
    if isinstance(value, list):
        return tuple(frozen(entry, *steps, place) for place, entry in enumerate(value))
    return value


def comment(text: str | None) -> str:
    """Return `text` as lines of comment."""
    return fill(text or "", WIDTH, initial_indent="# ", subsequent_indent="# ", break_on_hyphens=False)
