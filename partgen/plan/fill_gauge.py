"""A comb that hangs on a cup's rim and touches the drink where the cup is filled as described."""

from collections.abc import Iterator
from math import pi

from msgspec.structs import replace

from partgen.describe.description import Description
from partgen.describe.turned import Profile, diameter_at
from partgen.identity import stems
from partgen.packing.nesting import fits
from partgen.plan.item import Core, Item, PartPlan, Place

BAR = 8.0               # height of the bar that lies on the rim
LEG, LEG_WIDE = 5.0, 4.0        # beside the rim at either end, so that the tongue hangs in the middle
PLAY = 0.6              # rim to leg, each side
TONGUE = 10.0           # width of the tongue, in a narrow cup half of what is free
BESIDE = 2.0            # tongue to the cup's wall, at least
TIP = 1.0               # beyond two lines, so that bevels leave the tongue its width
SHORTEST = 2.0          # a shorter tongue shows nothing
PLATE = 4.0             # thickness of every gauge
DOT, DOT_APART = 2.6, 6.0       # diameter of a dot, middle to middle


class FillGaugePlan(PartPlan, frozen=True):
    """A fill gauge, lying: x across the cup, y = 0 on its rim, the tongue towards -y; all in mm. As many `dots` tell
    which of several it is."""

    cup: str                # its name
    called: str
    rim: float              # outer diameter that goes between the legs
    freeboard: float        # rim to drink
    tongue: float           # width
    dots: int

    @property
    def size(self) -> tuple[float, float, float]:
        """Extent along x, y, z."""
        return (self.rim + 2 * (PLAY + LEG_WIDE), BAR + max(self.freeboard, LEG), PLATE)

    @property
    def room(self) -> int:
        """How many dots its bar has room for."""
        return int((self.size[0] - DOT_APART) / DOT_APART)

    @property
    def volume(self) -> float:
        """Volume [mm3], estimated."""
        return PLATE * (self.size[0] * BAR + 2 * LEG_WIDE * LEG + self.tongue * self.freeboard
                        - self.dots * pi / 4 * DOT**2)

    def cores(self, wall: float) -> Iterator[Core]:
        """Yield the bar and the tongue."""
        for length, breadth in ((self.size[0], BAR), (self.freeboard, self.tongue)):
            yield max(length - 2 * wall, 0.0) * max(breadth - 2 * wall, 0.0), PLATE


def fill_gauges(description: Description) -> Iterator[Item]:
    """Yield one for every kind of cup that rides full, where it goes in and on the bed."""
    riding = {name: tuple(wagon.name for wagon in description.wagon if name in (*wagon.cups, *wagon.inserts))
              for name in description.cup}
    plans = {name: _plan(name, description) for name, wagons in riding.items() if wagons}
    hung = {name: plan for name, plan in plans.items() if plan}
    for number, (name, stem) in enumerate(stems(hung, "cup").items(), 1):
        called, dots = ("fill-gauge", 0) if len(hung) == 1 else (f"fill-gauge-{stem}", min(number, hung[name].room))
        yield Item("fill-gauge", called, replace(hung[name], dots=dots), (Place(),), serves=riding[name])


def _plan(name: str, description: Description) -> FillGaugePlan | None:
    """Return the gauge of that cup, None where a tongue finds no room beside its walls or to the drink."""
    printer, cup = description.printer, description.cup[name]
    free = cup.freeboard
    inner = min(_widths(cup.inside, cup.height - free))
    tongue = min(TONGUE, inner / 2)
    plan = FillGaugePlan(name, cup.label, max(_widths(cup.profile, max(cup.height - LEG, 0.0))), free, tongue, 0)
    goes = (cup.fill > 0 and free >= SHORTEST and tongue >= printer.thinnest_wall + TIP
            and (inner - tongue) / 2 >= BESIDE and fits(plan.size[:2], printer.room))
    return plan if goes else None


def _widths(profile: Profile, low: float) -> list[float]:
    """Return the diameters [mm] from height `low` [mm] to the rim, wherever they may be greatest or least."""
    return [diameter_at(profile, low), *(diameter for height, diameter in profile if height > low)]
