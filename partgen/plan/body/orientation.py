"""How a module may lie: its turns as rotations by quarter turns, and what each asks of the room about it."""

from collections.abc import Sequence

from msgspec import Struct

from partgen.describe.cargo_tables import LooksOut, Module
from partgen.packing.box import FACES, SIDES, Orientation, Rectangle
from partgen.plan.fastening import FLOOR, STRAP_DEEP, standoff
from partgen.plan.outline import Patch, grown, hull

GAP = 1.0               # round every module
HANG = 3.0              # of what hangs in a panel over the floor: its bezel has an edge below too
TAPE = 1.0              # thickness of double-sided tape
BOSS_WALL = 2.0         # round a boss's screw
STRAP = 4.0             # beside a strapped module: the slot that the strap goes down through
STRAP_WIDE, STRAP_THICK = 10.4, 2.2     # slot for a strap 10 mm wide
STRAP_OFF = 1.0         # slot to module

Triple = tuple[float, float, float]
Matrix = tuple[Triple, Triple, Triple]

NORMALS: dict[str, Triple] = {"front": (1, 0, 0), "back": (-1, 0, 0), "left": (0, 1, 0), "right": (0, -1, 0),
                              "top": (0, 0, 1),                              "bottom": (0, 0, -1)}
UPRIGHT: Matrix = ((1, 0, 0), (0, 1, 0), (0, 0, 1))
TILTS: dict[str, dict[str, Matrix]] = {
    "side": {"on its left side": ((1, 0, 0), (0, 0, 1), (0, -1, 0)),
             "on its right side": ((1, 0, 0), (0, 0, -1), (0, 1, 0))},
    "end": {"on its front end": ((0, 0, 1), (0, 1, 0), (-1, 0, 0)),
            "on its back end": ((0, 0, -1), (0, 1, 0), (1, 0, 0))},
    "over": {"upside down": ((1, 0, 0), (0, -1, 0), (0, 0, -1))},
}
"""By the word in `Module.turns`: what each turn is called, and the rotation from the module's axes to the wagon's."""


class Turn(Struct, frozen=True):
    """A rotation from a module's own axes (x forward, y left, z up as measured) into the wagon's."""

    name: str
    matrix: Matrix

    def face(self, side: str) -> str:
        """Return where the module's face `side` looks in the wagon."""
        normal = self.point(NORMALS[side])
        return next(face for face, other in NORMALS.items() if other == normal)

    def point(self, at: Sequence[float]) -> Triple:
        """Return a point [mm] or direction of the module in the wagon's axes."""
        x, y, z = (sum(k * value for k, value in zip(row, at, strict=True)) for row in self.matrix)
        return x, y, z

    def size(self, module: Module) -> Triple:
        """Return the module's extent [mm] along the wagon's x, y and z."""
        return self.extent((module.length, module.width, module.height))

    def extent(self, sides: Sequence[float]) -> Triple:
        """Return the extent [mm] along the wagon's x, y and z of what has those along the module's."""
        x, y, z = map(abs, self.point(sides))
        return x, y, z


def turns_of(module: Module) -> tuple[Turn, ...]:
    """Return every way the module may lie: as measured first, and no face that looks out turned from its kind."""
    tilts = {"": UPRIGHT}
    for word in module.turns:
        tilts |= TILTS.get(word, {}) if module.mount != "bosses" else {}
    found = []
    for tilt, matrix in tilts.items():
        for quarter in range(4 if "round" in module.turns else 1):
            name = ", ".join(filter(None, (tilt, f"turned {90 * quarter} deg" if quarter else "")))
            found.append(Turn(name or "as measured", matrix))
            forward, (x, y, z), up = matrix
            matrix = (-x, -y, -z), forward, up
    # What looks down from a lead does so however its board lies.
    kept = [opening.side for opening in module.looks_out if opening.side != "bottom" or not module.head]
    return tuple(turn for turn in found if all(_kept(turn, side) for side in kept))


def _kept(turn: Turn, side: str) -> bool:
    """What looks up or down keeps doing so; what looks out sideways may choose its wall."""
    return turn.face(side) == side if side in ("top", "bottom") else turn.face(side) in SIDES


def orientation_of(module: Module, turn: Turn, floor: float = FLOOR) -> Orientation:
    """Return what the module asks for when it lies turned by `turn` on a floor so thick [mm]."""
    size, feet, through = turn.size(module), tuple(_feet(module, turn)), dict.fromkeys(FACES, 0.0)
    room = {turn.face(side): module.room(side) for side in FACES}
    out = tuple(turn.face(opening.side) for opening in module.looks_out if opening.side != "bottom")
    if module.mount == "strap":
        along, stays = strapped_along(size, out), floor - STRAP_DEEP
        for side in ("front", "back") if along else ("left", "right"):
            room[side] = max(room[side], STRAP)
            through[side] = STRAP_OFF + STRAP_THICK + stays / 2
        long, wide = (side + 2 * (STRAP_OFF + STRAP_THICK) for side in size[:2])
        cut = (long, STRAP_WIDE) if along else (STRAP_WIDE, wide)
        feet = (grown(Patch(size[0] / 2, size[1] / 2, *cut).spans, stays),)
    return Orientation(
        size, tuple(room[face] for face in FACES), out,
        lift=max({"bosses": standoff(module), "panel": HANG, "tape": TAPE}.get(module.mount, 0.0), room["bottom"]),
        feet=feet, seen=_window(
            module, turn, [opening for opening in module.looks_out if opening.side == "top"]),
        plugs=tuple(turn.face(side) for side in dict.fromkeys(module.plugs)),
        through=tuple(through.values()))


def strapped_along(size: Sequence[float], out: Sequence[str]) -> bool:
    """Does the strap round a module of that size [mm] go down before and behind it, not on its left and right? It goes
    the shorter way round, but not down between a face that looks `out` and its wall where the other way is free."""
    across, along = ({*out} & {*sides} for sides in (("left", "right"), ("front", "back")))
    return size[0] < size[1] if bool(across) == bool(along) else bool(across)


def _window(module: Module, turn: Turn, openings: Sequence[LooksOut]) -> Rectangle | None:
    """Return what the lid leaves open for all that looks up, from its rear right corner."""
    if not openings:
        return None
    length, width, _ = turn.size(module)
    shown = []
    for opening in openings:
        (x, y, _), (wide, deep, _) = turn.point(opening_middle(module, opening)), opening_size(opening, turn)
        shown.append(Patch(x + length / 2, y + width / 2, wide, deep).spans)
    return hull(shown)


def _feet(module: Module, turn: Turn) -> list[Rectangle]:
    """Return what the screw bosses cover, each from its rear right corner."""
    wide, (length, width, _) = module.hole + 2 * BOSS_WALL, turn.size(module)
    middles = [turn.point((*hole, 0.0)) for hole in module.holes if module.mount == "bosses"]
    return [Patch(x + length / 2, y + width / 2, wide, wide).spans for x, y, _ in middles]


def opening_middle(module: Module, opening: LooksOut) -> Triple:
    """Return the middle [mm] of an opening in the module's own axes, from the middle of the module."""
    half = (module.length / 2, module.width / 2, module.height / 2)
    aside, rise = _face_axes(opening.side)
    x, y, z = (n * h + opening.aside * a + opening.rise * r
               for n, h, a, r in zip(NORMALS[opening.side], half, aside, rise, strict=True))
    return x, y, z


def opening_size(opening: LooksOut, turn: Turn) -> Triple:
    """Return an opening's extent [mm] along the wagon's x, y and z; 0 through the wall."""
    aside, rise = _face_axes(opening.side)
    return turn.extent([opening.width * a + opening.height * r for a, r in zip(aside, rise, strict=True)])


def _face_axes(side: str) -> tuple[Triple, Triple]:
    """Return the directions in which an opening on face `side` counts `aside` and `rise`, in the module's axes."""
    if side in ("top", "bottom"):
        return (0, 1, 0), (1, 0, 0)
    return ((1, 0, 0) if side in ("left", "right") else (0, 1, 0)), (0, 0, 1)
