"""Load states: what may stand in every seat, with the modules in or out, and which state is the worst."""

from collections.abc import Callable, Iterator, Sequence
from functools import lru_cache

import numpy as np
from msgspec import Struct
from msgspec.structs import replace

from partgen.describe.cup_table import Cup
from partgen.describe.printer_tables import Printer
from partgen.describe.turned import cut_off
from partgen.formulas import GRAVITY
from partgen.formulas.balance import worst_choice
from partgen.formulas.taper import first_mode
from partgen.plan.deck.cups import dry_centre, liquid_centre, liquid_mass
from partgen.plan.deck.seats import Seat
from partgen.plan.mass import loads
from partgen.plan.printed import printed_mass
from partgen.plan.wagon import WagonPlan

PARTS = 3               # of a filling at most: insert, cup, liquid
STEADY = 1.0            # a liquid's rise over its steady rise where it only leans
FULL = "full "
MODULES = ("modules in", "modules out")
BARE = ("printed", "gear", "hardware", "ballast")   # kinds of load that are always there
INSIDE = ("module", "wiring")           # and that come out together

Row = tuple[float, float, float, float]
Filling = tuple[str, Cup | None, Sequence[Row] | np.ndarray]
"""What a place may hold: in words, the cup, and as rows of mass [g], x, y, z [mm]."""
Quantities = Callable[[np.ndarray], tuple[np.ndarray, np.ndarray]]
"""Of parts as rows of mass [g], x, y, z [mm]: two numbers a part, each to be added up, and the sums to be divided."""


class Lading(Struct, frozen=True):
    """A wagon by what is always there, rows of mass [g], x, y, z [mm]; and by what each seat, and after them the place
    of its modules, may hold: in words, "" for nothing, and as rows, shape (places, fillings, parts, 4), 0 where there
    is none."""

    bare: np.ndarray
    words: tuple[tuple[str, ...], ...]
    choices: np.ndarray


class Worst(Struct, frozen=True):
    """The least value of a ratio over all load states, the state in words, and its parts as rows."""

    value: float
    words: str
    rows: np.ndarray


def lading(plan: WagonPlan, printer: Printer, swings: dict[str, float] | None = None) -> Lading:
    """Return what a wagon may carry; `swings` tells by cup how far its liquid rises over its steady rise [1].

    A liquid that it leaves out leans as under a steady acceleration; with None all stand level.
    """
    level, liquids = _level(plan, printer)
    if swings is None:
        return level
    choices = level.choices.copy()
    for place, name, cup in liquids:
        choices[(*place, 3)] += swung_centre(cup, swings.get(name, STEADY)) - liquid_centre(cup)
    return replace(level, choices=choices)


def unladen(plan: WagonPlan, printer: Printer) -> Lading:
    """Return a wagon without cups, its modules in."""
    return Lading(_rows(plan, printer, *BARE, *INSIDE), (), np.zeros((0, 1, 1, 4)))


def _rows(plan: WagonPlan, printer: Printer, *kinds: str) -> np.ndarray:
    return np.reshape([(load.mass, load.x, load.y, load.z) for load in loads(plan, printer) if load.kind in kinds],
                      (-1, 4))


@lru_cache(maxsize=256)
def _level(plan: WagonPlan, printer: Printer) -> tuple[Lading, list[tuple[tuple[int, int, int], str, Cup]]]:
    """Return the lading with all liquids level, and every liquid in it: its place among the choices, whose it is."""
    modules = _rows(plan, printer, *INSIDE)
    places = [list(_fillings(plan, seat, cup, printer)) for seat, cup in plan.cups]
    if len(modules):
        places.append([(MODULES[0], None, modules), (MODULES[1], None, [])])
    choices = np.zeros((len(places), max(map(len, places), default=1), max(PARTS, len(modules)), 4))
    liquids = []
    for number, place in enumerate(places):
        for choice, (words, cup, rows) in enumerate(place):
            choices[number, choice, :len(rows)] = np.reshape(rows, (-1, 4))
            if cup and words.startswith(FULL):
                liquids.append(((number, choice, len(rows) - 1), words.removeprefix(FULL), cup))
    said = tuple(tuple(words for words, _, _ in place) for place in places)
    return Lading(_rows(plan, printer, *BARE), said, choices), liquids


def _fillings(plan: WagonPlan, seat: Seat, own: Cup, printer: Printer) -> Iterator[Filling]:
    """Yield words, cup and rows of all that a seat may hold: nothing, then its own cup and every other that an insert
    lets in, each emptied and full."""
    yield "", None, []
    rings: list[tuple[str, Cup, tuple[Row, ...]]] = [
        (ring.cup, cup, ((printed_mass(ring, printer), seat.x, seat.y, plan.deck_z + ring.centroid_z),))
        for ring, cup in plan.inserts if ring.seat == seat.cup]
    for name, cup, ring in [(seat.cup, own, ()), *rings]:
        emptied = [*ring, (cup.mass, seat.x, seat.y, plan.deck_z + dry_centre(cup))]
        yield f"empty {name}", cup, emptied
        if cup.fill > 0:
            yield f"{FULL}{name}", cup, [*emptied, (liquid_mass(cup), seat.x, seat.y, plan.deck_z + liquid_centre(cup))]


def swung_centre(cup: Cup, swing: float) -> float:
    """Return the height [mm] over the cup's foot at which its liquid, taken as frozen, has the moment it has
    in truth.

    Under a steady acceleration `a` its tilted surface, of radius R, moves it aside by pi R^4/(4 V) a/g, V its volume
    (a ship's metacentre, textbook, from memory). What swings beyond that, `swing` less 1 times the first mode's mass,
    pushes at the height of its spring and has moved aside by a/omega^2: CALC from the spring-mass model. `swing` is 1
    for a steady lean, 2 for a sudden start.
    """
    leaning, beyond = _leverage(cup)
    return liquid_centre(cup) + leaning + (swing - 1) * beyond


@lru_cache(maxsize=256)
def _leverage(cup: Cup) -> tuple[float, float]:
    """Return what the lean of its surface adds to that height [mm], and what every further lean's worth of swing."""
    heights, diameters = np.transpose(cut_off(cup.inside, cup.floor + cup.fill))
    volume, radius = 1000 * liquid_mass(cup) / cup.density, diameters[-1] / 2
    omega, swings, spring = first_mode(heights - cup.floor, diameters / 2)
    return float(np.pi / 4 * radius**4 / volume), swings / volume * (cup.floor + spring + GRAVITY / omega**2)


def worst(of: Lading, quantities: Quantities, constant: float = 0.0) -> Worst:
    """Return the least ratio of two sums over parts, a `constant` added to the denominator, over every load
    state, modules in and out; exact for any number of seats. Where the denominator is never above 0, it is
    infinite."""
    above, below = (float(each.sum()) for each in quantities(of.bare))
    if not below + constant > 0:
        return Worst(np.inf, "in any load state", of.bare)
    value, chosen = worst_choice(above, below + constant, *_summed(quantities, of))
    words = [place[min(choice, len(place) - 1)] for place, choice in zip(of.words, chosen, strict=True)]
    rows = of.choices[np.arange(len(chosen)), chosen].reshape(-1, 4)
    return Worst(value, _said(words), np.concatenate([of.bare, rows]))


def _summed(quantities: Quantities, of: Lading) -> list[np.ndarray]:
    """Return both quantities of every filling, each of shape (places, fillings)."""
    return [each.reshape(of.choices.shape[:3]).sum(axis=2) for each in quantities(of.choices.reshape(-1, 4))]


def _said(words: list[str]) -> str:
    """Say which seats hold what: "full tea in seat 1 and 2, modules out"."""
    seats, held = [word for word in words if word not in MODULES], dict[str, list[str]]()
    for number, word in enumerate(seats, 1):
        if word:
            held.setdefault(word, []).append(str(number))
    said = [f"{word} in seat {' and '.join(numbers)}" for word, numbers in held.items()]
    said = said or (["no cups on it"] if seats else [])
    return ", ".join([*said, *words[len(seats):]]) or "as it is"


def heaviest(of: Lading) -> float:
    """Return the mass [g] of the wagon with modules in and the heaviest filling in every seat."""
    return float(of.bare[:, 0].sum() + of.choices[..., 0].sum(axis=2).max(axis=1, initial=0.0).sum())


# ---- states worth knowing

class State(Struct, frozen=True):
    """A load state worth knowing: what it is, what stands where in words, mass [g], centre of gravity x, y, z
    [mm] and the weight on the front and the rear axle or bogie [g]."""

    what: str
    words: str
    mass: float
    centre: tuple[float, float, float]
    front: float
    rear: float


def notable(plan: WagonPlan, printer: Printer) -> tuple[State, ...]:
    """Return the load states of a wagon that are extreme in one way, exact for any number of seats; states
    that come up twice are told once."""
    of, found = lading(plan, printer), dict[str, State]()
    for what, quantities, constant in _EXTREMES:
        state = worst(of, quantities, constant)
        told = found.get(state.words)
        found[state.words] = _state(f"{told.what}, {what}" if told else what, state, plan.base)
    return tuple(found.values())


_EXTREMES: tuple[tuple[str, Quantities, float], ...] = (
    ("lightest", lambda rows: (rows[:, 0], 0 * rows[:, 0]), 1.0),
    ("heaviest", lambda rows: (-rows[:, 0], 0 * rows[:, 0]), 1.0),
    ("highest", lambda rows: (-rows[:, 0] * rows[:, 3], rows[:, 0]), 0.0),
    ("farthest forward", lambda rows: (-rows[:, 0] * rows[:, 1], rows[:, 0]), 0.0),
    ("farthest back", lambda rows: (rows[:, 0] * rows[:, 1], rows[:, 0]), 0.0))


def _state(what: str, state: Worst, base: float) -> State:
    mass = float(state.rows[:, 0].sum())
    x, y, z = (float(state.rows[:, 0] @ state.rows[:, axis]) / mass for axis in (1, 2, 3))
    front = mass * (0.5 + x / base)
    return State(what, state.words, mass, (x, y, z), front, mass - front)
