"""Modules in a row along the body: where each lies and what inside size that needs."""

from dataclasses import dataclass

from partgen.describe.module import Module

GAP = 1.0               # round every module, and half of it for each of two neighbours
FENCE = 1.6             # thickness of the low rib between two modules


@dataclass(frozen=True, slots=True)
class Placed:
    """A module in the body: middle of its underside (x, y) [mm] over the floor, and its box [mm]."""

    name: str
    module: Module
    x: float
    y: float
    length: float
    width: float
    height: float


@dataclass(frozen=True, slots=True)
class Row:
    """Modules in a row: their places about the row's middle, fences between them, inside size needed [mm]."""

    placed: tuple[Placed, ...]
    fences: tuple[float, ...]
    length: float
    width: float
    height: float


def room(module: Module, side: str) -> float:
    """Return the free room [mm] that `module` needs beyond its own box on `side`."""
    return module.plug_room if side in module.plugs else 0.0


def in_a_row(modules: dict[str, Module], names) -> Row:
    """Lay the named modules in a row, front one first (largest x)."""
    spans = [GAP + room(modules[n], "back") + modules[n].length + room(modules[n], "front") + GAP for n in names]
    total = sum(spans) + FENCE * max(len(names) - 1, 0)
    placed, fences, edge = [], [], total / 2
    for name, span in zip(names, spans):
        module = modules[name]
        x = edge - GAP - room(module, "front") - module.length / 2
        y = (room(module, "right") - room(module, "left")) / 2
        placed.append(Placed(name, module, x, y, module.length, module.width, module.height))
        edge -= span
        fences.append(edge - FENCE / 2)
        edge -= FENCE
    width = max((m.width + room(m, "left") + room(m, "right") + 2 * GAP for m in map(modules.get, names)),
                default=0.0)
    height = max((m.height + room(m, "top") + GAP for m in map(modules.get, names)), default=0.0)
    return Row(tuple(placed), tuple(fences[:-1]), total, width, height)
