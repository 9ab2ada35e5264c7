"""Crossings at grade: which passages of the plan lie on one crossing, and what a wheel does in their gaps."""

from functools import lru_cache
from math import inf

from msgspec import Struct
from msgspec.structs import replace

from partgen.describe.track_tables import Track
from partgen.describe.wagon_tables import Wheelset
from partgen.dynamics.survey import path_of
from partgen.formulas.jolts import gap_drop
from partgen.motion.crossing import Meeting, crossings
from partgen.plan.train import TrainPlan
from partgen.plan.wagon import WagonPlan

HAIR = 1e-6     # mm


class Passage(Struct, frozen=True):
    """A crossing as the train runs over it: the `station` of its middle, its `length`, the `gap` in its rails, how deep
    its flangeway's `floor` is, infinite where nobody measured it [mm], the `angle` of its ways [deg]; and the station
    of the `other` passage over it [mm], None where the other way belongs to nobody."""

    station: float
    length: float
    angle: float
    gap: float
    floor: float
    other: float | None = None

    def covers(self, station: float) -> bool:
        """Does a station lie on the piece?"""
        return abs(station - self.station) <= self.length / 2 + HAIR


def crossed(track: Track) -> tuple[Passage, ...]:
    """Return every passage of the plan over a crossing, in running order."""
    return _matched(track)[0]


def astray(track: Track) -> tuple[Meeting, ...]:
    """Return where the plan crosses itself without one crossing at both passages, or on one that is crossed already."""
    return _matched(track)[1]


@lru_cache(maxsize=64)
def _matched(track: Track) -> tuple[tuple[Passage, ...], tuple[Meeting, ...]]:
    path = path_of(track)
    pieces = [piece for piece in track.plan for _ in range(piece.times)]
    found = [Passage(float(start) + piece.length / 2, piece.length, piece.angle, piece.gap, piece.flangeway or inf)
             for piece, start in zip(pieces, path.bounds, strict=False)
             if piece.go == "crossing" and piece.length and piece.angle and piece.gap]
    loose, others = [], dict[int, float]()
    for met in crossings(path) if track.plan else ():
        two = [next((n for n, one in enumerate(found) if one.covers(at)), -1) for at in (met.first, met.second)]
        if -1 in two or two[0] == two[1] or others.keys() & set(two):
            loose.append(met)
        else:
            others |= {two[0]: found[two[1]].station, two[1]: found[two[0]].station}
    return tuple(replace(one, other=others.get(n)) for n, one in enumerate(found)), tuple(loose)


# ---- what a wheel does in its gaps

def drop(one: Passage, wheels: Wheelset) -> float:
    """Return how far [mm] a wheel leaves the rails' level on a crossing: down in its gaps, or up on its floor."""
    return float(gap_drop(wheels.tread_radius, one.gap, one.floor - wheels.flange_depth))


def highest_step(train: TrainPlan, plan: WagonPlan) -> float:
    """Return the highest step [mm] that a wheel of a wagon makes on the plan: at a joint, or over a crossing's gap."""
    return max([train.description.joint_step,
                *(drop(one, plan.wheelset) for one in crossed(train.description.track))])
