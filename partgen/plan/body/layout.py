"""Where each module lies in the body, what inside that needs, and what to change where they do not fit."""

from collections.abc import Iterable, Iterator, Sequence
from math import inf

from msgspec import Struct
from msgspec.structs import replace

from partgen.describe import cable_table
from partgen.describe.cargo_tables import LooksOut, Module
from partgen.describe.printer_tables import Printer
from partgen.packing.box import AIMS, ANYWHERE, FACES, HARD, SIDES, Box, NoRoom, Orientation, Packed, Space, Spot, Task
from partgen.packing.cables import Cable, End, ends, shortest
from partgen.packing.explain import Misfit, explain
from partgen.packing.grid import astray
from partgen.packing.pack import pack
from partgen.plan.body import sensor_holder
from partgen.plan.body.orientation import (
    BOSS_WALL,
    GAP,
    STRAP,
    Turn,
    opening_middle,
    opening_size,
    orientation_of,
    strapped_along,
    turns_of,
)
from partgen.plan.body.wall_cut import wall_cut
from partgen.plan.context import Context
from partgen.plan.fastening import floor
from partgen.plan.fits import FOOT
from partgen.plan.outline import Patch, Span

FENCE = 1.6             # thickness of the low rib between two modules
WALL_GAP = 0.8          # between a face that looks out and its wall, at least: past the fillet at its foot
BESIDE = {"lip": 2.2 + FOOT, "bosses": BOSS_WALL + FOOT, "strap": STRAP}    # what they take of the floor beyond it
LEAD_MASS = 0.1         # g: its board is weighed where it lies
LEAST_OFF = 0.1         # mm that is said of what lies right in the middle and shall not


Named = Sequence[tuple[str, Module]]
Turned = list[tuple[Turn, Orientation]]


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
    def straps_along(self) -> bool:
        """Is it held by a strap that goes down before and behind it?"""
        return self.module.mount == "strap" and strapped_along((self.length, self.width), self.orientation.out)

    @property
    def box(self) -> tuple[Span, Span, Span]:
        """From where to where [mm] it reaches along x, y and z, from the middle of the floor's upper face."""
        return (*self.spans, (self.z, self.z + self.height))


class Lead(Patch, frozen=True):
    """Where the lead of what hangs under the floor comes up through it [mm]: its module, and how that is turned."""

    name: str
    module: Module
    turn: Turn
    orientation: Orientation

    @property
    def box(self) -> tuple[Span, Span, Span]:
        """From where to where [mm] it is kept free for it along x, y and z, as in `Placed`."""
        return (*self.spans, (0.0, self.orientation.size[2]))


class Cutout(Struct, frozen=True):
    """What a module shows to the outside: the wall it looks through (a face of the body, or the lid), its middle and
    its extent along x, y and z [mm], from the middle of the floor's upper face; `shape` and `panel` as described."""

    name: str
    wall: str
    middle: tuple[float, float, float]
    size: tuple[float, float, float]
    shape: str = "rectangle"
    panel: float = 0.0


class Layout(Struct, frozen=True):
    """Modules in their places, ribs between them, the inside they need [mm], and how good that is proven to be.

    `leads` are those of what looks down: it hangs under the floor, only where it is on a lead its board lies in the
    body. `wires` holds pairs of places in `ends`; `space` is what they were arranged in, `aims` as in
    `packing.box.Packed`; `misfit` says what is wrong where they do not fit: they then lie in a plain row,
    whatever the body is. `elsewhere` names those that do not lie where they shall, and by how much [mm]; `unwished`
    says what helps.
    """

    placed: tuple[Placed, ...]
    leads: tuple[Lead, ...]
    fences: tuple[float, ...]
    length: float
    width: float
    height: float
    wires: tuple[tuple[int, int], ...]
    space: Space
    aims: tuple[tuple[str, float, float], ...] = ()
    misfit: Misfit | None = None
    elsewhere: tuple[tuple[str, float], ...] = ()
    unwished: Misfit | None = None

    def unproven(self) -> tuple[tuple[str, float, float], ...]:
        """Return each aim in which the arrangement is not proven best, what it reached and what none can beat [mm]."""
        return tuple((name, reached, bound) for name, reached, bound in self.aims
                     if reached > bound + 1e-6 and name != "wishes")

    @property
    def ends(self) -> tuple[Placed | Lead, ...]:
        """What cables end at: the modules in the body, then the leads of what hangs under it."""
        return (*self.placed, *self.leads)

    @property
    def wired(self) -> tuple[tuple[str, str], ...]:
        """What every cable leads from and to, as the wires are ordered; a lead that joins a module to what of it looks
        down ends at its head."""
        ends, inside = self.ends, len(self.placed)
        return tuple((ends[one].name, "its head" if one < inside <= other and ends[one].name == ends[other].name else
                      ends[other].name) for one, other in self.wires)

    @property
    def cables(self) -> tuple[Cable, ...]:
        """How far [mm] every cable runs and where it leaves its plugs, all twice, as the wires are ordered."""
        every = self.ends
        return tuple(shortest(*_plugged(every[one]), *_plugged(every[other])) for one, other in self.wires)

    @property
    def runs(self) -> tuple[float, ...]:
        """How far [mm] every cable runs from plug face to plug face, as the wires are ordered."""
        return tuple(twice / 2 for twice, *_ in self.cables)

    def plugged(self, place: int) -> tuple[tuple[End, ...], tuple[float, float]]:
        """Return the ends of the plugs of what is at a place of `ends`, from its corner, and that corner [mm]."""
        return _plugged(self.ends[place])

    @property
    def cutouts(self) -> tuple[Cutout, ...]:
        """Every opening that a module needs in walls or lid."""
        return tuple(_cutout(placed, opening) for placed in self.placed for opening in placed.module.looks_out
                     if opening.side != "bottom")


def _plugged(one: Placed | Lead) -> tuple[tuple[End, ...], tuple[float, float]]:
    """Return the ends of a module's plugs from its corner, and that corner [mm]."""
    way = one.orientation
    return (ends((one.length, one.width), [HARD * room for room in way.room], way.plugs),
            (one.x - one.length / 2, one.y - one.width / 2))


def arrange(context: Context, insides: Iterable[tuple[Space, float]]) -> Layout:
    """Lay the wagon's modules out as short, narrow, low, well balanced and shortly wired as they go, in the first of
    some spaces in which they are no longer than the length [mm] beside it, else in the last."""
    wagon, described = context.wagon, [(name, context.modules[name]) for name in context.wagon.modules]
    inside = [(name, module) for name, module in described if module.head or not module.looks_down]
    below = [(name, module) for name, module in described if module.looks_down]
    names, (boxes, turned) = [name for name, _ in (*inside, *below)], _boxes(context, inside, below)
    heads = ((names.index(name), len(inside) + k) for k, (name, module) in enumerate(below) if module.head)
    wires = (*((names.index(a), names.index(b)) for a, b in wagon.wires),
             *((_nth(names, one.here), _nth(names, one.there)) for one in context.cables.joined), *heads)
    aims = ("wishes",) * any(box.at != ANYWHERE for box in boxes) + AIMS
    *others, (last, _) = insides
    for space, longest in (*others, (last, inf)):
        task = Task(boxes, space, wires, wagon.levels, aims, longest)
        found = pack(task)
        if isinstance(found, Packed) and found.length <= longest:
            break
    misfit = explain(task, found) if isinstance(found, NoRoom) else None
    packed = _plain_row(task) if isinstance(found, NoRoom) else found
    ways = [next(turn for turn, way in turns if way == spot.orientation)
            for spot, turns in zip(packed.spots, turned, strict=True)]
    spots = list(zip(packed.spots, ways, strict=True))
    placed = tuple(_placed(name, module, *spot) for (name, module), spot in zip(inside, spots, strict=False))
    leads = tuple(_lead(name, module, *spot) for (name, module), spot in zip(below, spots[len(inside):], strict=True))
    ribs = fences((*placed, *leads), rib_thickness(context.printer), context.printer.line_width)
    lost = astray(task, packed) if isinstance(found, Packed) else ()
    return Layout(placed, leads, ribs, packed.length, packed.width, packed.height, wires, space, packed.aims, misfit,
                  tuple((boxes[place].name, _off(boxes[place].at, (*placed, *leads)[place], packed.length))
                        for place in lost), explain(replace(task, aims=AIMS), NoRoom(proven=True)) if lost else None)


def _nth(names: Sequence[str], end: cable_table.End) -> int:
    """Return the place of the module that a cable ends at."""
    return [k for k, name in enumerate(names) if name == end.what][end.which - 1]


def _off(at: str, one: Patch, length: float) -> float:
    """Return how far [mm] the middle of what does not lie where it shall is from there."""
    third = length / 6
    return max({"front": third - one.x, "back": third + one.x, "middle": abs(one.x) - third, "left": -one.y,
                "right": one.y}[at], LEAST_OFF)


def _boxes(context: Context, inside: Named, below: Named) -> tuple[tuple[Box, ...], list[Turned]]:
    """Return what is packed, the modules in the body and then the leads of what hangs under it, and how each may lie.
    """
    turned = [[(turn, replace(orientation_of(module, turn, floor(context.printer)),
                              cuts=tuple(_cuts(module, turn, context)))) for turn in turns_of(module)]
              for _, module in inside]
    turned += [sensor_holder.ways_down(context, module) for _, module in below]
    # Where a lip holds a module, a fence goes between it and the next.
    ways = [tuple(way for _, way in turns) for turns in turned]
    fenced = rib_thickness(context.printer) + 2 * GAP
    own = dict(context.wagon.at)
    shall = {name: own.get(name, module.at) for name, module in (*inside, *below)}
    boxes = [Box(name, module.mass, lying, fenced if module.mount == "lip" else GAP, module.carries, module.lies_on_top,
                 shall[name])
             for (name, module), lying in zip(inside, ways, strict=False)]
    # A lead's way stays clear of what stands or goes through the floor beside a module: bosses and strap slots.
    edge = max((BESIDE[module.mount] + context.printer.thinnest_wall for _, module in inside if module.mount in BESIDE),
               default=GAP)
    boxes += [Box(name, LEAD_MASS if module.head else module.mass, lying, edge,
                  at=ANYWHERE if module.head else shall[name])
              for (name, module), lying in zip(below, ways[len(inside):], strict=True)]
    return tuple(boxes), turned


def _cuts(module: Module, turn: Turn, context: Context) -> Iterator[tuple[str, Span, Span]]:
    """Yield what a module takes of walls, as `Orientation` has it, where no corner, floor or lid cuts it short."""
    half = [side / 2 for side in turn.size(module)]
    for opening in module.looks_out:
        if (face := turn.face(opening.side)) in SIDES:
            axis, size = int(face in FACES[:2]), opening_size(opening, turn)
            cut = wall_cut((size[axis], size[2]), opening.shape, opening.panel, context.wagon.wall, context.printer)
            middle = [at + way for at, way in zip(turn.point(opening_middle(module, opening)), half, strict=True)]
            reach = cut.width / 2 + cut.beyond, cut.height / 2 + cut.beyond
            yield face, (middle[axis] - reach[0], middle[axis] + reach[0]), (
                middle[2] - reach[1], middle[2] + reach[1] + cut.gable)


def _placed(name: str, module: Module, spot: Spot, turn: Turn) -> Placed:
    length, width, height = spot.orientation.size
    return Placed(spot.x + length / 2, spot.y + width / 2, length, width, height, spot.z, name, module, turn,
                  spot.orientation, spot.on)


def _lead(name: str, module: Module, spot: Spot, turn: Turn) -> Lead:
    length, width, _ = spot.orientation.size
    return Lead(spot.x + length / 2, spot.y + width / 2, length, width, name, module, turn, spot.orientation)


def _plain_row(task: Task) -> Packed:
    """Return the boxes in a row in the order given, each as measured, for a body that has no room for them."""
    spots, reach = [], 0.0
    for box in task.boxes:
        way = box.orientations[0]
        reach -= max(box.border, way.room[0]) + way.size[0]
        spots.append(Spot(way, reach, -way.size[1] / 2, way.lift))
        reach -= max(box.border, way.room[1])
    middled = tuple(Spot(spot.orientation, spot.x - reach / 2, spot.y, spot.z) for spot in spots)
    return Packed(middled, -reach, task.space.width[0],
                  max(spot.z + spot.orientation.size[2] + max(GAP, spot.orientation.room[4]) for spot in spots), ())


def rib_thickness(printer: Printer) -> float:
    """Return how thick [mm] fences and lips are."""
    return max(FENCE, printer.thinnest_wall)


def fences(placed: Iterable[Placed | Lead], rib: float, line: float) -> tuple[float, ...]:
    """Return x [mm] of the ribs, `rib` thick, that cross the body clear of modules, leads and straps, and a `line` of
    bosses, front one first.

    A rib stands right behind the face that needs less room before it, so that it holds that module.
    """
    found, reach, room, edge = [], -inf, 0.0, -inf
    ahead = sorted(placed, key=lambda placed: placed.box[0])
    for number, one in enumerate(ahead):
        start, stop = one.box[0]
        behind, before = max(room, GAP), max(one.orientation.room[1], GAP)
        low, high = edge + rib / 2, min(other.box[0][0] - _clear(other, line) for other in ahead[number:]) - rib / 2
        if high >= low - 1e-6 and reach > -inf:
            x = reach + behind + rib / 2 if behind <= before else start - before - rib / 2
            found.append(min(max(x, low), high))
        edge = max(edge, stop + _clear(one, line))
        if stop > reach:
            reach, room = stop, one.orientation.room[0]
    return tuple(reversed(found))


def _clear(one: Placed | Lead, line: float) -> float:
    """Return how far [mm] a rib stands off the ends of a module or lead: past the slots of a strap along it, and a
    `line` off its bosses."""
    if isinstance(one, Placed) and one.straps_along:
        return STRAP
    return max([GAP, *(line + max(end - one.length, -start) for (start, end), _ in one.orientation.feet)])


def narrowest(context: Context, rim: float = 0.0) -> float:
    """Return the narrowest inside [mm] that takes every one of the wagon's modules by itself, what looks up `rim` [mm]
    from its walls."""
    touch = wall_gap(context.printer)
    return max((min(_across(way, rim, touch) for way in _ways(module)) for module in _inside(context)), default=0.0)


def lowest(context: Context) -> float:
    """Return the lowest inside [mm] that takes every one of the wagon's modules by itself."""
    return max((min(way.lift + way.size[2] + to_wall(way, "top", 0.0) for way in _ways(module))
                for module in _inside(context)), default=0.0)


def _inside(context: Context) -> list[Module]:
    """Return the modules that lie in the body."""
    modules = [context.modules[name] for name in context.wagon.modules]
    return [module for module in modules if module.head or not module.looks_down]


def _ways(module: Module) -> list[Orientation]:
    return [orientation_of(module, turn) for turn in turns_of(module)]


def _across(way: Orientation, rim: float, touch: float) -> float:
    """Return the inside width [mm] that a module takes by itself when it lies that way."""
    return way.size[1] + sum(to_wall(way, face, rim, touch) for face in ("left", "right"))


def to_wall(way: Orientation, face: str, rim: float, touch: float = WALL_GAP) -> float:
    """Return what a face needs [mm] from its wall or the lid; `rim` and `touch` [mm] as in `Space`."""
    return way.to_wall(GAP, touch, rim)[FACES.index(face)]


def wall_gap(printer: Printer) -> float:
    """Return how far [mm] a face that looks out stays from its wall: a lip beside it leaves a line of air before it."""
    return max(WALL_GAP, printer.line_width)


def _cutout(placed: Placed, opening: LooksOut) -> Cutout:
    x, y, z = placed.turn.point(opening_middle(placed.module, opening))
    return Cutout(placed.name, placed.turn.face(opening.side),
                  (placed.x + x, placed.y + y, placed.z + placed.height / 2 + z), opening_size(opening, placed.turn),
                  opening.shape, opening.panel)
