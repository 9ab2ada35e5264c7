"""The registry of checks on a part as it lies on the bed: id to function of a posed part."""

from msgspec.structs import replace

from partgen.parts import record_of
from partgen.printing.first_layer import first_layer, void
from partgen.printing.overhang import bridge, overhang
from partgen.printing.pose import advice
from partgen.printing.posed import alike
from partgen.printing.walls import slot, wall
from partgen.solids.built import Built

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
            said = advice(posed, record_of(item.part))
            found = [_with_pose(finding, said) for finding in found]
        yield from (replace(finding, subject=subject) for subject in subjects for finding in found)


def _may_turn(finding) -> bool:
    return finding.verdict == "fail" and finding.check in TURNED


def _with_pose(finding, said):
    """Add a better print pose to the remedy of what another pose may pass, where the search found one."""
    if not _may_turn(finding) or said.better is None:
        return finding
    return replace(finding, remedy=f"{finding.remedy}; {said.text}")
