"""What is packed, where into, and what comes out: plain boxes in millimetres, without a solver.

The floor's middle is the origin: x forward, y left, z upwards from the floor. The rules, all of them:

- Every box lies in one of its orientations, on the floor (its `lift` over it) or on one box that carries.
- Two boxes are apart when along x, y or z the free distance between them is enough for the two faces that
  look at each other: the larger of their rooms, both boxes' border, and together the hard part of both plugs, or
  what goes down through the floor there. So two plugs may share the room where their cables bend, but neither a box
  nor another plug stands in a plug's way, and no two slots in the floor meet.
- A box that shall lie at the front, in the middle or at the back has its middle in that third of the length, one that
  shall lie left or right has it on that side; with "wishes" among the aims, as many do as can.
- A body wider than a figure of `slim` is no longer than the length beside it.
- A face that looks out stands at its wall; every other face keeps its room, or the gap, from wall and lid.
- A box on top lies within the outline of the one that carries it.
- The feet of a box on the floor stand clear of every zone where the floor is taken.
- A window through the floor lies in the window's strip and clear of every blind zone, and no two are beside each other.
- What two boxes take of one wall is a `land` apart, along it or in height.
- What the lid leaves open over a box stays clear of the lid's rim, save at a wall that the box looks out of.
"""

from math import inf

from msgspec import Struct

FACES = ("front", "back", "left", "right", "top", "bottom")
SIDES = FACES[:4]       # those with a wall to stand at
ANYWHERE = "anywhere"
HARD = 0.6              # share of a plug's room that is plug; the rest is its cable's bend

Span = tuple[float, float]
Rectangle = tuple[Span, Span]
"""From where to where along x and along y [mm]."""


class Orientation(Struct, frozen=True):
    """One way for a box to lie, in the body's axes; lengths in mm.

    `room` is the free room that each of FACES needs; `out` names the faces that stand at their wall, or see
    through lid or floor; `window` is what the floor leaves open under it, `seen` what the lid leaves open over it,
    and `feet` are what it stands on where that is not its own underside, each as x and y from its rear right corner;
    `lift` is how high over the floor it stands; `plugs` are the faces that cables go in at; `through` is how far from
    each of FACES the floor is cut, no other's cut with it; `cuts` are what it takes of walls: the face, from where to
    where along the wall, and in height, from the same corner.
    """

    size: tuple[float, float, float]
    room: tuple[float, ...] = (0.0,) * 6
    out: tuple[str, ...] = ()
    window: Rectangle | None = None
    lift: float = 0.0
    feet: tuple[Rectangle, ...] = ()
    seen: Rectangle | None = None
    plugs: tuple[str, ...] = ()
    through: tuple[float, ...] = (0.0,) * 6
    cuts: tuple[tuple[str, Span, Span], ...] = ()

    def from_wall(self, rim: float) -> tuple[float, ...]:
        """Return how far [mm] each of FACES stays from its wall so that what the lid leaves open stays `rim` away."""
        if self.seen is None:
            return (0.0,) * 6
        (x0, x1), (y0, y1) = self.seen
        sides = (self.size[0] - x1, x0, self.size[1] - y1, y0)
        return (*(max(rim - side, 0.0) for side in sides), 0.0, 0.0)

    def to_wall(self, gap: float, touch: float, rim: float) -> tuple[float, ...]:
        """Return what each of FACES needs [mm] from its wall, lid or floor; `gap`, `touch`, `rim` as in Space."""
        return tuple(touch if face in self.out and face in SIDES else max(gap, room, seen)
                     for face, room, seen in zip(FACES, self.room, self.from_wall(rim), strict=True))


class Box(Struct, frozen=True):
    """A thing to be packed: mass [g], `border` [mm] to its neighbours, may it carry, or lie on another, and where it
    shall lie: "front", "middle", "back", "left", "right" or anywhere."""

    name: str
    mass: float
    orientations: tuple[Orientation, ...]
    border: float = 1.0
    carries: bool = False
    climbs: bool = False
    at: str = ANYWHERE


class FloorZone(Struct, frozen=True):
    """A stretch of the floor between two x and two y [mm]; both count from the middle, x where `end` is 1 or -1 from
    the front or the rear wall, y where `side` is 1 or -1 from the left or the right wall; forward and left are
    positive everywhere."""

    x: Span
    y: Span
    end: int = 0
    side: int = 0


class Space(Struct, frozen=True):
    """The inside of a body: least and largest length, width and height [mm], and what its floor is taken for.

    `gap` is kept between a face without plugs and wall or lid, `touch` between a face that looks out and its
    wall, `layer` between a box and the one on top. `taken` zones bear no foot, `blind` zones no window; a window
    has its middle at `station` along the body, where that is given, and lies within `strip` across. What the lid
    leaves open stays `rim` from every wall that its box does not stand at, and `land` stays of a wall between what two
    boxes take of it. The body is carried `carried` before and
    behind its middle: what is beyond hangs over. `slim` holds widths and lengths, as in the rules above.
    """

    length: Span
    width: Span
    height: Span = (0.0, inf)
    gap: float = 1.0
    touch: float = 0.3
    layer: float = 1.0
    taken: tuple[FloorZone, ...] = ()
    blind: tuple[FloorZone, ...] = ()
    station: float | None = None
    strip: Span = (-inf, inf)
    rim: float = 0.0
    land: float = 0.0
    carried: float = inf
    slim: tuple[tuple[float, float], ...] = ()


AIMS = ("length", "width", "height", "balance", "runs")


class Task(Struct, frozen=True):
    """What to pack: boxes, their space, pairs of connected boxes by place, on how many levels.

    `aims` are met in their order, each without giving up what those before it reached; beside those of
    `Packed` there are "station": windows as near to their station as they can be, instead of at it; and "wishes": as
    few boxes as can be that do not lie where they shall, instead of none. An arrangement longer than `longest` [mm]
    is of no use: the search ends with the length. `effort` says how hard to search in all, in the solver's own measure
    of work, about a second and a half each on one core. Without aims any arrangement will do.
    """

    boxes: tuple[Box, ...]
    space: Space
    wires: tuple[tuple[int, int], ...] = ()
    levels: int = 1
    aims: tuple[str, ...] = AIMS
    longest: float = inf
    effort: float = 1.0


class Spot(Struct, frozen=True):
    """Where a box lies: how, its rear right low corner [mm], and the box that carries it by its place."""

    orientation: Orientation
    x: float
    y: float
    z: float
    on: int | None = None


class Packed(Struct, frozen=True, tag=True):
    """Every box's spot in the order given, and the space that they need.

    `aims` holds each aim with what was reached and what no arrangement can beat, both in mm: "length", "width"
    and "height" of the inside, "balance" (the centre of gravity from the floor's middle, along x, y and z, and how
    far beyond where the body is carried its mass lies on average, added), "runs" (of all wires, as in `cables`).
    Where both are equal, the arrangement is the best.
    """

    spots: tuple[Spot, ...]
    length: float
    width: float
    height: float
    aims: tuple[tuple[str, float, float], ...]


class NoRoom(Struct, frozen=True, tag=True):
    """Nothing was found; `proven` when nothing can be, else the search gave up."""

    proven: bool
