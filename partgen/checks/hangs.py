"""What a finding hangs on that nobody measured: fields that were left out and move its figure by more than a hair."""

from collections.abc import Callable, Iterable, Iterator
from itertools import chain
from math import inf
from typing import Any

from msgspec.structs import replace

from partgen.describe.description import LISTED, NAMED, Description
from partgen.describe.faults import Steps
from partgen.describe.load import OF_CABLES, usual
from partgen.describe.train_tables import Supply
from partgen.describe.wagon_tables import Wagon
from partgen.describe.wording import path_text
from partgen.dynamics.speeds import DERAILS, SPILLS
from partgen.finding import Finding
from partgen.identity import ModulesId, SeatId

PULLED = {"string-line", "coupler-pull", "adhesion", "tip-curve"}       # in which other wagons' cups have a say

HANGS: dict[str, str] = {
    "twist": "ride.joint_step track.twist",
    "inner-throw": "track.clearance",
    "outer-throw": "track.clearance",
    "wheelbase": "wheelset.flange_angle",
    "string-line": "coupler.height coupler.magnet_diameter cup.density cup.fill cup.wall printer.bore_offset "
                   "printer.snap_share ride.breakaway ride.floor_tilt ride.gradient ride.rolling ride.speed "
                   "ride.speed_scatter ride.wheel_friction track.plan track.rail_head wheelset.flange_angle "
                   "wheelset.mass",
    "coupler-swing": "track.plan train.locomotive.length",
    "body-gap": "train.locomotive.length train.locomotive.wheelbase train.locomotive.width",
    "coupler-pull": "coupler.height coupler.magnet_diameter coupler.magnet_length coupler.remanence cup.density "
                    "cup.fill module.heat module.standoff ride.breakaway ride.floor_tilt ride.gradient ride.rolling "
                    "ride.wheel_friction train.locomotive.adhesion train.locomotive.adhesive_share "
                    "train.locomotive.coupler_height train.locomotive.mass wheelset.mass",
    "adhesion": "ride.breakaway ride.floor_tilt ride.gradient ride.rolling ride.wheel_friction "
                "train.locomotive.adhesion train.locomotive.adhesive_share train.locomotive.bogie_wheelbase "
                "train.locomotive.mass",
    "coupler-height": "coupler.height coupler.magnet_diameter train.locomotive.coupler_height",
    "adaptor": "coupler.height coupler.magnet_diameter coupler.magnet_length coupler.remanence",
    "tip-curve": "coupler.height cup.density cup.fill cup.viscosity module.standoff printer.snap_share ride.breakaway "
                 "ride.floor_tilt ride.gradient ride.joint_step ride.rolling ride.speed ride.speed_scatter "
                 "ride.wheel_friction track.plan train.locomotive.length",
    "tip-stop": "coupler.height cup.density cup.fill cup.viscosity cup.wall module.standoff printer.snap_share "
                "ride.floor_tilt ride.gradient ride.joint_step ride.speed wheelset.mass",
    "cup-hold": "cup.density cup.fill cup.friction cup.viscosity cup.wall module.standoff ride.floor_tilt "
                "ride.gradient ride.joint_step ride.speed ride.speed_scatter track.joint_spacing track.plan",
    "spill-curve": "cup.fill cup.viscosity cup.wall module.standoff ride.floor_tilt ride.gradient ride.joint_step "
                   "ride.speed ride.speed_scatter track.joint_spacing track.plan",
    "spill-stop": "cup.fill cup.viscosity cup.wall module.standoff ride.floor_tilt ride.gradient ride.joint_step "
                  "ride.speed ride.speed_scatter track.joint_spacing track.plan",
    "tip-standing": "coupler.height cup.density cup.fill module.standoff printer.snap_share ride.floor_tilt "
                    "ride.gradient ride.joint_step wheelset.mass",
    "bed": "coupler.magnet_diameter coupler.magnet_length module.plug_room printer.bed_x printer.bed_y printer.bed_z "
           "printer.bore_offset printer.peg_offset printer.shrink printer.snap_share",
    "grip": "module.plug_room module.standoff printer.bore_offset",
    "snap-strain": "printer.peg_offset printer.snap_share",
    "warm-module": "module.heat module.plug_room module.standoff printer.bed_x printer.bed_y printer.bore_offset",
    "mount-fit": "module.hole module.plug_room printer.bed_x printer.bed_y printer.bore_offset printer.peg_offset "
                 "printer.shrink",
    "name-plate": "module.heat",
    "under-clearance": "coupler.height coupler.magnet_diameter track.rail_height",
    "snap-force": "printer.peg_offset printer.snap_share wheelset.tube_diameter",
    "module-fit": "module.plug_room printer.bore_offset printer.shrink",
    "wheel-room": "coupler.height printer.bore_offset printer.peg_offset printer.snap_share track.gauge_tolerance "
                  "wheelset.tube_diameter",
    "axle-load": "cup.density cup.fill",
    "passing": "module.plug_room printer.bore_offset track.gauge_tolerance",
    "wall": "wheelset.flange_angle",
    "opening": "module.plug_room",
    "handle-room": "cup.handle_length",
    "wire-load": "supply.load_current supply.motor_current supply.current_limit supply.load_voltage",
    "supply": "supply.load_current supply.motor_current supply.current_limit supply.most_current supply.least_current",
}
"""By check: the measured fields that move its value by a thirtieth of its limit where they are off as one that nobody
measured may be; `tests/hangs.py` finds them out."""


CLOSE: dict[str, dict[str, float]] = {
    "printer.bridge": {"ballast": 0.3, "tip-standing": 0.1, "string-line": 0.03, "adhesion": 0.03},
    "printer.layer": {"tip-standing": 0.1, "coupler-pull": 0.06, "string-line": 0.03, "adhesion": 0.03}}
"""Fields of the printer, and by check which share of its limit they move: a finding hangs on them where that is all
that is left to it."""
FIGURES: dict[str, set[str]] = {
    "run_time": {f"supply.{name}" for name in Supply.model_fields if name not in OF_CABLES},
    "markers": {"ride.sample_time", "train.locomotive.length"},
    "speeds": {key for check in (*DERAILS, *SPILLS) for key in HANGS[check].split()},
    "fills": {key for check in SPILLS for key in HANGS[check].split()},
}
"""By figure of the ride: the fields that it hangs on, those of the checks that it is found by."""


def hanging(findings: Iterable[Finding], description: Description) -> Iterator[Finding]:
    """Yield findings of a train, each with the paths of what it hangs on and nobody gave, neither file nor preset."""
    left = [(key_of(steps), steps) for steps, _ in usual(description)]
    for finding in findings:
        fields = {*HANGS.get(finding.check, "").split(),
                  *(key for key, moves in CLOSE.items() if finding.share <= moves.get(finding.check, -inf))}
        yield replace(finding, defaults=tuple(path_text(*steps) for key, steps in left
                                              if key in fields and _meant(steps, finding, description)))


def hangs_on_defaults(description: Description, figure: str) -> list[str]:
    """Return the paths of what a figure of the ride, a key of FIGURES, hangs on and nobody gave."""
    return [path_text(*steps) for steps, _ in usual(description)
            if key_of(steps) in FIGURES[figure] and _used(steps, description.wagon)]


def mark(description: Description, figure: str) -> str:
    """Return the mark behind figures of the ride that hang on what nobody gave."""
    return " *" if hangs_on_defaults(description, figure) else ""


def listed(description: Description) -> Iterator[tuple[str, Any]]:
    """Yield path and value of what nobody gave and counts as something, all that a finding or a figure of the ride may
    hang on among it, pieces of the track's plan left out."""
    marked = {*chain.from_iterable(row.split() for row in HANGS.values()), *CLOSE, *chain(*FIGURES.values())}
    for steps, table in usual(description):
        value = getattr(table, str(steps[-1]))
        if steps[:2] != ("track", "plan") and (key_of(steps) in marked or value not in (None, (), {}, False)):
            yield path_text(*steps), value


def key_of(steps: Steps) -> str:
    """Return of what kind a field is, "cup.density", without the name or place of its table."""
    return ".".join(str(step) for at, step in enumerate(steps) if at != 1 or steps[0] not in {*NAMED, *LISTED})


def _meant(steps: Steps, finding: Finding, description: Description) -> bool:
    """Is the table of a field one that a finding is about?"""
    kind, who = steps[0], finding.subject
    if kind not in NAMED:
        return True
    if isinstance(who, SeatId) and kind == "cup":
        return steps[1] in (who.cup, who.seat)
    if isinstance(who, ModulesId) and kind == "module":
        return steps[1] in who.modules
    return _used(steps, (wagon for wagon in description.wagon if not who.wagons or who.concerns(wagon.name)
                         or kind == "cup" and finding.check in PULLED))


def _used(steps: Steps, wagons: Iterable[Wagon]) -> bool:
    """Is the table of a field one that some of the wagons use, or one of the whole train?"""
    uses: dict[str, Callable[[Wagon], Iterable[object]]] = {
        "cup": lambda wagon: (*wagon.cups, *wagon.inserts), "module": lambda wagon: wagon.modules,
        "wheelset": lambda wagon: (wagon.wheelset,)}
    kind = str(steps[0])
    return kind not in uses or any(steps[1] in uses[kind](wagon) for wagon in wagons)
