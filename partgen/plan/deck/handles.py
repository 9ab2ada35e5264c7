"""Handles: which way each seat turns its cup's, clear of what stands beside it and with room for a hand."""

from __future__ import annotations

from cmath import exp
from collections.abc import Iterable, Iterator, Mapping, Sequence
from math import ceil, hypot, radians, sqrt
from typing import TYPE_CHECKING

from msgspec import Struct
from msgspec.structs import replace

from partgen.describe.cup_table import Cup

if TYPE_CHECKING:
    from partgen.plan.deck.insert import InsertPlan
    from partgen.plan.deck.seats import Seat

LOWEST = 0.28           # of a cup's height: where a handle begins (common practice, no source)
WIDE = 12.0             # mm: of a handle (common practice, no source)
NEAR = 2.0              # mm between it and what stands on the side that no finger needs, and before its end
HAND = 30.0             # mm beside it on one side: two fingers' breadths (common practice, no source)
MOST = 2 * HAND         # mm: more than that is not told
LEANS = (0.0, 20.0, -20.0, 40.0, -40.0, 60.0, -60.0)
TURNS = tuple(side + lean for side in (0.0, 180.0) for lean in LEANS)
"""By how much [deg] a seat may turn its handle from straight to the left: a hand comes from either side, and from no
end, where the next wagon is."""
ROUNDS = 3              # in which every seat of a deck may turn once more

Disc = tuple[complex, float]
Served = tuple["Seat", tuple[Cup, ...]]
"""A seat with every cup that may stand in it, one at a time: its own, and those that inserts hold."""


class Handle(Struct, frozen=True):
    """A handle from above: the middle of its seat, from where to where it reaches from there, how far over the cup's
    foot it begins [mm], and by how much it is turned from straight to the left [deg]."""

    middle: complex
    inner: float
    reach: float
    low: float
    turn: float

    @property
    def way(self) -> complex:
        """Its direction, of length 1: x forward, y left."""
        return 1j * exp(1j * radians(self.turn))

    @property
    def side(self) -> str:
        """To which side of the wagon it stands out, "left" or "right"."""
        return "left" if self.way.imag > 0 else "right"

    @property
    def corners(self) -> tuple[complex, ...]:
        """The corners [mm] of the rectangle from the seat's middle to its end, counter-clockwise."""
        return tuple(self.middle + self.way * (along + 1j * across) for along, across in (
            (0.0, -WIDE / 2), (self.reach, -WIDE / 2), (self.reach, WIDE / 2), (0.0, WIDE / 2)))

    def over(self, length: float, width: float) -> float:
        """Return how far [mm] it reaches out of a rectangle about the wagon's middle, below 0 where it lies inside."""
        return max(max(abs(at.real) - length / 2, abs(at.imag) - width / 2) for at in self.corners)

    @property
    def discs(self) -> list[Disc]:
        """Discs (middle, radius) [mm] that cover it."""
        count = ceil((self.reach - self.inner) / (WIDE / 2))
        step = (self.reach - self.inner) / count
        return [(self.middle + self.way * (self.inner + step * (k + 0.5)), hypot(WIDE, step) / 2) for k in range(count)]


def served(seats: Iterable[Seat], inserts: Iterable[InsertPlan], cups: Mapping[str, Cup]) -> tuple[Served, ...]:
    """Return every seat with the cups that may stand in it."""
    rings = list(inserts)
    return tuple((seat, (cups[seat.cup], *(cups[ring.cup] for ring in rings if ring.seat == seat.cup)))
                 for seat in seats)


def handle_of(served: Served) -> Handle | None:
    """Return the handle that reaches farthest of the cups that may stand in a seat; None where none has one."""
    seat, held = served[0], [cup for cup in served[1] if cup.handle]
    if not held:
        return None
    return Handle(complex(seat.x, seat.y), min(cup.widest for cup in held) / 2,
                  max(cup.widest / 2 + cup.handle_length for cup in held), LOWEST * min(cup.height for cup in held),
                  seat.turn)


def room(place: int, deck: Sequence[Served]) -> float:
    """Return the free width [mm] on the better side of a seat's handle, at most MOST; where on the other side, or
    before its end, something stands nearer than NEAR, by how much, below 0."""
    handle = handle_of(deck[place])
    return MOST if handle is None else _free(handle, _others(place, deck))


def turned(deck: Sequence[Served], length: float, width: float) -> tuple[Seat, ...]:
    """Return the seats of a deck, each turned so that its handle has room, lies on its own side of the middle, stays
    over the body of `length` and `width` [mm], and stands straight to the side, the first of these first."""
    now = [(replace(seat, turn=0.0 if seat.y > -NEAR else 180.0) if handle_of((seat, cups)) else seat, cups)
           for seat, cups in deck]

    def straightest(place: int) -> float:
        seat, cups = now[place]
        others = list(_others(place, now))

        def cost(turn: float) -> tuple[float, bool, float, float]:
            handle = handle_of((replace(seat, turn=turn), cups))
            assert handle is not None
            return (max(0.0, HAND - _free(handle, others)), (turn < 90) is (seat.y < -NEAR),
                    max(0.0, round(handle.over(length, width), 1)), abs(abs(handle.way.imag) - 1))

        return min(TURNS, key=cost)

    for _ in range(ROUNDS):
        before = tuple(now)
        for place, (seat, cups) in enumerate(before):
            if handle_of((seat, cups)):
                now[place] = replace(seat, turn=straightest(place)), cups
        if tuple(now) == before:
            break
    return tuple(seat for seat, _ in now)


def _others(place: int, deck: Sequence[Served]) -> Iterator[Disc]:
    """Yield discs round all that stands beside a seat: the others, their cups and handles."""
    for other, (seat, cups) in enumerate(deck):
        if other != place:
            yield complex(seat.x, seat.y), max(seat.outer_diameter, *(cup.widest for cup in cups)) / 2
            beside = handle_of((seat, cups))
            yield from beside.discs if beside else ()


def _free(handle: Handle, others: Iterable[Disc]) -> float:
    sides = {True: MOST, False: MOST}
    for middle, radius in others:
        at = (middle - handle.middle) / handle.way
        past = max(handle.inner - at.real, at.real - handle.reach - NEAR, 0.0)
        if past < radius:
            side = at.imag > 0
            sides[side] = min(sides[side], abs(at.imag) - sqrt(radius**2 - past**2) - WIDE / 2)
    near, far = sorted(sides.values())
    return far if near >= NEAR else near - NEAR
