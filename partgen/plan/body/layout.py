"""Where each module lies in the body, what inside that needs, and what to change where they do not fit."""

from collections.abc import Iterable
from math import inf

from msgspec import Struct

from partgen.describe.cargo_tables import LooksOut, Module
from partgen.packing.box import FACES, Box, NoRoom, Orientation, Packed, Space, Spot, Task
from partgen.packing.explain import Misfit, explain
from partgen.packing.pack import pack
from partgen.plan.body.orientation import GAP, Turn, opening_middle, opening_size, orientation_of, turns_of
from partgen.plan.context import Context
from partgen.plan.outline import Patch, Span

FENCE = 1.6             # thickness of the low rib between two modules
BESIDE_FENCE = FENCE + 2 * GAP
WALL_GAP = 0.8          # between a face that looks out and its wall: past the fillet at the wall's foot
EASE = 0.4              # of an opening beyond what is seen through it, both sides together


class Placed(Patch, frozen=True):
    """A module in the body: its outline from above and its `height` [mm] as it lies, and its height `z` over the floor
    [mm]; `on` is the place of the module that carries it."""

    height: float
    z: float
    name: str
    module: Module
    turn: Turn
    orientation: Orientation
    on: int | None = None

    @property
    def box(self) -> tuple[Span, Span, Span]:
        """From where to where [mm] it reaches along x, y and z, from the middle of the floor's upper face."""
        return (*self.spans, (self.z, self.z + self.height))


class Cutout(Struct, frozen=True):
    """What a module shows to the outside: the wall it looks through (a face of the body), its middle and its
    extent along x, y and z [mm], from the middle of the floor's upper face."""

    name: str
    wall: str
    middle: tuple[float, float, float]
    size: tuple[float, float, float]


class Layout(Struct, frozen=True):
    """Modules in their places, ribs between them, the inside they need [mm], and how good that is proven to be.

    `wires` holds pairs of places in `placed`; `space` is what they were arranged in, `aims` as in
    `packing.box.Packed`; `misfit` says what is wrong where they do not fit: they then lie in a plain row,
    whatever the body is.
    """

    placed: tuple[Placed, ...]
    fences: tuple[float, ...]
    length: float
    height: float
    wires: tuple[tuple[int, int], ...]
    space: Space
    aims: tuple[tuple[str, float, float], ...] = ()
    misfit: Misfit | None = None

    @property
    def cutouts(self) -> tuple[Cutout, ...]:
        """Every opening that a module needs in walls, floor or lid."""
        return tuple(_cutout(placed, opening) for placed in self.placed for opening in placed.module.looks_out)


def arrange(context: Context, space: Space) -> Layout:
    """Lay the wagon's modules out in `space` as short, as well balanced and as shortly wired as they go."""
    names, wagon = context.wagon.modules, context.wagon
    modules = [context.modules[name] for name in names]
    turned = [{turn: orientation_of(module, turn) for turn in turns_of(module)} for module in modules]
    # Where a lip holds a module, a fence goes between it and the next.
    boxes = tuple(Box(name, module.mass, tuple(turns.values()), BESIDE_FENCE if module.mount == "lip" else GAP,
                      module.carries, module.lies_on_top)
                  for name, module, turns in zip(names, modules, turned, strict=True))
    task = Task(boxes, space, tuple((names.index(a), names.index(b)) for a, b in wagon.wires), wagon.levels)
    found = pack(task)
    misfit = explain(task, found) if isinstance(found, NoRoom) else None
    packed = _plain_row(task) if isinstance(found, NoRoom) else found
    placed = tuple(_placed(name, module, spot, turns) for name, module, spot, turns
                   in zip(names, modules, packed.spots, turned, strict=True))
    return Layout(placed, fences(placed), packed.length, packed.height, task.wires, space, packed.aims,
                  misfit)


def _placed(name: str, module: Module, spot: Spot, turns: dict[Turn, Orientation]) -> Placed:
    turn = next(turn for turn, orientation in turns.items() if orientation == spot.orientation)
    length, width, height = spot.orientation.size
    return Placed(spot.x + length / 2, spot.y + width / 2, length, width, height, spot.z, name, module, turn,
                  spot.orientation, spot.on)


def _plain_row(task: Task) -> Packed:
    """Return the boxes in a row in the order given, each as measured, for a body that has no room for them."""
    spots, reach = [], 0.0
    for box in task.boxes:
        way = box.orientations[0]
        reach -= max(box.border, way.room[0]) + way.size[0]
        spots.append(Spot(way, reach, -way.size[1] / 2, way.lift))
        reach -= max(box.border, way.room[1])
    middled = tuple(Spot(spot.orientation, spot.x - reach / 2, spot.y, spot.z) for spot in spots)
    return Packed(middled, -reach, task.space.width[1],
                  max(spot.z + spot.orientation.size[2] + max(GAP, spot.orientation.room[4]) for spot in spots), ())


def fences(placed: Iterable[Placed]) -> tuple[float, ...]:
    """Return x [mm] of the ribs that cross the body clear of every module, front one first.

    A rib stands right behind the face that needs less room before it, so that it holds that module.
    """
    found, reach, room = [], -inf, 0.0
    for one in sorted(placed, key=lambda placed: placed.box[0]):
        start, stop = one.box[0]
        behind, before = max(room, GAP), max(one.orientation.room[1], GAP)
        if start - reach >= BESIDE_FENCE - 1e-6 and reach > -inf:
            x = reach + behind + FENCE / 2 if behind <= before else start - before - FENCE / 2
            found.append(min(max(x, reach + GAP + FENCE / 2), start - GAP - FENCE / 2))
        if stop > reach:
            reach, room = stop, one.orientation.room[0]
    return tuple(reversed(found))


def narrowest(context: Context, rim: float = 0.0) -> float:
    """Return the narrowest inside [mm] that takes every one of the wagon's modules by itself, what looks up `rim` [mm]
    from its walls."""
    modules = [context.modules[name] for name in context.wagon.modules]
    return max((min(_across(orientation_of(module, turn), rim) for turn in turns_of(module)) for module in modules),
               default=0.0)


def _across(way: Orientation, rim: float) -> float:
    """Return the inside width [mm] that a module takes by itself when it lies that way."""
    return way.size[1] + sum(to_wall(way, face, rim) for face in ("left", "right"))


def to_wall(way: Orientation, face: str, rim: float) -> float:
    """Return what a face needs [mm] from its wall or the lid; `rim` [mm] as in `Space`."""
    return way.to_wall(GAP, WALL_GAP, rim)[FACES.index(face)]


def _cutout(placed: Placed, opening: LooksOut) -> Cutout:
    x, y, z = placed.turn.point(opening_middle(placed.module, opening))
    return Cutout(placed.name, placed.turn.face(opening.side),
                  (placed.x + x, placed.y + y, placed.z + placed.height / 2 + z), opening_size(opening, placed.turn))
