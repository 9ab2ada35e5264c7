"""The registry of checks that need meshes: id to function of a built train."""

from partgen.checks import meshes as mesh
from partgen.checks.printable import printable
from partgen.checks.silhouette import throws
from partgen.solids.built import Built
from partgen.solids.overlap import interference

SOLID_CHECKS = {
    "closed-mesh": mesh.closed_mesh,
    "one-body": mesh.one_body,
    "volume-match": mesh.volume_match,
    "bed": mesh.bed,
    "wall, slot, void, overhang, bridge, first-layer": printable,
    "inner-throw, outer-throw": throws,
    "interference": interference,
}

REPLACED = ("bed", "inner-throw", "outer-throw")
"""Paper checks whose answer the meshes give better."""


def run(built: Built):
    """Return the findings of every check on meshes."""
    return tuple(finding for check in SOLID_CHECKS.values() for finding in check(built))
