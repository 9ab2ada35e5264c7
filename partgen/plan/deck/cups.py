"""What of a cup and its liquid weighs where, by its outside and its inside."""

from functools import lru_cache

from partgen.describe.cup_table import Cup
from partgen.describe.turned import cut_off, turned_moments


def liquid_mass(cup: Cup, fill: float | None = None) -> float:
    """Return the mass [g] of the liquid in `cup` filled `fill` [mm] deep (its own fill when None)."""
    return cup.density / 1000 * _drink(cup, cup.fill if fill is None else fill)[0]


@lru_cache(maxsize=256)
def liquid_centre(cup: Cup) -> float:
    """Return the height [mm] of the liquid's centre of gravity over the cup's foot."""
    volume, moment = _drink(cup, cup.fill)
    return moment / volume if volume else cup.floor


@lru_cache(maxsize=256)
def dry_centre(cup: Cup) -> float:
    """Return the height [mm] of the empty cup's centre of gravity over its foot, one material all over; the higher of
    two where it may be solid under its inside, as a glass is, or hollow, as a paper cup; stems are solid."""
    outer, inner = turned_moments(cup.profile), turned_moments(cup.inside)
    return max((outer[1] - inner[1] - moment) / (outer[0] - inner[0] - volume)
               for volume, moment in ((0.0, 0.0), _hollow_foot(cup)))


def _hollow_foot(cup: Cup) -> tuple[float, float]:
    """Return volume [mm3] and first moment [mm4] of the hollow under a floor as thin as the wall, walled round."""
    if cup.floor <= cup.wall or cup.stem:
        return 0.0, 0.0
    low = cut_off(cup.profile, cup.floor - cup.wall)
    return turned_moments([(height, max(diameter - 2 * cup.wall, 0.0)) for height, diameter in low])


def _drink(cup: Cup, depth: float) -> tuple[float, float]:
    """Return volume [mm3] and first moment [mm4] about the foot of a drink `depth` [mm] deep."""
    return turned_moments(cut_off(cup.inside, cup.floor + depth))
