"""How full: the highest depth of every cup at which nothing that held fails."""

from math import floor

from msgspec import Struct

from partgen.dynamics.liquids import liquid_of, liquids_of
from partgen.dynamics.questions import QUESTIONS, Unheld, holds, unheld
from partgen.dynamics.search import filled, largest
from partgen.dynamics.speeds import SPILLS, TIPS
from partgen.identity import SeatId
from partgen.plan.train import TrainPlan

FINE = 10               # steps to a mm
SHARES = (1.0, 0.75, 0.5, 0.25, 0.05)       # of the depths described: where to begin if those are too deep
HAIR = 1e-6             # of rounding, in steps
ROUNDS = 8              # of raising cups beside each other; two or three are most often enough
DRINKS = (*SPILLS, *TIPS, "tip-standing")

Depths = dict[str, float]


class Fill(Struct, frozen=True):
    """How deep a cup is to be filled [mm]: to a `level`, as described where that holds, and to the `highest` mark
    never passed, counted in tenths from the rim down; 0 where no depth is an answer."""

    level: float
    highest: float


def fills_of(train: TrainPlan) -> dict[str, Fill]:
    """Return the fill of every kind of cup by name: all may stand at their levels, and all at their highest marks.

    The checks hold both: they are asked of the train so filled. What else fails at any depth is not the fill's to mend
    and has no say.
    """
    described = {liquid.name: liquid.depth for liquid in liquids_of(train)}
    depths, excused = _start(train, described)
    levels = _all_raised(train, depths, described, excused)
    depths, rims = levels, {liquid.name: liquid.rim for liquid in liquids_of(train)}
    for _ in range(ROUNDS):         # a ramp shaped to a fuller cup may leave another more room
        before, depths = depths, _all_raised(train, depths, rims, excused)
        if depths == before:
            break
    return {name: Fill(level, depths[name]) for name, level in levels.items()}


def _all_raised(train: TrainPlan, depths: Depths, goals: Depths, excused: Unheld) -> Depths:
    """Return how deep the cups may be filled, one raised after the other, but for those that take nothing."""
    for name in [name for name, depth in depths.items() if depth]:
        depths = {**depths, name: _raised(train, depths, name, goals[name], excused)}
    return depths


def _start(train: TrainPlan, described: Depths) -> tuple[Depths, Unheld]:
    """Return depths that hold, 0 for cups that spill at any, and what is excused: what fails at any depth, and what
    fails as described and has nothing to do with drinks."""
    rims = {liquid.name: liquid.rim for liquid in liquids_of(train)}
    tried: list[tuple[Depths, Unheld]] = []
    for share in SHARES:
        depths = described if share == 1 else {name: _marked(share * depth, rims[name])
                                               for name, depth in described.items()}
        tried.append((depths, unheld(filled(train, depths), QUESTIONS)))
        if not tried[-1][1]:
            break
    excused = frozenset.intersection(*(failing for _, failing in tried))
    spilling = {who.cup for name, who in excused if name in SPILLS and isinstance(who, SeatId)}
    excused |= {(name, who) for name, who in tried[0][1] if name not in DRINKS}
    found = next((depths for depths, failing in tried if failing <= excused), dict.fromkeys(described, 0.0))
    return found | dict.fromkeys(spilling, 0.0), excused


def _raised(train: TrainPlan, depths: Depths, name: str, goal: float, excused: Unheld) -> float:
    """Return how deep one cup may be filled, up to a `goal`, beside the others at their `depths` [mm]."""
    now, rim = depths[name], liquid_of(name, train.description.cup[name]).rim

    def passes(step: int) -> bool:
        return holds(filled(train, {**depths, name: _deep(step, rim)}), QUESTIONS, 0.0, excused)

    step = largest(_step(now, rim) + 1, _step(goal, rim) + 1, passes)
    return now if step is None else _deep(step, rim)


def _step(depth: float, rim: float) -> int:
    """Return the last mark up to a `depth` [mm], counted from the inner floor; marks stand in tenths from the rim
    down."""
    return floor(FINE * depth - FINE * rim % 1 + HAIR)


def _deep(step: int, rim: float) -> float:
    """Return the depth [mm] of a mark."""
    return round((step + FINE * rim % 1) / FINE, 9)


def _marked(depth: float, rim: float) -> float:
    """Return the depth [mm] of the last mark up to a `depth`, of the first above the floor where there is none."""
    return max(_deep(_step(depth, rim), rim), _deep(0, rim)) or _deep(1, rim)
