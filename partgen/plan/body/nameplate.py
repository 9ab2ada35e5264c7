"""The nameplate: on both side walls a sunk tablet in a flush frame, its raised letters flush with the posts.

So nothing stands out beyond the body. Vents, openings and lamps are where modules need them: the tablet goes where
they leave room. A plate printed apart lies flat, its letters in layers of their own, and is glued into a recess with
sloping edges. Places along a wall are counted as a WallOpening's are: from its middle, positive to the right as
seen from outside. Heights are over rail top; all in mm.
"""

from collections.abc import Iterable, Iterator, Sequence
from itertools import combinations, pairwise
from math import ceil, floor, inf

from msgspec import Struct
from msgspec.structs import replace

from partgen.plan.body.fittings import VENT, Fittings
from partgen.plan.body.opening import along, flutes
from partgen.plan.body.shell import BodyShell
from partgen.plan.body.typeface import letters
from partgen.plan.context import Context
from partgen.plan.fits import FOOT, peg
from partgen.plan.item import PartPlan, Place
from partgen.plan.outline import Span, Spans

RELIEF, SHALLOWEST = 0.5, 0.3   # of letters over their tablet (common practice: 0.4 to 0.6, no source)
STEEP = 0.085           # of a letter's height that it is raised by at most: the feet of a K would cross in its corners
FOOT_GAP = 0.2          # flat ground between the sloping feet of two strokes
LARGEST, SHARE = 10.0, 0.5      # of capitals, and what they take of a field's height
TRACK, SPACE = 0.25, 0.25       # between two letters, and what a space adds, by the height of a capital
ASIDE, ABOVE = 0.4, 0.3         # of ground beside and above the text, by the same
FRAME = 1.2             # round the tablet, and round the slope that leads to one printed apart
LEAST_PLAY = 0.05       # of that in its recess, where pegs print small
CLIP = 1.2              # off each corner of the tablet
CLEAR = 1.5             # from the frame to a vent, a lamp or the smooth band round an opening
BESIDE = 1.0            # from the frame to the rounded corners of the body
BASE, FILM = 0.6, 0.05  # least base of a plate printed apart (common practice, no source), and the glue behind it
STRIP = (4.0, 2.0)      # a narrower rest of a field along, or a lower one upwards, is left out
WALLS = ("left", "right")


class Tablet(Struct, frozen=True):
    """The nameplate on one wall: its middle along it and over rail top, and from where to where the wall stays flush
    for it along and upwards."""

    wall: str
    along: float
    z: float
    flush: Spans


class Nameplate(Struct, frozen=True):
    """A text in capitals `letter` high, raised by `relief`; both walls' tablets, none where it cannot be lettered.

    `least` is the height from which it prints legibly, `depth` what the wall leaves to sink letters into; `rooms` are
    the free rectangles of either wall, `beside` the flutes for screws' heads where those leave less than it takes. One
    printed apart, in a `layer` over 0, has a `base` below its letters and `play` all round in its recess.
    """

    text: str
    letter: float
    least: float
    depth: float
    frame: float
    rooms: tuple[tuple[Spans, ...], ...]
    tablets: tuple[Tablet, ...] = ()
    layer: float = 0.0
    base: float = 0.0
    play: float = 0.0
    beside: bool = False

    @property
    def relief(self) -> float:
        """How high [mm] its letters stand over the tablet."""
        if self.layer:
            return max(1, floor(RELIEF / self.layer + 1e-6)) * self.layer
        return min(RELIEF, self.depth, highest_relief(self.text, self.letter))

    @property
    def thickness(self) -> float:
        """Base and letters of a plate printed apart [mm]."""
        return self.base + self.relief

    @property
    def deep(self) -> float:
        """How deep the wall is sunk for it [mm]."""
        return self.thickness + FILM if self.layer else self.relief

    @property
    def outward(self) -> float:
        """By how much the ground sunk into the wall is larger all round than the tablet [mm]; negative: smaller."""
        return self.play if self.layer else -self.relief

    @property
    def shallowest(self) -> float:
        """The least depth [mm] that it can be sunk by."""
        return self.deep if self.layer else SHALLOWEST

    @property
    def least_relief(self) -> float:
        """The least relief [mm] that its letters must leave ground between their feet at."""
        return self.relief if self.layer else SHALLOWEST

    @property
    def size(self) -> tuple[float, float]:
        """Length and height of the sunk tablet at the wall's face [mm]."""
        length, height = tablet(self.text)
        return length * self.letter, height * self.letter

    @property
    def placed(self) -> tuple[tuple[str, float, float], ...]:
        """Each letter, and where its ink starts and its base line lies from the middle of the tablet [mm]."""
        low, high = _band(self.text)
        x, placed = -_width(self.text) / 2, []
        for one in self.text:
            placed += [(one, x * self.letter, -(low + high) / 2 * self.letter)] if one != " " else []
            x += (SPACE if one == " " else letters()[one].width) + TRACK
        return tuple(placed)

    def taken(self, shell: BodyShell) -> float:
        """Return the volume [mm3] that all tablets take out of walls whose fields stand back already."""
        deep = self.deep
        long, high = (side + 2 * self.outward + deep for side in self.size)
        ink = 0.0 if self.layer else self.ink
        bare = deep * long * high - 2 * deep * CLIP**2
        fields, levels = shell.fields(shell.length), shell.field_z
        filled = [shell.mean_recess * _shared(one.flush[1], levels)
                  * sum(_shared(one.flush[0], field) for field in fields) for one in self.tablets]
        return len(self.tablets) * (bare - ink) - sum(filled)

    @property
    def ink(self) -> float:
        """Volume [mm3] of its letters over the tablet."""
        drawn, deep = [letters()[one] for one, *_ in self.placed], self.relief
        return deep * self.letter * sum(one.area * self.letter + one.girth * deep / 2 for one in drawn)


class PlatePlan(PartPlan, frozen=True):
    """A name plate printed apart, standing as in the left wall: x forward from its middle, y outward from its back, z
    up from its lower edge; all in mm. It is the same for both walls."""

    plate: Nameplate

    @property
    def size(self) -> tuple[float, float, float]:
        """Extent along x, y, z."""
        return self.plate.size[0], self.plate.thickness, self.plate.size[1]

    @property
    def change(self) -> tuple[int, float]:
        """The last layer in the first colour, counted from 1, and its top over the bed [mm]: letters begin there."""
        return round(self.plate.base / self.plate.layer), self.plate.base

    @property
    def volume(self) -> float:
        """Volume [mm3]: its bevelled base and its letters."""
        long, high = self.plate.size
        return (long * high - 2 * CLIP**2) * self.plate.base - (long + high) * FOOT**2 + self.plate.ink


def apart(plate: Nameplate, width: float) -> tuple[PlatePlan, tuple[Place, ...]]:
    """Return the part and its places in a body so wide [mm], of a plate that is printed apart."""
    back, part = width / 2 - plate.thickness, PlatePlan(replace(plate, rooms=(), tablets=()))
    return part, tuple(Place(-sense * one.along, sense * back, one.z - plate.size[1] / 2, 90.0 - 90.0 * sense)
                       for one in plate.tablets for sense in [1 if one.wall == "left" else -1])


def _shared(one: Span, other: Span) -> float:
    return max(0.0, min(one[1], other[1]) - max(one[0], other[0]))


def resolve(context: Context, shell: BodyShell, fittings: Fittings) -> Nameplate | None:
    """Resolve the nameplate of a body, its fittings in place; None for no text."""
    text, printer = " ".join(context.wagon.plate.upper().split()), context.printer
    if not text:
        return None
    two_lines = printer.thinnest_wall
    frame, depth = max(FRAME, two_lines), shell.wall - two_lines
    layer = printer.layer if context.wagon.plate_print == "apart" else 0.0
    play = max(-peg(0.0, "sliding", printer) / 2, LEAST_PLAY)
    base = ceil(max(BASE, two_lines) / layer - 1e-6) * layer if layer else 0.0
    sized = Nameplate(text, 0.0, 0.0, depth, frame, (), layer=layer, base=base, play=play)
    sized = replace(sized, beside=True) if depth - shell.flute < sized.shallowest - 1e-9 else replace(
        sized, depth=depth - shell.flute)
    need = least(text, two_lines, sized.least_relief)
    rooms = tuple(_rooms(shell, fittings, wall, frame, sized.beside) for wall in WALLS)
    wish = max(need, min(LARGEST, SHARE * (shell.field_z[1] - shell.field_z[0])))
    around = frame + (play + sized.deep if layer else 0.0)
    letter = min(largest(text, free, around, wish) for free in rooms)
    fits = depth >= sized.shallowest - 1e-9 and letter >= need - 1e-9
    hung = (_hung(text, wall, free, around, letter, shell) for wall, free in zip(WALLS, rooms, strict=True) if fits)
    return replace(sized, letter=letter, least=need, frame=around, rooms=rooms, tablets=tuple(hung))


def tablet(text: str) -> tuple[float, float]:
    """Return length and height of a text's tablet by the height of a capital [1]."""
    low, high = _band(text)
    return _width(text) + 2 * ASIDE, high - low + 2 * ABOVE


def _band(text: str) -> Span:
    drawn = [letters()[one] for one in text if one != " "]
    return min([0.0, *(one.bottom for one in drawn)]), max([1.0, *(one.top for one in drawn)])


def _width(text: str) -> float:
    return sum(SPACE if one == " " else letters()[one].width for one in text) + TRACK * (len(text) - 1)


def _gaps(text: str) -> Iterator[tuple[float, float]]:
    """Yield the width at the faces of every gap in and between letters [1], and by how much of the relief [1] the feet
    on both sides of it reach into it."""
    yield from ((letters()[one].gap, 2.0) for one in text if one != " ")
    yield from ((TRACK, letters()[one].right + letters()[other].left) for one, other in pairwise(text)
                if " " not in (one, other))


def highest_relief(text: str, letter: float) -> float:
    """Return the highest relief [mm] that leaves flat ground between the feet of any two strokes, and no more than
    letters of that height can be raised by: the feet of a K's or a V's strokes cross in their corners."""
    return min(STEEP * letter, *((gap * letter - FOOT_GAP) / feet for gap, feet in _gaps(text)))


def least(text: str, two_lines: float, relief: float = SHALLOWEST) -> float:
    """Return from which height of a capital [mm] on every stroke is two lines wide, and some flat ground stays
    between the feet of any two, which slope at 45 degrees over the `relief`."""
    stroke = min(letters()[one].stroke for one in text if one != " ")
    return max(two_lines / stroke, relief / STEEP, *((relief * feet + FOOT_GAP) / gap for gap, feet in _gaps(text)))


# Where there is room: free rectangles of a wall, along it and upwards, the frame included

def _rooms(shell: BodyShell, fittings: Fittings, wall: str, frame: float, beside: bool) -> tuple[Spans, ...]:
    """Return every free rectangle of a side wall between vents, openings, lamps and, with `beside`, flutes for screws'
    heads, as large as it goes."""
    half = shell.length / 2 - shell.corner - BESIDE
    # The valance of a light strip hangs as low as the lid's rim: no more of a side is seen.
    seen = min(shell.field_z[1], shell.bottom + shell.floor + fittings.vent_top) if fittings.ways else shell.field_z[1]
    low, high = shell.field_z[0] - frame, seen + frame
    taken = [(span, (z0, z1)) for span, (z0, z1) in _taken(shell, fittings, wall) if z1 > low and z0 < high]
    taken += [(span, (-inf, inf)) for span in flutes(shell, wall) if beside]
    edges = sorted({low, high, *(z for _, spans in taken for z in spans if low < z < high)})
    found = []
    for band in combinations(edges, 2):
        spans = sorted(span for span, up_to in taken if up_to[0] < band[1] and band[0] < up_to[1])
        start = -half
        for left, right in (*spans, (half, half)):
            if left > start:
                found.append(((start, min(left, half)), band))
            start = max(start, right)
    return tuple(found)


def _taken(shell: BodyShell, fittings: Fittings, wall: str) -> Iterator[Spans]:
    """Yield what vents, openings and lamps of a wall take, with what keeps the tablet clear of them."""
    floor = shell.bottom + shell.floor
    for one in [one for one in fittings.openings if one.wall == wall]:
        span = (floor + one.low - one.taken - CLEAR, floor + one.top + one.taken + CLEAR)
        yield _about(one.along, one.width / 2 + one.taken), span
    for x in [x for x, side in fittings.vents if side == wall]:
        span = (floor + fittings.vent_low - CLEAR, floor + fittings.vent_top + CLEAR)
        yield _about(along(wall, x, 0.0), VENT / 2), span
    for x in [x for x, side in fittings.lamps if side == wall]:
        level, half = floor + fittings.lamp_level, 0.75 * fittings.lamp + CLEAR
        yield _about(along(wall, x, 0.0), fittings.lamp / 2), (level - half, level + half)


def _about(middle: float, half: float) -> Span:
    return middle - half - CLEAR, middle + half + CLEAR


def largest(text: str, rooms: Iterable[Spans], frame: float, wish: float) -> float:
    """Return the largest height of capitals [mm], `wish` at most, in any of the rooms."""
    return max([0.0, *(min(wish, *_heights(text, room, frame)) for room in rooms)])


def _heights(text: str, room: Spans, frame: float) -> list[float]:
    return [(high - low - 2 * frame) / unit for (low, high), unit in zip(room, tablet(text), strict=True)]


def _hung(text: str, wall: str, rooms: Sequence[Spans], frame: float, letter: float, shell: BodyShell) -> Tablet:
    """Return the tablet in the room that takes it nearest to the middle of the wall."""
    length, height = (unit * letter + 2 * frame for unit in tablet(text))
    middle = sum(shell.field_z) / 2
    spots = [(_spot(room[0], length, 0.0), _spot(room[1], height, middle)) for room in rooms
             if min(_heights(text, room, frame)) > letter - 1e-6]
    x, z = min(spots, key=lambda spot: (round(abs(spot[0]), 6), round(abs(spot[1] - middle), 6), spot))
    return Tablet(wall, x, z, (_flush(x, length / 2, shell.fields(shell.length), STRIP[0]),
                               _whole_planks(_flush(z, height / 2, (shell.field_z,), STRIP[1]), shell)))


def _spot(span: Span, size: float, wish: float) -> float:
    """Return the wished place where it is free, else the middle of the room: hardly beside looks like a fault."""
    return wish if span[0] - 1e-6 <= wish - size / 2 and wish + size / 2 <= span[1] + 1e-6 else sum(span) / 2


def _flush(middle: float, half: float, fields: Iterable[Span], strip: float) -> Span:
    """Return from where to where the frame goes, on to the next post or band where little of a field is left."""
    low, high = middle - half, middle + half
    for start, end in fields:
        low = start - FRAME / 2 if -FRAME / 2 < low - start < strip else low
        high = end + FRAME / 2 if -FRAME / 2 < end - high < strip else high
    return low, high


def _whole_planks(span: Span, shell: BodyShell) -> Span:
    """Return the span on to where the next groove between planks begins, or past the field: no sliver of a plank is
    left over."""
    if shell.sides != "planked" or not shell.groove:
        return span
    low, high = shell.field_z
    return (max([low - FRAME / 2, *(z + shell.groove for z in shell.planks if z + shell.groove <= span[0])]),
            min([high + FRAME / 2, *(z - shell.groove for z in shell.planks if z - shell.groove >= span[1])]))
