"""What of a description may be changed to clear a finding: numbers with their direction, and other values to choose."""

from collections.abc import Iterator
from math import floor

from msgspec import Struct

from partgen.describe.cargo_tables import Module
from partgen.describe.cup_table import Cup
from partgen.describe.edits import found
from partgen.describe.faults import Steps
from partgen.describe.field import Table, extra, limits
from partgen.describe.train_tables import Supply
from partgen.describe.wagon_tables import Wagon, Wheelset
from partgen.dynamics.cables import STALLED, motor
from partgen.finding import Finding
from partgen.identity import CableId, ModulesId, ObstacleId, SeatId
from partgen.plan.train import TrainPlan
from partgen.plan.wagon import WagonPlan

FINE = {"mm": 0.1, "deg": 0.5, "mm/s": 1.0, "s": 0.1, "g": 1.0, "ml": 1.0, "%": 0.5, "mm/m": 0.1, "T": 0.01,
        "N/N": 0.01, "1": 0.01, "g/g": 0.01, "columns": 1.0, "levels": 1.0, "mm2": 0.05, "A": 0.05, "AWG": 1.0}
"""By its unit: the step in which a number is told."""
FINER = {"back_to_back": 0.05, "wall": 0.05, "line_width": 0.01, "layer": 0.01, "flange_thickness": 0.05,
         "magnet_diameter": 1.0, "ballast": 5.0}
REACH = {"fill": 0.5, "volume": 0.5, "speed": 0.4, "mass": 1.6, "half_width": 2.0, "line_width": 0.6}
"""By field: how many times what it is now it may become at most, or at least, the other way the inverse: beyond, nobody
would."""
FINEST = {"floor_tilt": 0.2, "joint_step": 0.1, "twist": 1.0, "speed_scatter": 2.0}
"""By field: the least that a maker with a spirit level and a sheet of paper gets to (common practice, no source)."""
FACTS = {"flange_angle", "motor_current"}   # can be measured, not made
MEASURED = FACTS | {"joint_step", "floor_tilt", "twist"}    # written into a file only when they measure so
SOON = {"flange_angle", "half_width"}       # tried soon, since little work is lost, and told last: it may not be so
BOUGHT = {"remanence", "magnet_diameter", "most_current", "least_current"}  # costs money: after what can be chosen
FILLS = {"fill", "full_mass", "volume"}     # of a cup: how full it is
DERIVED = ("length", "width", "height")     # of a wagon: worked out where they are left out


class Lever(Struct, frozen=True):
    """A number that may be changed: where it stands, what it is now, how far it may go, the step it is told in; `whole`
    where only whole numbers do."""

    steps: Steps
    now: float
    bound: float
    fine: float
    whole: bool = False

    @property
    def way(self) -> int:
        """1 where it is to grow, -1 where it is to shrink."""
        return 1 if self.bound > self.now else -1

    def told(self, value: float) -> float | int:
        """Return the step at `value` or the next beyond it, on the way to the bound, but never beyond the bound."""
        steps = value / self.fine
        on = -floor(-steps + 1e-6) if self.way > 0 else floor(steps + 1e-6)
        near = round(on * self.fine, 4)
        near = min(near, self.bound) if self.way > 0 else max(near, self.bound)
        return int(near) if self.whole else round(near, 4)


LEVERS: dict[str, str] = {
    "wheel-play": "-wheelset.back_to_back +wheelset.back_to_back",
    "wheelbase": "-wagon.wheelbase -wheelset.flange_angle",
    "attack-angle": "-wagon.wheelbase -wheelset.flange_angle",
    "twist": "-wagon.wheelbase -wagon.pivot_spacing -track.twist -ride.joint_step",
    "inner-throw": "-wagon.pivot_spacing -wagon.wheelbase -wagon.width -wagon.length +clearance",
    "outer-throw": "-wagon.length +wagon.pivot_spacing +wagon.wheelbase -wagon.width +clearance",
    "obstacle": "+obstacle -wagon.width -wagon.length -wagon.wheelbase +wagon.wheelbase",
    "passing": "+track.spacing -wagon.width -wagon.length",
    "coupler-swing": "+coupler.swing +coupler.gap -wagon.length -wagon.wheelbase +wagon.wheelbase -wagon.pivot_spacing "
                     "+wagon.pivot_spacing",
    "body-gap": "+coupler.gap -wagon.width -wagon.length -wagon.wheelbase -wagon.pivot_spacing",
    "coupler-height": "-coupler.height +coupler.height -coupler.magnet_diameter",
    "adaptor": "-coupler.height -coupler.magnet_diameter -coupler.remanence",
    "ballast": "-wagon.ballast +wagon.length +wagon.width",
    "string-line": "+wagon.ballast +ride.start_time +ride.stop_time +wagon.wheelbase -wagon.wheelbase -ride.speed "
                   "-cup.fill +wheelset.flange_angle",
    "coupler-pull": "+coupler.remanence +ride.start_time +coupler.magnet_diameter +wagon.ballast -coupler.remanence "
                    "-cup.fill",
    "adhesion": "+locomotive.mass +ride.start_time +ride.stop_time +locomotive.adhesion -ride.speed -cup.fill",
    "axle-load": "+wagon.wheelbase +wagon.pivot_spacing +wagon.ballast -wagon.length",
    "tip-curve": "-ride.speed +wagon.ballast -cup.fill +wagon.wheelbase -coupler.height",
    "tip-stop": "+ride.stop_time +ride.start_time +wagon.ballast +wagon.wheelbase -ride.speed -cup.fill",
    "tip-standing": "+wagon.ballast -ride.floor_tilt -ride.joint_step -cup.fill +wagon.wheelbase -wagon.width",
    "cup-hold": "-ride.speed +ride.stop_time +ride.start_time -cup.fill -ride.floor_tilt",
    "handle-room": "-wagon.height",
    "spill-curve": "-cup.fill -ride.speed -ride.speed_scatter -ride.floor_tilt",
    "spill-stop": "-cup.fill +ride.stop_time +ride.start_time -ride.speed",
    "wheel-room": "+wagon.length -wagon.wheelbase +wagon.wheelbase -wagon.travel +wagon.pivot_spacing "
                  "-wagon.pivot_spacing -coupler.swing +coupler.height",
    "under-clearance": "+coupler.height -wheelset.flange_diameter +track.rail_height",
    "sensor-gap": "+wagon.sensor_gap -wagon.sensor_gap -printer.line_width -wagon.wheelbase",
    "module-fit": "+wagon.length +wagon.width +wagon.height +named.height -lookout.width -lookout.height "
                  "+wagon.sensor_station -wagon.sensor_station -over.wheelbase +over.wheelbase +over.pivot_spacing "
                  "-over.pivot_spacing -over.travel",
    "opening": "+wagon.height +wagon.wall -printer.line_width -wagon.wall -lookout.width",
    "reach": "-wagon.levels",
    "warm-module": "+wagon.height +wagon.length +wagon.width",
    "snap-strain": "+printer.snap_share -printer.snap_share -printer.line_width +wagon.width +wagon.length",
    "snap-force": "+printer.snap_share -printer.snap_share -printer.line_width +printer.line_width +wagon.width "
                  "+wagon.length -wheelset.mass",
    "grip": "+module.standoff -module.standoff",
    "press-fit": "+wheelset.axle_diameter +wheelset.width",
    "mount-fit": "+module.hole +wagon.wall -wagon.wall -module.plug_room",
    "name-plate": "+wagon.length +wagon.height +wagon.wall -printer.line_width",
    "bed": "+wagon.width -wagon.length -wagon.pivot_spacing",
    "wall": "-printer.line_width -printer.layer -wheelset.ring +wheelset.flange_thickness +wheelset.width "
            "+wheelset.axle_diameter -wheelset.axle_diameter +wheelset.flange_diameter",
    "wire-way": "+wagon.width +wagon.height -cable.section",
    "wire-slack": "-wagon.length -coupler.gap +coupler.gap -cable.section",
    "wire-load": "+cable.section -cable.gauge -supply.current_limit",
    "supply": "-supply.current_limit +supply.most_current -supply.motor_current -supply.least_current",
}
"""By check: the numbers that may clear it, each with its direction, the one that a maker would rather change first."""


def levers(finding: Finding, train: TrainPlan, first: TrainPlan) -> Iterator[Lever]:
    """Yield the numbers of a train's description that may clear a finding of it, in the order to try them in; how far
    each may go is told by what it was at `first`."""
    for word in LEVERS.get(finding.check, "").split():
        way, (kind, _, name) = word[0], word[1:].partition(".")
        for steps in places(kind, finding, train):
            place = (*steps, _told(name, found(train.description, steps))) if name else steps
            yield from _lever(way, place, train, first)


def lever_at(steps: Steps, value: float, train: TrainPlan) -> Iterator[Lever]:
    """Yield the lever at `steps` of a train, to be moved towards a `value`; none where no such number stands."""
    for way in "+-":
        yield from (lever for lever in _lever(way, steps, train, train) if (value - lever.now) * lever.way > 0)


def _told(name: str, table: object) -> str:
    """Return the field by which a cup's description tells how full it is, where `name` is its fill."""
    if name == "fill" and isinstance(table, Cup):
        return next((other for other in ("full_mass", "volume") if getattr(table, other) is not None), name)
    return name


def places(kind: str, finding: Finding, train: TrainPlan) -> Iterator[Steps]:
    """Yield where the tables of a kind stand that a finding is about."""
    described, who = train.description, finding.subject
    wagons = {wagon.name: place for place, wagon in enumerate(described.wagon)}
    named = [described.wagon[wagons[name]] for name in who.wagons or wagons]
    if kind == "wagon":
        yield from (("wagon", wagons[wagon.name]) for wagon in named)
    elif kind == "over":        # a wagon over whose track something hangs, which its wheels leave room for
        yield from (("wagon", wagons[wagon.name]) for wagon in named
                    if any(described.module[name].looks_down for name in wagon.modules))
    elif kind == "cup":
        cups = (who.seat or who.cup, who.cup) if isinstance(who, SeatId) else [
            cup for wagon in named for cup in (*wagon.cups, *wagon.inserts)]
        yield from (("cup", cup) for cup in dict.fromkeys(cups))
    elif kind == "module":
        modules = who.modules if isinstance(who, ModulesId) else [name for wagon in named for name in wagon.modules]
        yield from (("module", name) for name in dict.fromkeys(modules))
    elif kind in ("named", "lookout"):      # in what only a finding on modules is about
        modules = who.modules if isinstance(who, ModulesId) else ()
        yield from (steps for name in dict.fromkeys(modules) for steps in (
            [("module", name)] if kind == "named" else looks_out(described.module[name], name)))
    elif kind == "wheelset":
        yield from (("wheelset", name) for name in dict.fromkeys(wagon.wheelset for wagon in named))
    elif kind == "cable" and isinstance(who, CableId):
        yield "cable", who.cable - 1
    elif kind == "clearance":
        yield from (("track", "clearance", place, "half_width") for place, _ in enumerate(described.track.clearance))
    elif kind == "obstacle" and isinstance(who, ObstacleId):
        yield from (("track", "obstacle", place, "distance") for place, thing in enumerate(described.track.obstacle)
                    if thing.name == who.obstacle)
    elif kind not in ("obstacle", "cable"):
        yield {"locomotive": ("train", "locomotive"), "adaptor": ("train", "locomotive", "adaptor")}.get(kind, (kind,))


def looks_out(module: Module, name: str) -> Iterator[Steps]:
    """Yield where what a module looks out of stands."""
    return (("module", name, "looks_out", place) for place, _ in enumerate(module.looks_out))


def _lever(way: str, steps: Steps, train: TrainPlan, first: TrainPlan) -> Iterator[Lever]:
    """Yield the lever at `steps`, if there is such a number and it may go that way."""
    table, name = found(train.description, steps[:-1]), str(steps[-1])
    field = type(table).model_fields.get(name) if isinstance(table, Table) else None
    if field is None:
        return
    (low, high), now = limits(field), getattr(table, name)
    if now is None:
        now = _counted(table, name, way, train)
    if now is None or low is None:
        return
    times = 1.0 if isinstance(table, Wheelset) else REACH.get(name, 1.0)
    was = found(first.description, steps) or now
    if isinstance(table, Cup) and name == "full_mass":
        low = max(low, table.mass + REACH["fill"] * (was - table.mass))
    reach = was * (times if (times > 1) == (way == "+") else 1 / times) if times != 1 else {"-": low, "+": high}[way]
    fine, sign = FINER.get(name, FINE.get(extra(field, "unit"), (high - low) / 500)), 1 if way == "+" else -1
    if times != 1:
        reach = sign * round(floor(sign * reach / fine + 1e-6) * fine, 4)
    bound = max(low, reach, FINEST.get(name, low)) if way == "-" else min(high, reach)
    if (bound - now) * sign <= 0:
        return
    yield Lever(steps, round(float(now), 4), float(bound), fine, isinstance(now, int))


def _counted(table: Table, name: str, way: str, train: TrainPlan) -> float | None:
    """Return what a number that was left out counts as, where it is worked out or taken for the worse; `way` is where
    it is to go."""
    if isinstance(table, Wagon) and name in DERIVED:
        return derived(next(plan for plan in train.wagons if plan.name == table.name))[name]
    if isinstance(table, Wheelset) and name == "flange_angle":
        return table.climbing_angle if way == "+" else table.binding_angle
    if isinstance(table, Supply) and name in ("motor_current", "current_limit"):
        return motor(train.description) if name == "motor_current" else STALLED * motor(train.description)
    return None


def derived(plan: WagonPlan) -> dict[str, float]:
    """Return what a wagon measures outside [mm], by the fields that set it."""
    return {"length": plan.length, "width": plan.width, "height": plan.body.size[2]}
