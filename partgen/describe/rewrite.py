"""Write one value back into a description file, with its comments and layout kept."""

import os
from pathlib import Path

import tomlkit

from partgen.errors import OutputError


def rewritten(text: str, wagon: str, field: str, value: float) -> str:
    """Return TOML `text` in which the wagon of that name has `field` = `value`; all else to the letter."""
    document = tomlkit.parse(text)
    for table in document["wagon"]:
        if table["name"] == wagon:
            old = table.get(field)
            new = tomlkit.item(value)
            if old is not None:
                new.trivia.comment_ws, new.trivia.comment = old.trivia.comment_ws, old.trivia.comment
                new.trivia.trail = old.trivia.trail
            table[field] = new
    return tomlkit.dumps(document)


def write_back(path: Path, changes) -> None:
    """Write (wagon, field, value) changes into the file at `path`, complete or not at all.

    Raises OutputError when it cannot be written.
    """
    text = path.read_text(encoding="utf-8")
    for wagon, field, value in changes:
        text = rewritten(text, wagon, field, value)
    fresh = path.with_name(f".{path.name}.{os.getpid()}")
    try:
        fresh.write_text(text, encoding="utf-8")
        fresh.replace(path)
    except OSError as error:
        fresh.unlink(missing_ok=True)
        raise OutputError(f"{path} cannot be written ({error.strerror}); it is as it was") from error
