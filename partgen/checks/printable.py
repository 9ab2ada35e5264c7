"""The registry of checks on a part as it lies on the bed: id to function of a posed part."""

from msgspec.structs import replace

from partgen.checks.built import Built
from partgen.checks.pose import advice
from partgen.checks.print_first import first_layer, void
from partgen.checks.print_overhang import bridge, overhang
from partgen.checks.print_part import alike
from partgen.checks.print_wall import slot, wall

PRINT_CHECKS = {
    "wall": wall,
    "slot": slot,
    "void": void,
    "overhang": overhang,
    "bridge": bridge,
    "first-layer": first_layer,
}
TURNED = ("overhang", "bridge", "first-layer")
"""Checks that another print pose may pass."""


def printable(built: Built):
    """Yield every finding on every part of every wagon, each kind of part judged once."""
    for posed, item, subjects in alike(built):
        found = [check(posed) for check in PRINT_CHECKS.values()]
        if any(_may_turn(finding) for finding in found):
            said = advice(posed, item)
            found = [_with_pose(finding, said) for finding in found]
        yield from (replace(finding, subject=subject) for subject in subjects for finding in found)


def _may_turn(finding) -> bool:
    return finding.verdict == "fail" and finding.check in TURNED


def _with_pose(finding, said):
    """Add a better print pose to the remedy of what another pose may pass, where the search found one."""
    if not _may_turn(finding) or said.better is None:
        return finding
    return replace(finding, remedy=f"{finding.remedy}; {said.text}")
