"""The registry of checks that need meshes: id to function of a built train."""

from collections.abc import Callable, Iterable

from msgspec.structs import replace

from partgen.checks import by_id, track
from partgen.checks.meshes import bed, closed_mesh, interference, one_body, sensor_gap, volume_match
from partgen.checks.printed import PRINT_CHECKS, printed
from partgen.finding import Finding
from partgen.solids.built import Built

SOLID_CHECKS: dict[str, Callable[[Built], Iterable[Finding]]] = {
    **by_id(closed_mesh, one_body, volume_match, bed),
    **dict.fromkeys(PRINT_CHECKS, printed),     # asked part by part
    "inner-throw": lambda built: track.inner_throw(built.cut_train),
    "outer-throw": lambda built: track.outer_throw(built.cut_train),
    **by_id(sensor_gap, interference),
}

REPLACED = ("bed", "inner-throw", "outer-throw")
"""Checks of the plan whose answer the meshes give better."""


OF_WAGONS = ("sensor-gap", "interference")
"""Checks of how the parts of a wagon stand to each other."""


def run(built: Built) -> tuple[Finding, ...]:
    """Return the findings of every check on meshes: where not all was made of every part that was and every wagon whose
    parts were, and the plan's own answers stay."""
    made = built.made
    if len(made) == len(built.train.printed):
        return tuple(finding for check in dict.fromkeys(SOLID_CHECKS.values()) for finding in check(built))
    wagons = tuple(plan for plan in built.train.wagons if plan in made)
    whole = replace(built, train=replace(built.train, wagons=wagons))
    asked = {check: whole if name in OF_WAGONS else built for name, check in SOLID_CHECKS.items()
             if name not in REPLACED}
    return tuple(finding for check, of in asked.items() for finding in check(of))


def unasked(built: Built) -> str:
    """Say which checks on solids were not asked since not all was made; nothing where they all were."""
    made = built.made
    if len(made) == len(built.train.printed):
        return ""
    kinds = {(plan.name, item.name): (item.part, item.plan) for plan in built.train.printed for item in plan.items}
    count, of = len({kinds[part] for part in built.meshes}), len(set(kinds.values()))
    left = [plan.name for plan in built.train.wagons if plan not in made]
    fit = f", nor how those of {', '.join(left)} fit together" if count and left else ""
    return (f"only {count} of {of} parts were made: the others' solids were not checked{fit}" if count else
            "no part was made: no check on solids was asked")
