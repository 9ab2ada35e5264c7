"""What a finding hangs on that nobody measured: fields that were left out and move its figure by more than a hair."""

from collections.abc import Callable, Iterable, Iterator
from typing import Any

from msgspec.structs import replace

from partgen.describe.description import LISTED, NAMED, Description
from partgen.describe.faults import Steps
from partgen.describe.field import Table
from partgen.describe.load import left_out
from partgen.describe.wording import path_text
from partgen.finding import Finding
from partgen.identity import ModulesId, SeatId

ASSUMED = {"flange_angle", "breakaway", "coupler_height"}       # that count as something where they are left out
ASKED: dict[str, Callable[[Any], object]] = {
    "plug_room": lambda module: module.plugs, "hole": lambda module: module.holes,
    "standoff": lambda module: module.holes,
    "handle_length": lambda cup: cup.handle, "flange_angle": lambda wheelset: not wheelset.printed,
    "tube_diameter": lambda wheelset: wheelset.ends == "tube"}
"""Fields that nothing asks about unless their table says so."""
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
           "printer.bore_offset printer.shrink printer.snap_share",
    "grip": "module.plug_room module.standoff printer.bore_offset",
    "snap-strain": "printer.snap_share",
    "warm-module": "module.heat module.plug_room module.standoff printer.bed_x printer.bed_y printer.bore_offset",
    "mount-fit": "module.hole module.plug_room printer.bed_x printer.bed_y printer.bore_offset printer.peg_offset "
                 "printer.shrink",
    "name-plate": "module.heat",
    "under-clearance": "coupler.height coupler.magnet_diameter track.rail_height",
    "snap-force": "printer.snap_share wheelset.tube_diameter",
    "module-fit": "module.plug_room printer.bore_offset printer.shrink",
    "wheel-room": "coupler.height printer.bore_offset printer.snap_share track.gauge_tolerance wheelset.tube_diameter",
    "axle-load": "cup.density cup.fill",
    "passing": "module.plug_room printer.bore_offset track.gauge_tolerance",
    "wall": "wheelset.flange_angle",
    "opening": "module.plug_room",
    "handle-room": "cup.handle_length",
}
"""By check: the measured fields that move its value by a thirtieth of its limit where they are off as one that nobody
measured may be; `tests/hangs.py` finds them out."""


def hanging(findings: Iterable[Finding], description: Description) -> Iterator[Finding]:
    """Yield findings of a train, each with the paths of what it hangs on and nobody gave, neither file nor preset."""
    usual = [(_key(steps), steps) for steps, table in left_out(description) if _counts(table, str(steps[-1]))]
    for finding in findings:
        fields = HANGS.get(finding.check, "").split()
        yield replace(finding, defaults=tuple(path_text(*steps) for key, steps in usual
                                              if key in fields and _meant(steps, finding, description)))


def _key(steps: Steps) -> str:
    """Return of what kind a field is, "cup.density", without the name or place of its table."""
    return ".".join(str(step) for at, step in enumerate(steps) if at != 1 or steps[0] not in {*NAMED, *LISTED})


def _counts(table: Table, name: str) -> bool:
    """Does a field that was left out count as some value, and does anything ask for it?"""
    told = {other for alike in table.ALIKE if name in alike for other in alike} & table.model_fields_set
    return (getattr(table, name) is not None or name in ASSUMED) and not told and (
        name not in ASKED or bool(ASKED[name](table)))


def _meant(steps: Steps, finding: Finding, description: Description) -> bool:
    """Is the table of a field one that a finding is about?"""
    kind, who = steps[0], finding.subject
    if kind not in NAMED:
        return True
    if isinstance(who, SeatId) and kind == "cup":
        return steps[1] in (who.cup, who.seat)
    if isinstance(who, ModulesId) and kind == "module":
        return steps[1] in who.modules
    wagons = [wagon for wagon in description.wagon
              if not who.wagons or who.concerns(wagon.name) or kind == "cup" and finding.check in PULLED]
    uses = {"cup": lambda wagon: (*wagon.cups, *wagon.inserts), "module": lambda wagon: wagon.modules,
            "wheelset": lambda wagon: (wagon.wheelset,)}[str(kind)]
    return any(steps[1] in uses(wagon) for wagon in wagons)
