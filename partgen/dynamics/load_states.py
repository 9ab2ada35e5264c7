"""Load states: what may stand in every seat, with the modules in or out, and which state is the worst."""

from collections.abc import Callable, Iterator
from functools import lru_cache

import numpy as np
from msgspec import Struct
from msgspec.structs import replace

from partgen.describe.cargo_tables import Cup
from partgen.formulas.balance import worst_choice
from partgen.formulas.slosh import height_of_spring_mass, mass_fraction, pendulum_length
from partgen.plan.deck.cups import diameter_at, dry_centre, liquid_centre, liquid_mass
from partgen.plan.deck.seats import Seat
from partgen.plan.mass import loads, printed_mass
from partgen.plan.wagon import WagonPlan

PARTS = 3               # of a filling at most: insert, cup, liquid
STEADY = 1.0            # a liquid's rise over its steady rise where it only leans
FULL = "full "

Row = tuple[float, float, float, float]
Quantities = Callable[[np.ndarray], tuple[np.ndarray, np.ndarray]]
"""Of parts as rows of mass [g], x, y, z [mm]: two numbers a part, each to be added up, and the sums to be divided."""


class Lading(Struct, frozen=True):
    """A wagon by what is always there and by its modules, rows of mass [g], x, y, z [mm]; and by what each seat may
    hold: in words, "" for nothing, and as rows, shape (seats, fillings, PARTS, 4), 0 where there is none."""

    bare: np.ndarray
    modules: np.ndarray
    words: tuple[tuple[str, ...], ...]
    choices: np.ndarray

    def always(self, with_modules: bool) -> np.ndarray:
        """What is there in every load state, with the modules in or out, as rows."""
        return np.concatenate([self.bare, self.modules]) if with_modules else self.bare


class Worst(Struct, frozen=True):
    """The least value of a ratio over all load states, the state in words, and its parts as rows."""

    value: float
    words: str
    rows: np.ndarray


def lading(plan: WagonPlan, material: str, swings: dict[str, float] | None = None) -> Lading:
    """Return what a wagon may carry; `swings` tells by cup how far its liquid rises over its steady rise [1].

    A liquid that it leaves out leans as under a steady acceleration; with None all stand level.
    """
    level, liquids = _level(plan, material)
    if swings is None:
        return level
    choices = level.choices.copy()
    for place, name, cup in liquids:
        choices[(*place, 3)] += swung_centre(cup, swings.get(name, STEADY)) - liquid_centre(cup)
    return replace(level, choices=choices)


def unladen(plan: WagonPlan, material: str) -> Lading:
    """Return a wagon without cups, its modules in."""
    of = lading(plan, material)
    return replace(of, bare=of.always(True), modules=of.modules[:0], words=(), choices=of.choices[:0])


@lru_cache(maxsize=256)
def _level(plan: WagonPlan, material: str) -> tuple[Lading, list[tuple[tuple[int, int, int], str, Cup]]]:
    """Return the lading with all liquids level, and every liquid in it: its place among the choices, whose it is."""
    parts = [(load.kind, (load.mass, load.x, load.y, load.z)) for load in loads(plan, material)]
    bare, modules = (np.reshape([row for one, row in parts if one in kinds], (-1, 4))
                     for kinds in (("printed", "gear"), ("module",)))
    seats = [list(_fillings(plan, seat, cup, material)) for seat, cup in plan.cups]
    choices = np.zeros((len(seats), max(map(len, seats), default=1), PARTS, 4))
    liquids = []
    for number, seat in enumerate(seats):
        for choice, (words, cup, rows) in enumerate(seat):
            choices[number, choice, :len(rows)] = np.reshape(rows, (-1, 4))
            if words.startswith(FULL):
                liquids.append(((number, choice, len(rows) - 1), words.removeprefix(FULL), cup))
    return Lading(bare, modules, tuple(tuple(words for words, _, _ in seat) for seat in seats), choices), liquids


def _fillings(plan: WagonPlan, seat: Seat, own: Cup,
              material: str) -> Iterator[tuple[str, Cup, list[Row]]]:
    """Yield words, cup and rows of all that a seat may hold: nothing, then its own cup and every other that an insert
    lets in, each emptied and full."""
    yield "", own, []
    rings: list[tuple[str, Cup, tuple[Row, ...]]] = [
        (ring.cup, cup, ((printed_mass(ring, material), seat.x, seat.y, plan.deck_z + ring.centroid_z),))
        for ring, cup in plan.inserts if ring.seat == seat.cup]
    for name, cup, ring in [(seat.cup, own, ()), *rings]:
        emptied = [*ring, (cup.mass, seat.x, seat.y, plan.deck_z + dry_centre(cup))]
        yield f"empty {name}", cup, emptied
        if cup.fill > 0:
            yield f"{FULL}{name}", cup, [*emptied, (liquid_mass(cup), seat.x, seat.y, plan.deck_z + liquid_centre(cup))]


def swung_centre(cup: Cup, swing: float) -> float:
    """Return the height [mm] over the cup's foot at which its liquid, taken as frozen, has the moment it has
    in truth.

    Under an acceleration `a` the mass m1 that swings moves aside by `swing` times l a/g, l the length of its
    pendulum, and pushes with `swing` times m1 a at the height of its spring: CALC from the spring-mass model,
    first mode. `swing` is 1 for a steady lean, 2 for a sudden start.
    """
    depth, radius = cup.fill, diameter_at(cup.profile, cup.wall + cup.fill) / 2 - cup.wall
    share = mass_fraction(radius, depth)
    spring = cup.wall + depth * height_of_spring_mass(radius, depth)
    return float(liquid_centre(cup) + share * ((swing - 1) * spring + swing * pendulum_length(radius, depth)))


def worst(of: Lading, quantities: Quantities, constant: float = 0.0) -> Worst:
    """Return the least ratio of two sums over parts, a `constant` added to the denominator, over every load
    state, modules in and out; exact for any number of seats. Where the denominator is never above 0, it is
    infinite."""
    tops, bottoms = _summed(quantities, of)
    return min((_worst(of, quantities, constant, tops, bottoms, with_modules) for with_modules in
                ((True, False) if len(of.modules) else (True,))), key=lambda one: one.value)


def _summed(quantities: Quantities, of: Lading) -> list[np.ndarray]:
    """Return both quantities of every filling, each of shape (seats, fillings)."""
    return [each.reshape(of.choices.shape[:3]).sum(axis=2) for each in quantities(of.choices.reshape(-1, 4))]


def _worst(of: Lading, quantities: Quantities, constant: float, tops: np.ndarray, bottoms: np.ndarray,
           with_modules: bool) -> Worst:
    always = of.always(with_modules)
    above, below = (float(each.sum()) for each in quantities(always))
    if not below + constant > 0:
        return Worst(np.inf, "in any load state", always)
    value, chosen = worst_choice(above, below + constant, tops, bottoms)
    words = [seat[min(choice, len(seat) - 1)] for seat, choice in zip(of.words, chosen, strict=True)]
    return Worst(value, _said(words, with_modules, len(of.modules)),
                 np.concatenate([always, of.choices[np.arange(len(chosen)), chosen].reshape(-1, 4)]))


def _said(words: list[str], with_modules: bool, modules: int) -> str:
    """Say which seats hold what: "full tea in seat 1 and 2, modules out"."""
    held: dict[str, list[str]] = {}
    for number, word in enumerate(words, 1):
        if word:
            held.setdefault(word, []).append(str(number))
    said = [f"{word} in seat {' and '.join(numbers)}" for word, numbers in held.items()]
    said = said or (["no cups on it"] if words else [])
    if modules:
        said.append("modules in" if with_modules else "modules out")
    return ", ".join(said) or "as it is"


def ballast(of: Lading, quantities: Quantities, constant: float, share: float,
            place: tuple[float, float, float]) -> float:
    """Return the mass [g] that, put at `place` (x, y, z) [mm], keeps the ratio of `worst` at `share` in every
    load state; 0 where none is needed, infinite where weight there is no help. Exact: the sums are linear in
    it."""
    def spare(rows: np.ndarray) -> float:
        above, below = quantities(rows)
        return float((above - share * below).sum())

    tops, bottoms = _summed(quantities, of)
    gain = spare(np.array([(1.0, *place)]))
    least = min(spare(of.always(inside)) for inside in (True, False)) + (tops - share * bottoms).min(axis=1).sum()
    missing = share * constant - least
    return max(0.0, float(missing / gain)) if gain > 0 or missing <= 0 else np.inf


def heaviest(of: Lading) -> float:
    """Return the mass [g] of the wagon with modules in and the heaviest filling in every seat."""
    return float(of.always(True)[:, 0].sum() + of.choices[..., 0].sum(axis=2).max(axis=1, initial=0.0).sum())


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


def notable(plan: WagonPlan, material: str) -> tuple[State, ...]:
    """Return the load states of a wagon that are extreme in one way, exact for any number of seats; states
    that come up twice are told once."""
    of, found = lading(plan, material), dict[str, State]()
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
