"""How surely a wagon stands: the edges it may tip over, against whatever its seats hold."""

from math import inf

from msgspec import Struct
from msgspec.structs import replace

from partgen.dynamics.load_states import Lading, Worst, ballast, worst
from partgen.formulas.balance import tip_moments


class Edge(Struct, frozen=True):
    """What a wagon may tip over: `axis` of its offset (1 lengthwise, 2 sideways) and `sign` of the way it
    falls, how far the edge lies from the middle [mm], the acceleration away from it [mm/s2], the floor's lean
    towards it [rad], and the moment [N mm] of the couplers' pull."""

    axis: int
    sign: int
    reach: float
    acceleration: float
    tilt: float
    pull: float = 0.0

    def holding(self, rows):
        """Return the moments [N mm] that hold each part, rows of mass [g], x, y, z [mm]."""
        return self._moments(rows)[0]

    def tipping(self, rows):
        """Return the moments [N mm] that tip each part."""
        return self._moments(rows)[1]

    def _moments(self, rows):
        return tip_moments(rows[:, 0], self.sign * rows[:, self.axis], rows[:, 3], self.reach, self.acceleration,
                           self.tilt)


class Stand(Struct, frozen=True):
    """A wagon with whatever it may carry, and every edge that it may tip over."""

    of: Lading
    edges: tuple[Edge, ...]

    def worst(self) -> tuple[Worst, Edge]:
        """Return the load state that is held least surely against tipping, its margin the value [1], and the
        edge."""
        found = [(worst(self.of, edge.holding, edge.tipping, edge.pull), edge) for edge in self.edges]
        return min(found, key=lambda one: one[0].value)

    def margin(self) -> float:
        """Return how many times over the wagon is held against tipping in its worst load state [1]."""
        return self.worst()[0].value

    def ballast(self, margin: float, height: float) -> float:
        """Return the mass [g] that, put in the wagon's middle at `height` over rail top [mm], gives it a
        `margin` [1] over every edge; infinite where weight there is no help."""
        return max((ballast(self.of, edge.holding, edge.tipping, edge.pull, margin, (0.0, 0.0, height))
                    for edge in self.edges), default=inf)


def short(state: Worst, edge: Edge, margin: float) -> float:
    """Return how much farther [mm] an edge must lie from a load state to hold it `margin` times over."""
    held, tipped = edge.holding(state.rows).sum(), edge.tipping(state.rows).sum() + edge.pull
    farther = replace(edge, reach=edge.reach + 1.0).holding(state.rows).sum() - held
    return float((margin * tipped - held) / farther)
