"""What carries a wagon: two axles in holders, or two bogies; the rest of the plan sees no difference."""

from typing import Protocol

from partgen.describe.description import Description
from partgen.describe.wagon_tables import Wagon
from partgen.plan.hardware import SCREWS
from partgen.plan.pivot import PivotPlan
from partgen.plan.running_gear import bogie
from partgen.plan.running_gear import two_axle as gear
from partgen.plan.running_gear.holder import SlidePlan


class Undercarriage(Protocol):
    """What `gear.GearPlan` and `bogie.BogieGearPlan` have in common; lengths and heights over rail top in mm."""

    carriers: str           # what it is called in a remedy
    base_name: str          # the field that says how far the guided points stand apart
    base: float             # that distance: axle to axle, or pivot to pivot
    bogie: bogie.BogiePlan | None
    bogie_wheelbase: float  # 0 without bogies
    travel: float           # of axle holders, either way
    axles: tuple[float, ...]
    axle_z: float
    wheel_top: float
    frame_bottom: float
    frame_thickness: float
    rib: float              # thinnest wall of the frame
    middle: float           # width that the frame keeps free of body screws
    spine: float            # width of the frame's spine
    slide: SlidePlan | None
    bolsters: tuple[PivotPlan, ...]
    blocks: tuple[tuple[float, float, float], ...]

    def seat_distance(self, coupling) -> float:
        """Return the distance [mm] from a guided point to the coupler seat's pivot that it wants."""

    def least_seat_distance(self, coupling) -> float:
        """Return the distance [mm] under which gear and seat stand in each other's place."""

    def fitted(self, short: float) -> "Undercarriage":
        """Return it where the body is `short` [mm] too short at either end."""

    def unmet(self, screw, printer):
        """Yield (value, least value [mm], remedy) for what cannot be whatever the body is."""

    def items(self):
        """Yield the printed parts with their places in the wagon."""


def resolve(wagon: Wagon, description: Description, lowest_frame: float) -> Undercarriage:
    """Resolve what carries `wagon`; the frame's underside is at least `lowest_frame` [mm] over rail top."""
    parts = wagon, description.wheelset[wagon.wheelset], SCREWS[wagon.screw], description.printer, lowest_frame
    return gear.resolve(*parts) if wagon.pivot_spacing is None else bogie.resolve(*parts, description.track)
