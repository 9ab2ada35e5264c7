"""What each wagon comes out as, from the plan alone: sizes, masses, cups, settings of the axles, and what it takes to
print."""

from collections import Counter
from typing import Any

from msgspec import Struct

from partgen.describe.printer_tables import Printer
from partgen.dynamics.load_states import heaviest, lading, unladen
from partgen.formulas.plastic import filament_length
from partgen.plan.deck.cups import liquid_mass
from partgen.plan.hardware import DENSITY
from partgen.plan.printed import print_time, printed_mass
from partgen.plan.running_gear.gear import RunningGear
from partgen.plan.train import TrainPlan
from partgen.plan.wagon import WagonPlan

Box = tuple[float, float, float]
SHELL = {"frame", "body", "lid", "cradle"}      # outlines of what is one block once it is screwed together


class Filled(Struct, frozen=True):
    """So many of one cup: how much drink each holds at its fill [ml], and what it then weighs [g]."""

    cup: str
    called: str
    count: int
    drink: float
    mass: float


class Sizes(Struct, frozen=True):
    """One wagon: its body, with lid and cradle over all, and its inside under the lid [mm] along x, y, z; height over
    rail top [mm] of what is printed and with its cups; mass without cups and at its heaviest [g]; cups; the gear with
    its settings; length of its cables [mm]; what of its modules' arrangement is not proven best, as in
    `Layout.unproven`; filament [g, m] and time [h] to print it, without heating up."""

    wagon: str
    outside: Box
    over_all: Box
    inside: Box
    high: float
    high_with_cups: float
    empty: float
    full: float
    cups: tuple[Filled, ...]
    gear: RunningGear
    cables: float
    unproven: tuple[tuple[str, float, float], ...]
    filament: float
    metres: float
    hours: float

    def record(self) -> dict[str, Any]:
        """Return it as data: lengths in mm, masses in g."""
        (length, width, height), gear = self.outside, self.gear
        return {"wagon": self.wagon, "length": length, "width": width, "height": height,
                "over_all": dict(zip(("length", "width", "height"), self.over_all, strict=True)),
                "inside": dict(zip(("length", "width", "height"), self.inside, strict=True)),
                "over_rail": self.high, "over_rail_with_cups": self.high_with_cups, "empty_g": self.empty,
                "full_g": self.full, "cups": [{"cup": one.cup, "count": one.count, "drink_ml": one.drink,
                                               "full_g": one.mass} for one in self.cups],
                gear.base_name: gear.base, "settings": gear.settings,
                "barred": [{"wheelbase": one.base, "why": one.barred} for one in gear.scale if one.barred],
                "cables": self.cables,
                "not_proven_best": [{"aim": aim, "found": found, "none_below": bound}
                                    for aim, found, bound in self.unproven],
                "filament_g": self.filament, "filament_m": self.metres, "print_time_h": self.hours}


def sizes(train: TrainPlan) -> tuple[Sizes, ...]:
    """Return the sizes of every wagon, front to back."""
    return tuple(_sizes(plan, train.description.printer) for plan in train.wagons)


def _sizes(plan: WagonPlan, printer: Printer) -> Sizes:
    body, printed = plan.body, [(printed_mass(item.plan, printer), item) for item in plan.items]
    filament, (x, y, z) = sum(mass * item.count for mass, item in printed), body.inside
    return Sizes(
        plan.name, body.size, _over_all(plan), (x, y, z - body.over if plan.lid else z),
        max(one.high for one in plan.outlines if one.part != "cup"), max(one.high for one in plan.outlines),
        float(unladen(plan, printer).bare[:, 0].sum()), heaviest(lading(plan, printer)), _cups(plan),
        plan.gear, sum(plan.layout.runs), plan.layout.unproven(), filament,
        filament_length(filament / DENSITY[printer.material], printer.slicing.filament) / 1000,
        sum(print_time(item.plan, printer) * item.count for _, item in printed) / 3600)


def _over_all(plan: WagonPlan) -> Box:
    """Return what a wagon measures [mm], up from its body's underside, without couplers, wheels and cups."""
    built = [one for one in plan.outlines if one.part in SHELL]
    length, width = (max(point[axis] for one in built for point in one.points)
                     - min(point[axis] for one in built for point in one.points) for axis in (0, 1))
    return length, width, max(one.high for one in built) - min(one.low for one in built if one.part == "body")


def _cups(plan: WagonPlan) -> tuple[Filled, ...]:
    """Return the cups in the seats, those of one kind together."""
    cups = {seat.cup: cup for seat, cup in plan.cups}
    counts = Counter(seat.cup for seat, _ in plan.cups)
    return tuple(Filled(name, cup.label, counts[name], liquid_mass(cup) / cup.density, cup.mass + liquid_mass(cup))
                 for name, cup in cups.items())
