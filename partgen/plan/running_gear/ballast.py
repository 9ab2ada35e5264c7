"""Ballast: grains of steel in cells of the frame, open to the top, where the body's floor keeps them in.

A hollow that is open below in a frame without ballast is cut into cells as broad as the printer bridges: the frame is
printed upside down, and their floors are bridges. Those nearest the middle come first, always in pairs or fours that
mirror each other, so that the ballast's middle is the wagon's.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from math import ceil, hypot, inf

from msgspec import Struct

from partgen.plan.context import Context
from partgen.plan.outline import Span, Spans, between

ROOM = 1.03             # of the cells over what the ballast takes
FLOOR = 1.2             # under it, layers enough to close over a bridge
LAYERS = 4
RIB = 1.0               # between two cells
LEAST = 5.0             # of a cell either way
SHALLOWEST = 4.0        # of a cell: nuts lie in it
DEEPER = 8.0            # that a frame may grow in height for it
UNDER_BRIDGE = 0.5      # of the longest bridge, left
CELL_CORNER = 1.0       # radius


class Grains(Struct, frozen=True):
    """What ballast is of: in words, mass of a cubic millimetre [g], gaps counted."""

    said: str
    density: float


SHOT = "steel shot or balls, 2 to 3 mm, free of lead"
LYING = {7.0: "steel nuts or washers, M3 or smaller", 6.4: "steel nuts, M3 or smaller, no washers",
         6.0: "steel nuts or washers, M2.5 or smaller", 5.0: "steel nuts or washers, M2 or smaller",
         4.7: "steel nuts, M2 or smaller, no washers", 0.0: SHOT}
"""What lies flat in cells as narrow as that [mm]: nuts over corners 6.35, 5.77, 4.62 (ISO 4032), washers 7, 6, 5 (ISO
7089, from memory)."""
FREE = 0.1              # mm round it
PIECES = {"M3": ("M3 nuts", 0.38), "M2.5": ("M2.5 nuts", 0.28), "M2": ("M2 nuts", 0.14), "": ("balls of 2.5 mm", 0.064)}
"""Mass [g] of one: nuts of ISO 4032, as sold (from memory); balls of steel."""
GRAINS = {
    "nuts": Grains(LYING[7.0], 2.4e-3),
    "shot": Grains(SHOT, 4.2e-3),
}
"""Nuts: M3 (ISO 4032, 0.38 g each) in rows one beside the other, two deep in a cell: no arrangement is looser. Shot: at
random 0.6 of it is steel (7.85 g/cm3), less along the walls of a narrow cell: 0.535 (common practice, no source)."""


class Ballast(Struct, frozen=True):
    """What was wished [g], and the most that a frame could hold; `cells` are open to the top, in `bays` that are else
    solid, `depth` deep over a `floor` at least so thick; all in mm."""

    wished: float = 0.0
    most: float = 0.0
    of: str = "nuts"
    bays: tuple[Spans, ...] = ()
    cells: tuple[Spans, ...] = ()
    depth: float = 0.0
    floor: float = 0.0

    @property
    def mass(self) -> float:
        """What there is of it [g]."""
        return min(self.wished, self.most)

    @property
    def said(self) -> str:
        """What it is of: what lies flat in its narrowest cell."""
        narrow = min((high - low for cell in self.cells for low, high in cell), default=inf)
        if self.of != "nuts":
            return GRAINS[self.of].said
        return next(said for wide, said in LYING.items() if narrow >= wide + (FREE if wide else 0.0))

    @property
    def piece(self) -> tuple[str, float]:
        """What the largest piece of it is called, many of them, and its mass [g]."""
        return next(piece for thread, piece in PIECES.items() if f"{thread} or" in self.said or not thread)

    @property
    def used(self) -> tuple[Spans, ...]:
        """The cells that are filled: of little ballast the most that get a piece each and hold it, nearest the middle
        first, those that mirror each other together; with the one right in the middle or without."""
        pairs = _mirrored(self.cells)
        first = [tuple(cell for pair in some[:k] for cell in pair)
                 for some in (pairs, [pair for pair in pairs if len(pair) > 1]) for k in range(1, len(some) + 1)]
        holding = [cells for cells in first if _area(cells) * self.depth * GRAINS[self.of].density >= self.mass]
        piece = self.piece[1]
        return max((cells for cells in holding if len(cells) * piece <= self.mass), key=len,
                   default=holding[0] if holding else self.cells)

    @property
    def volume(self) -> float:
        """Volume [mm3] of all cells."""
        return _area(self.cells) * self.depth

    @property
    def filled(self) -> float:
        """How high [mm] it stands in them."""
        return self.mass / GRAINS[self.of].density / _area(self.used) if self.cells else 0.0


def resolve(context: Context, thickness: float, grooves: float, hollows: Iterable[Spans],
            taken: Sequence[Spans]) -> Ballast:
    """Resolve the ballast in a frame `thickness` high with `grooves` so deep [mm] in its underside, in those of its
    `hollows` that meet nothing `taken`."""
    wagon, printer = context.wagon, context.printer
    span, rib = printer.bridge - UNDER_BRIDGE, max(RIB, printer.thinnest_wall)
    groups = [{bay: tuple(_cells(bay, span, rib)) for bay in group} for group in _groups(hollows, taken)]
    areas = [sum(map(_area, group.values())) for group in groups]
    density, floor = GRAINS[wagon.ballast_of].density, grooves + max(FLOOR, printer.thinnest_wall,
                                                                    LAYERS * printer.layer)
    deep, volume = thickness - floor, ROOM * wagon.ballast / density
    most = sum(areas) * (deep + DEEPER) * density / ROOM
    if not wagon.ballast or not most:
        return Ballast(wagon.ballast, most, wagon.ballast_of)
    count = next((k for k in range(1, len(groups)) if sum(areas[:k]) * deep >= volume), len(groups))
    chosen = {bay: cells for group in groups[:count] for bay, cells in group.items() if cells}
    depth = min(max(volume / sum(areas[:count]), SHALLOWEST), deep + DEEPER)
    return Ballast(wagon.ballast, most, wagon.ballast_of, tuple(chosen),
                   tuple(cell for cells in chosen.values() for cell in cells), depth, floor)


def _groups(hollows: Iterable[Spans], taken: Sequence[Spans]) -> list[list[Spans]]:
    """Return the hollows that mirror each other, nearest the middle first, where all of them are free."""
    found: dict[tuple[float, float], list[Spans]] = {}
    for hollow in hollows:
        x, y = (abs(low + high) / 2 for low, high in hollow)
        found.setdefault((round(x, 3), round(y, 3)), []).append(hollow)
    return [group for (x, y), group in sorted(found.items(), key=lambda one: hypot(*one[0]))
            if len(group) == (2 if x > 0 else 1) * (2 if y > 0 else 1)
            and all(between(hollow, other) >= RIB for hollow in group for other in taken)]


def _mirrored(cells: Sequence[Spans]) -> list[list[Spans]]:
    """Return the cells that lie opposite each other about the middle, nearest first; one that is in it by itself."""
    found: dict[tuple[float, float], list[Spans]] = {}
    for cell in cells:
        x, y = (round(low + high, 3) + 0.0 for low, high in cell)
        found.setdefault(max((x, y), (-x, -y)), []).append(cell)
    return sorted(found.values(), key=lambda pair: round(hypot(*(low + high for low, high in pair[0])), 3))


def _cells(bay: Spans, span: float, rib: float) -> Iterator[Spans]:
    """Yield the cells of a bay, none broader than `span` [mm] one way, ribs between, in whichever way leaves more."""
    (x, y), ways = bay, []
    for along, other in ((x, y), (y, x)):
        fields = list(_fields(along, span, rib))
        if fields and other[1] - other[0] >= LEAST:
            ways.append((sum(high - low for low, high in fields) * (other[1] - other[0]), along is x, fields))
    if ways:
        _, lengthwise, fields = max(ways)
        yield from ((field, y) if lengthwise else (x, field) for field in fields)


def _fields(along: Span, span: float, rib: float) -> Iterator[Span]:
    """Yield equal fields no longer than `span` from the start to the end of `along` [mm]; none if too small."""
    low, high = along
    count = max(1, ceil((high - low + rib) / (span + rib)))
    size = (high - low + rib) / count - rib
    if size >= min(LEAST, 0.8 * span):
        yield from ((low + k * (size + rib), low + k * (size + rib) + size) for k in range(count))


def _area(cells: Iterable[Spans]) -> float:
    return sum((x1 - x0) * (y1 - y0) - 0.86 * CELL_CORNER**2 for (x0, x1), (y0, y1) in cells)
