"""The registry of checks that need meshes: id to function of a built train."""

from collections.abc import Callable, Iterable

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


def run(built: Built) -> tuple[Finding, ...]:
    """Return the findings of every check on meshes."""
    return tuple(finding for check in dict.fromkeys(SOLID_CHECKS.values()) for finding in check(built))
