"""Load states: what may stand in every seat, with the modules in or out, and which state is the worst."""

from collections.abc import Callable

import numpy as np
from msgspec import Struct
from msgspec.structs import replace

from partgen.describe.cargo_tables import Cup
from partgen.formulas.balance import worst_choice
from partgen.formulas.slosh import height_of_spring_mass, mass_fraction, pendulum_length
from partgen.plan.deck.cups import diameter_at, dry_centre, liquid_centre, liquid_mass
from partgen.plan.mass import loads, printed_mass
from partgen.plan.wagon import WagonPlan

PARTS = 3               # of a filling at most: insert, cup, liquid
STEADY = 1.0            # a liquid's rise over its steady rise where it only leans

Quantity = Callable[[np.ndarray], np.ndarray]
"""Of parts as rows of mass [g], x, y, z [mm]: one number a part, to be added up."""


Row = tuple[float, float, float, float]


class Filling(Struct, frozen=True):
    """What a seat may hold, in words, "" for nothing, its parts as rows of mass [g], x, y, z [mm], and
    whether that is the cup the seat was made for."""

    words: str
    rows: tuple[Row, ...]
    own: bool = False


class Lading(Struct, frozen=True):
    """A wagon by what is always there, its modules (rows as above), and the fillings of each seat."""

    bare: np.ndarray
    modules: np.ndarray
    seats: tuple[tuple[Filling, ...], ...]

    @property
    def choices(self) -> np.ndarray:
        """Every filling as rows, shape (seats, fillings, PARTS, 4); what is short holds nothing."""
        most = max((len(seat) for seat in self.seats), default=1)
        rows = np.zeros((len(self.seats), most, PARTS, 4))
        for number, seat in enumerate(self.seats):
            for choice, filling in enumerate(seat):
                rows[number, choice, :len(filling.rows)] = np.reshape(filling.rows, (-1, 4))
        return rows

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
    parts = [(load.kind, (load.mass, load.x, load.y, load.z)) for load in loads(plan, material)]
    bare, modules = (np.reshape([row for one, row in parts if one in kinds], (-1, 4))
                     for kinds in (("printed", "gear"), ("module",)))
    return Lading(bare, modules, tuple(tuple(_choices(plan, seat, cup, material, swings))
                                       for seat, cup in plan.cups))


def _choices(plan, seat, cup, material, swings):
    """Yield nothing, then its own cup, then every other that an insert lets in, each emptied and full."""
    at = seat.x, seat.y, plan.deck_z
    yield Filling("", ())
    yield from (replace(filling, own=True) for filling in _fillings(seat.cup, cup, at, swings))
    for ring, other in [(ring, other) for ring, other in plan.inserts if ring.seat == seat.cup]:
        there = (printed_mass(ring, material), seat.x, seat.y, plan.deck_z + ring.centroid_z)
        yield from _fillings(ring.cup, other, at, swings, there)


def _fillings(name, cup: Cup, at, swings, *there):
    """Yield the emptied cup and the full one standing `at` (x, y, z) [mm], and what else is `there`, as rows."""
    x, y, z = at
    empty = (*there, (cup.mass, x, y, z + dry_centre(cup)))
    yield Filling(f"empty {name}", empty)
    if cup.fill > 0:
        height = liquid_centre(cup) if swings is None else swung_centre(cup, swings.get(name, STEADY))
        yield Filling(f"full {name}", (*empty, (liquid_mass(cup), x, y, z + height)))


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


def worst(of: Lading, above: Quantity, below: Quantity, constant: float = 0.0) -> Worst:
    """Return the least ratio of two sums over parts, a `constant` added to the denominator, over every load
    state, modules in and out; exact for any number of seats. Where the denominator is never above 0, it is
    infinite."""
    choices = of.choices
    tops, bottoms = (_summed(quantity, choices) for quantity in (above, below))
    return min((_worst(of, above, below, constant, tops, bottoms, choices, with_modules) for with_modules in
                ((True, False) if len(of.modules) else (True,))), key=lambda one: one.value)


def _summed(quantity, choices) -> np.ndarray:
    """Return a quantity of every filling, shape (seats, fillings)."""
    return quantity(choices.reshape(-1, 4)).reshape(choices.shape[:3]).sum(axis=2)


def _worst(of, above, below, constant, tops, bottoms, choices, with_modules) -> Worst:
    always = of.always(with_modules)
    base = below(always).sum() + constant
    if not base > 0:
        return Worst(np.inf, "in any load state", always)
    value, chosen = worst_choice(above(always).sum(), base, tops, bottoms)
    seats = np.arange(len(chosen))
    fillings = [seat[min(choice, len(seat) - 1)] for seat, choice in zip(of.seats, chosen)]
    return Worst(value, _words(fillings, with_modules, len(of.modules)),
                 np.concatenate([always, choices[seats, chosen].reshape(-1, 4)]))


def ballast(of: Lading, above: Quantity, below: Quantity, constant: float, share: float, place) -> float:
    """Return the mass [g] that, put at `place` (x, y, z) [mm], keeps the ratio of `worst` at `share` in every
    load state; 0 where none is needed, infinite where weight there is no help. Exact: the sums are linear in
    it."""
    def spare(rows):
        return above(rows) - share * below(rows)

    gain = float(spare(np.array([(1.0, *place)])).sum())
    least = min(spare(of.always(inside)).sum() for inside in (True, False))
    least += _summed(spare, of.choices).min(axis=1).sum()
    missing = share * constant - least
    return max(0.0, float(missing / gain)) if gain > 0 or missing <= 0 else np.inf


def _words(fillings, with_modules, modules) -> str:
    """Say which seats hold what: "full tea in seat 1 and 2, modules out"."""
    held: dict[str, list[str]] = {}
    for number, filling in enumerate(fillings, 1):
        if filling.words:
            held.setdefault(filling.words, []).append(str(number))
    said = [f"{words} in seat {' and '.join(numbers)}" for words, numbers in held.items()]
    said = said or (["no cups on it"] if fillings else [])
    if modules:
        said.append("modules in" if with_modules else "modules out")
    return ", ".join(said) or "as it is"


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
    of, found = lading(plan, material), {}
    for what, above, below, constant in _EXTREMES:
        state = worst(of, above, below, constant)
        told = found.get(state.words)
        found[state.words] = _state(f"{told.what}, {what}" if told else what, state, plan.base)
    return tuple(found.values())


_EXTREMES = (("lightest", lambda rows: rows[:, 0], lambda rows: 0 * rows[:, 0], 1.0),
             ("heaviest", lambda rows: -rows[:, 0], lambda rows: 0 * rows[:, 0], 1.0),
             ("highest", lambda rows: -rows[:, 0] * rows[:, 3], lambda rows: rows[:, 0], 0.0),
             ("farthest forward", lambda rows: -rows[:, 0] * rows[:, 1], lambda rows: rows[:, 0], 0.0),
             ("farthest back", lambda rows: rows[:, 0] * rows[:, 1], lambda rows: rows[:, 0], 0.0))


def _state(what, state: Worst, base) -> State:
    mass, *moments = _sums(state.rows)
    x, y, z = (float(moment / mass) for moment in moments)
    front = mass * (0.5 + x / base)
    return State(what, state.words, float(mass), (x, y, z), float(front), float(mass - front))


def heaviest(of: Lading) -> float:
    """Return the mass [g] of the wagon with modules in and the heaviest filling in every seat."""
    return float(of.always(True)[:, 0].sum() + of.choices[..., 0].sum(axis=2).max(axis=1, initial=0.0).sum())


def _sums(rows) -> np.ndarray:
    """Return mass and first moments of parts."""
    return np.append(rows[:, 0].sum(), (rows[:, :1] * rows[:, 1:]).sum(axis=0))
