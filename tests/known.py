"""Trains whose every figure is kept as text, so that no change of one goes unseen.

    python tests/known.py           write what they come out as now

`known/NAME.toml` describes a train, `known/NAME.txt` holds a line for every figure of its plan, of what the checks
find, of its ride and of its solids. A change that alters a line on purpose writes it anew and says so in its commit.
What the figures ought to be, the other tests say.
"""

import inspect
from collections.abc import Iterator
from pathlib import Path

import msgspec
import numpy as np
from pydantic import BaseModel
from trains.edge import built, findings, loads, resolve, ridden

FOLDER = Path(__file__).with_name("known")
NAMES = sorted(file.stem for file in FOLDER.glob("*.toml"))
SOLID = "01", "05", "09"
"""Those that are built too: a solid takes a hundred times as long as its plan."""


def said(name: str) -> list[str]:
    """Return what the train of that name comes out as on paper, line by line."""
    train = resolve(loads(described(name)))
    seen: dict[int, tuple[str, object]] = {}
    return [*(line for plan in train.printed for line in told(plan.name, plan, seen)),
            *(_found(finding) for finding in findings(train)), *told("ride", ridden(train), seen)]


def shaped(name: str) -> list[str]:
    """Return what its solids come out as: size, volume and surface of every part, and what print checks find."""
    made, found = built(resolve(loads(described(name))))
    return [*(f"{part}: {_figures(figures)}" for part, figures in made), *(_found(finding) for finding in found)]


def described(name: str) -> str:
    """Return the description of a train."""
    return (FOLDER / f"{name}.toml").read_text(encoding="utf-8")


def told(path: str, value: object, seen: dict[int, tuple[str, object]]) -> Iterator[str]:
    """Yield a line for every figure in `value`, a tree of structs; one met before is told by where that was."""
    if isinstance(value, BaseModel) or callable(value):
        return
    if isinstance(value, msgspec.Struct) and id(value) in seen:
        yield f"{path}: as {seen[id(value)][0]}"
    elif isinstance(value, msgspec.Struct):
        seen[id(value)] = path, value       # kept, or another might get its number
        for name in (*value.__struct_fields__, *_properties(type(value))):
            inner = getattr(value, name)
            if type(inner) is not type(value):      # not a like one made of it, which makes another
                yield from told(f"{path}.{name}", inner, seen)
    elif isinstance(value, dict):
        for key, inner in value.items():
            yield from told(f"{path}.{key}", inner, seen)
    elif isinstance(value, (tuple, list)) and not _plain(value):
        for number, inner in enumerate(value, 1):
            yield from told(f"{path}[{number}]", inner, seen)
    else:
        yield f"{path}: {_figures(value)}"


def _properties(kind: type) -> list[str]:
    """Return the names of what a struct works out from its fields."""
    return sorted(name for name, one in inspect.getmembers(kind) if not name.startswith("_")
                  and (isinstance(one, property) or type(one).__name__ == "cached_property"))


def _plain(values: tuple | list) -> bool:
    return all(isinstance(value, (int, float, str)) or isinstance(value, (tuple, list)) and _plain(value)
               for value in values)


def _figures(value: object) -> str:
    """Return a value as text, figures to six places: another machine's last digits may be others."""
    if isinstance(value, (float, np.floating)):
        return f"{round(float(value), 9) + 0.0:.6g}"
    if isinstance(value, np.ndarray):
        return _figures(value.tolist())
    if isinstance(value, (tuple, list)):
        return "(" + ", ".join(map(_figures, value)) + ")"
    return str(value)


def _found(finding) -> str:
    return (f"{finding.check} {finding.subject}: {finding.verdict} {_figures(finding.value)} {finding.sense} "
            f"{_figures(finding.limit)} {finding.unit} {finding.reason}".strip())


if __name__ == "__main__":
    for train in NAMES:
        (FOLDER / f"{train}.txt").write_text("\n".join(said(train)) + "\n", encoding="utf-8")
    for train in SOLID:
        (FOLDER / f"{train}-solids.txt").write_text("\n".join(shaped(train)) + "\n", encoding="utf-8")
