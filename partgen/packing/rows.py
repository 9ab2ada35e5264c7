"""Cups on a deck: rows across it, each as close to the one before as its circles let it, shortest of all."""

from itertools import pairwise
from math import inf, sqrt

from msgspec import Struct


class Disc(Struct, frozen=True):
    """A seat from above: diameters [mm] of what it takes on the deck and of the cup over it."""

    base: float
    cup: float


class Room(Struct, frozen=True):
    """What seats need [mm]: `between` two cups one behind the other, `fingers` between two side by side, the
    `width` of the deck, and how many seats may stand side by side at most."""

    between: float
    fingers: float
    width: float
    columns: int


Row = tuple[Disc, ...]
Places = tuple[tuple[float, float], ...]


def rows_of(discs: Row, room: Room) -> tuple[Places, float, float]:
    """Return the places (x, y) [mm] of discs in order, front one first and left before right, about the
    middle of what they take, and the length and width that they take.

    Of all ways to cut the order into rows the shortest is found. A row that is too wide stands only where
    even one disc is.
    """
    return _placed(_shortest(discs, room), room) if discs else ((), 0.0, 0.0)


def _shortest(discs: Row, room: Room) -> list[Row]:
    """Return the rows of the shortest deck; the best way to end with each row is carried on."""
    best: dict[tuple[int, int], tuple[float, list[Row]]] = {(0, 0): (0.0, [])}
    for begin in range(len(discs)):
        ways = [found for (end, _), found in best.items() if end == begin]
        for size in range(1, min(room.columns, len(discs) - begin) + 1):
            row = discs[begin:begin + size]
            if size > 1 and row_width(row, room) > room.width + 1e-9:
                break
            for way, rows in ways:
                here = way + (_step(rows[-1], row, room) if rows else _half(row, room))
                key = begin + size, size
                if here < best.get(key, (inf, []))[0] - 1e-9:
                    best[key] = here, [*rows, row]
    ends = [(way + _half(rows[-1], room), list(map(len, rows)), rows) for (end, _), (way, rows) in best.items()
            if end == len(discs)]
    return min(ends, key=lambda end: end[:2])[2]


def _placed(rows: list[Row], room: Room) -> tuple[Places, float, float]:
    """Return the places of all rows, each as near as all rows before it allow, with the room they take."""
    stations: list[float] = []
    for number, row in enumerate(rows):
        before = zip(stations, rows[:number], strict=True)
        stations.append(max((station + _step(other, row, room) for station, other in before),
                            default=_half(row, room)))
    length = stations[-1] + _half(rows[-1], room)
    places = tuple((length / 2 - station, y) for station, row in zip(stations, rows, strict=True)
                   for y in _across(row, room))
    return places, length, max(row_width(row, room) for row in rows)


def row_width(row: Row, room: Room) -> float:
    """Return the width [mm] that the seats of a row take on the deck."""
    spread = _across(row, room)
    return spread[0] + row[0].base / 2 - spread[-1] + row[-1].base / 2


def _across(row: Row, room: Room) -> list[float]:
    """Return y of every disc of a row, left one first, so that its seats lie evenly about the middle."""
    spread = [0.0]
    for one, other in pairwise(row):
        spread.append(spread[-1] - max((one.base + other.base) / 2, (one.cup + other.cup) / 2 + room.fingers))
    middle = (spread[0] + row[0].base / 2 + spread[-1] - row[-1].base / 2) / 2
    return [y - middle for y in spread]


def _step(before: Row, row: Row, room: Room) -> float:
    """Return how far behind a row the next one stands at least."""
    return max(sqrt(max(_apart(one, other, room)**2 - (y - z)**2, 0.0))
               for one, y in zip(before, _across(before, room), strict=True)
               for other, z in zip(row, _across(row, room), strict=True))


def _apart(one: Disc, other: Disc, room: Room) -> float:
    return max((one.base + other.base) / 2, (one.cup + other.cup) / 2 + room.between)


def _half(row: Row, room: Room) -> float:
    """Return how far a row's middle stands from the deck's end."""
    return max(max(disc.base, disc.cup + room.between) for disc in row) / 2
