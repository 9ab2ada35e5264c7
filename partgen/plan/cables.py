"""The cables of one wagon: which join two of its modules, which lead out of it, which pass under it.

A cable leaves a wagon through the end wall on the side where it goes on, and passes under every wagon between along
the left edge of its frame.
"""

from collections.abc import Iterator, Sequence
from math import pi

from msgspec import Struct

from partgen.describe.cable_table import Cable, End
from partgen.describe.description import Description
from partgen.describe.wagon_tables import Wagon
from partgen.formulas.wire import bundle, carries, of_gauge
from partgen.identity import LOCOMOTIVE, TRACK

EASE = 1.0              # of a way for a plug beyond it, both sides together
BAR, EYE = 3.0, (3.0, 2.5)      # wall between a way and the eye beside it: a tie goes round bar and cable


COPPER, PLASTIC = 8.9e-3, 1.3e-3        # g/mm3 (handbooks, from memory)


class Run(Struct, frozen=True):
    """One cable: its number in the description, counted from 1, and its table."""

    number: int
    cable: Cable

    @property
    def called(self) -> str:
        """What it is called on paper."""
        return f"cable {self.number}"

    @property
    def copper(self) -> float:
        """Cross-section of each conductor [mm2]."""
        return of_gauge(self.cable.gauge) if self.cable.gauge else self.cable.section

    @property
    def thick(self) -> float:
        """Diameter of all its wires side by side [mm]."""
        return bundle(self.copper, self.cable.cores)

    @property
    def core(self) -> float:
        """Diameter of one of its wires with its insulation [mm]."""
        return bundle(self.copper, 1)

    @property
    def flat(self) -> float:
        """How wide [mm] its wires lie side by side in one layer."""
        return self.cable.cores * self.core

    @property
    def carries(self) -> float:
        """What each of its wires carries [A]."""
        return carries(self.copper, self.cable.cores)

    @property
    def mass(self) -> float:
        """What it weighs [g/mm]: its copper, and plastic round every wire."""
        round_it = pi / 4 * self.core**2 - self.copper
        return self.cable.cores * (COPPER * self.copper + PLASTIC * round_it)

    @property
    def passes(self) -> tuple[float, float]:
        """Width and height [mm] of what has to pass: its plug, or the wires themselves."""
        wide, high = self.cable.plug or (0.0, 0.0)
        return max(wide, self.thick), max(high, self.thick)

    @property
    def said(self) -> str:
        """What is bought, in words."""
        size = f"AWG {self.cable.gauge}" if self.cable.gauge else f"{self.copper:g} mm2"
        return f"{self.cable.cores} x {size}" if self.cable.cores > 1 else size

    @property
    def plugged(self) -> str:
        """What of it must pass through walls, in words."""
        return f"plug {self.cable.plug[0]:g} x {self.cable.plug[1]:g} mm" if self.cable.plug and any(
            self.cable.plug) else "bare wires"


class Led(Run, frozen=True):
    """A cable that leads out of a wagon: its end there, its other end, and the end wall that it goes out through."""

    here: End
    there: End
    wall: str


class Joined(Run, frozen=True):
    """A cable between two modules of one wagon."""

    here: End
    there: End


class WagonCables(Struct, frozen=True):
    """The cables of one wagon, each in the order of the description; `described` says whether the train has any."""

    described: bool = False
    joined: tuple[Joined, ...] = ()
    led: tuple[Led, ...] = ()
    passing: tuple[Run, ...] = ()

    def through(self, wall: str) -> tuple[Led, ...]:
        """Return those that lead out through an end wall."""
        return tuple(one for one in self.led if one.wall == wall)


def cables_of(wagon: Wagon, description: Description) -> WagonCables:
    """Return the cables of a wagon; none that ends in a wagon which the train leaves out."""
    order = list(description.train.order or (one.name for one in description.wagon))
    found = [_here(run, wagon.name, order) for run in runs(description)]
    return WagonCables(bool(description.cable), tuple(one for one in found if isinstance(one, Joined)),
                       tuple(one for one in found if isinstance(one, Led)),
                       tuple(one for one in found if type(one) is Run))


def _here(run: Run, wagon: str, order: list[str]) -> Run | None:
    """Return what a cable is to a wagon of a train in that order: Joined, Led, a Run that passes it, or None."""
    one, other = run.cable.ends
    mine, at = [end for end in (one, other) if end.place == wagon], order.index(wagon)
    if len(mine) == 2:
        return Joined(run.number, run.cable, one, other)
    places = [-1 if end.place.casefold() == LOCOMOTIVE else order.index(end.place)
              for end in (one, other) if end.place.casefold() != TRACK]
    if mine:
        there = other if mine[0] is one else one
        ahead = there.outside or order.index(there.place) < at
        return Led(run.number, run.cable, mine[0], there, "front" if ahead else "back")
    return run if min(places) < at < max(places) else None


def runs(description: Description) -> Iterator[Run]:
    """Yield every cable with its number."""
    yield from (Run(number, cable) for number, cable in enumerate(description.cable, 1))


def room(led: Sequence[Run]) -> tuple[float, float]:
    """Return how wide and high [mm] a way must be for the largest plug to pass beside all other cables; 0 for none."""
    if not led:
        return 0.0, 0.0
    all_thick = sum(one.thick for one in led)
    return (max(one.passes[0] + all_thick - one.thick for one in led) + EASE,
            max(one.passes[1] for one in led) + EASE)
