"""What a wagon is resolved from: the one small value that every stage is given."""

from msgspec import Struct

from partgen.describe.cargo_tables import Module
from partgen.describe.cup_table import Cup
from partgen.describe.description import Description
from partgen.describe.printer_tables import Printer
from partgen.describe.track_tables import Track
from partgen.describe.train_tables import Coupler
from partgen.describe.wagon_tables import Wagon, Wheelset
from partgen.plan.cables import WagonCables, cables_of
from partgen.plan.hardware import SCREWS, Screw
from partgen.plan.trackside import marker_top
from partgen.plan.wheel import weighed


class Context(Struct, frozen=True):
    """A wagon as it is wished, and all that is described beside it which has a say in what it becomes."""

    wagon: Wagon
    wheelset: Wheelset
    screw: Screw
    coupler: Coupler
    printer: Printer
    track: Track
    modules: dict[str, Module]
    cups: dict[str, Cup]
    marker_top: float       # upper face of the marker over rail top [mm], negative
    joint_step: float       # of the rails [mm]
    cables: WagonCables


class Shortfall(Struct, frozen=True):
    """What cannot be as wished: of what kind, its value and the least that it must be [mm], and what it is about."""

    kind: str
    value: float
    least: float
    name: str = ""


def short(*asked: Shortfall) -> tuple[Shortfall, ...]:
    """Return those whose value is below the least that it must be."""
    return tuple(one for one in asked if one.value < one.least - 1e-9)


def context_of(wagon: Wagon, description: Description) -> Context:
    """Return what `wagon` of a description is resolved from."""
    wheelset = weighed(description.wheelset[wagon.wheelset], description.printer)
    return Context(wagon, wheelset, SCREWS[wagon.screw], description.coupler, description.printer, description.track,
                   description.module, description.cup, marker_top(description),
                   description.joint_step, cables_of(wagon, description))
