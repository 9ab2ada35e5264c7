"""What holds the modules of a body beside its bosses: lips, straps, pads of tape and felt; how far each may slide."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from math import ceil, inf

from msgspec import Struct

from partgen.plan.body.layout import Placed
from partgen.plan.body.orientation import STRAP_OFF, STRAP_THICK, STRAP_WIDE, TAPE
from partgen.plan.body.shell import BodyShell
from partgen.plan.outline import Patch, Spans, between, hull

STRAP, STRAP_BAND = 10.0, 1.2   # width and thickness of a strap as it is bought
LAP = 30.0              # of a strap's end on its other end: hook on loop (common practice, no source)
TENS = 10.0             # straps are cut to whole tens
MARK_INSET = 1.5        # line round a tape land, from the module's edge; a quarter of a small one
FELT = 1.0              # thickness of self-adhesive felt: pressed, it fills the play at a lip
LIP_HEIGHT, LIP_LONG = 3.0, 7.0       # ribs at a tray's corners
LIP_PLAY = 0.6          # module to lip
LIP_CLEAR = 0.3         # lip to anything else
HEAD_ROOM = 0.4         # round the heads of the body's screws
CORNERS = 0.25          # of an end that a lip takes at either corner: a plug goes in between
TRAVEL = 3.0            # what a module in a tray may slide: a lip finds room where more is free
STOPS = 1.0             # of its side that must meet what stops it


class Strap(Struct, frozen=True):
    """Two slots `apart` from middle to middle, along y or, with `turned`, along x, and the way between them; the strap
    goes round a module `height` high that lies on a `floor`; all in mm."""

    x: float
    y: float
    apart: float
    turned: bool
    holds: str
    height: float
    floor: float

    @property
    def length(self) -> float:
        """How long [mm] the strap is cut: once round, and a lap."""
        return ceil((2 * self.apart + 2 * (self.height + self.floor) + LAP) / TENS) * TENS

    @property
    def cut(self) -> Spans:
        """From where to where [mm] along x and y slots and way together reach."""
        return hull(self.slots)

    @property
    def slots(self) -> tuple[Spans, Spans]:
        """From where to where [mm] along x and y both slots reach."""
        one, other = (Patch(self.x + off, self.y, STRAP_THICK, STRAP_WIDE) if self.turned else
                      Patch(self.x, self.y + off, STRAP_WIDE, STRAP_THICK) for off in (self.apart / 2, -self.apart / 2))
        return one.spans, other.spans


class Lip(Patch, frozen=True):
    """A rib beside the module that it `holds`: along x (`axis` 0) or y (1) from it, in sense 1 or -1."""

    holds: str
    axis: int
    sense: int

    @property
    def felt(self) -> Pad:
        """What fills the play between them."""
        off = -self.sense * ((self.length, self.width)[self.axis] + LIP_PLAY) / 2
        (x, length), (y, width) = ((self.x + off, LIP_PLAY), (self.y, self.width)) if self.axis == 0 else (
            (self.x, self.length), (self.y + off, LIP_PLAY))
        return Pad(x, y, length, width, 0.0, LIP_HEIGHT, "felt", self.holds)


class Pad(Patch, frozen=True):
    """A pad of tape or felt for one module: its outline, and between which heights over the floor it lies; mm."""

    low: float
    high: float
    what: str
    holds: str


def held(one: Placed) -> str:
    """Return what holds a module: bosses, lip, strap, tape or panel; nothing where a plug below lifts it off the floor.

    Whatever lies on another module is stuck to it.
    """
    if one.on is not None:
        return "tape"
    reach = {"bosses": inf, "panel": inf, "tape": TAPE}.get(one.module.mount, 0.0)
    return one.module.mount if one.z <= reach + 1e-6 else ""


def straps(placed: Iterable[Placed], floor: float) -> Iterator[Strap]:
    """Yield a strap for every module on the floor that is held by one."""
    for one in placed:
        if held(one) == "strap":
            turned = one.straps_along
            yield Strap(one.x, one.y, (one.length if turned else one.width) + 2 * STRAP_OFF + STRAP_THICK, turned,
                        one.name, one.height, floor)


def pads(placed: Iterable[Placed], lips: Iterable[Lip]) -> Iterator[Pad]:
    """Yield tape under all that is stuck down, which is whatever lies on another module, and felt before the lips."""
    for one in placed:
        if held(one) == "tape":
            yield tape_under(one)
    yield from (lip.felt for lip in lips)


def lips_of(placed: Sequence[Placed], shell: BodyShell, ways: Sequence[Spans], line: float) -> tuple[Lip, ...]:
    """Return the lips of all trays: along both sides wherever one finds room, and across an end that nothing else
    stops; clear of all `ways` through the floor, and no gap narrower than a `line` [mm] beside anything printed."""
    found: list[Lip] = []
    half = shell.cone / 2 + HEAD_ROOM
    heads = [((x - half, x + half), (y - half, y + half)) for x, y in shell.screws]
    for one in [one for one in placed if held(one) == "lip"]:
        taken = [*(other.spans for other in placed if other is not one), *heads, *ways]
        found += [lip for sense in (1, -1) for lip in _pair(one, 1, sense, shell.rib, line)
                  if _stands(lip, taken, shell) and not _slit(lip, (*shell.ribs, *found), line)]
        open_ends = [sense for (axis, sense), free in slide(one, placed, found, shell).items()
                     if axis == 0 and free > TRAVEL]
        found += [lip for sense in open_ends for lip in _pair(one, 0, sense, shell.rib, line)
                  if _stands(lip, [*taken, *(rib.spans for rib in shell.ribs),
                                     *(other.spans for other in found)], shell)
                  and not _slit(lip, (*shell.ribs, *found), line)]
    return tuple(found)


def _pair(one: Placed, axis: int, sense: int, thick: float, line: float) -> Iterator[Lip]:
    """Yield the lips at both corners of a module's side; one along all of it where no `line` [mm] is left between."""
    side, across = ((one.length, one.width), (one.width, one.length))[axis]
    long = max(min(LIP_LONG, across / 3 if axis else CORNERS * across), thick)
    off = sense * (side / 2 + LIP_PLAY + thick / 2)
    whole = across - 2 * long < line
    long = across if whole else long
    for end in (1,) if whole else (1, -1):
        shift = end * (across - long) / 2
        yield (Lip(one.x + shift, one.y + off, long, thick, one.name, 1, sense) if axis else
               Lip(one.x + off, one.y + shift, thick, long, one.name, 0, sense))


def _stands(lip: Lip, taken: Iterable[Spans], shell: BodyShell) -> bool:
    """Is there room for a lip between the walls and beside all that is taken?"""
    room = shell.inside[lip.axis] / 2 - abs((lip.x, lip.y)[lip.axis])
    return room >= shell.rib and all(between(lip.spans, spans) >= LIP_CLEAR for spans in taken)


def _slit(lip: Lip, printed: Iterable[Patch], line: float) -> bool:
    """Does a lip leave a gap narrower than a line before a face of something else that is printed?"""
    apart = (sorted(max(a[0] - b[1], b[0] - a[1]) for a, b in zip(lip.spans, other.spans, strict=True))
             for other in printed)
    return any(beside < -1e-6 and 1e-6 < gap < line for beside, gap in apart)


def tape_under(one: Placed) -> Pad:
    """Return the pad of tape under a module."""
    length, width = (side - 2 * min(MARK_INSET, side / 4) for side in (one.length, one.width))
    return Pad(one.x, one.y, length, width, one.z - TAPE, one.z, "tape", one.name)


def slide(one: Placed, placed: Sequence[Placed], lips: Sequence[Patch],
          shell: BodyShell) -> dict[tuple[int, int], float]:
    """Return how far [mm] a module may slide, by axis (0 along x, 1 along y) and sense (1 or -1), before a wall, a
    fence, a lip or another module stops it."""
    beside = [other.spans for other in placed if other is not one and other.z < one.z + one.height
              and one.z < other.z + other.height]
    things = [*beside, *(lip.spans for lip in lips), *(rib.spans for rib in shell.ribs)]
    return {(axis, sense): _free(one.spans, things, axis, sense, shell.inside[axis] / 2)
            for axis in (0, 1) for sense in (1, -1)}


def _free(spans: Spans, things: Iterable[Spans], axis: int, sense: int, wall: float) -> float:
    face, (low, high) = max(sense * end for end in spans[axis]), spans[1 - axis]
    ahead = [min(sense * end for end in thing[axis]) for thing in things
             if min(high, thing[1 - axis][1]) - max(low, thing[1 - axis][0]) >= STOPS]
    return min([wall, *(near for near in ahead if near >= face - 1e-6)]) - face
