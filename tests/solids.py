"""Hand-made meshes of known measure, and a printer to judge them for; drawn by manifold3d, not by partgen."""

from types import SimpleNamespace

import numpy as np
from manifold3d import CrossSection, Manifold, Mesh64
from trimesh import Trimesh

from partgen.checks.printed import PRINT_CHECKS
from partgen.describe.printer_tables import Printer
from partgen.identity import PartId, WagonId
from partgen.printing.posed import Posed


class WagonStandIn(SimpleNamespace):
    """A wagon of which only a name and what a test gives it are known."""

    @property
    def who(self):
        return WagonId(self.name)

    def part_id(self, name):
        return PartId(self.name, name)


def posed(body, **printer) -> Posed:
    """A body set on the bed for a 0.4 mm nozzle with 0.2 mm layers and 0.45 mm lines, or what is given."""
    mesh = as_mesh(body) if isinstance(body, Manifold) else body.copy()
    low, high = mesh.bounds
    return Posed(PartId("one", "part"), mesh.apply_translation((*(-(low + high) / 2)[:2], -low[2])), Printer(**printer))


def as_mesh(body: Manifold) -> Trimesh:
    data = body.to_mesh64()
    return Trimesh(np.array(data.vert_properties[:, :3]), data.tri_verts.astype(int), process=False)


def as_body(mesh: Trimesh) -> Manifold:
    return Manifold(Mesh64(vert_properties=np.ascontiguousarray(mesh.vertices, dtype=np.float64),
                           tri_verts=np.ascontiguousarray(mesh.faces, dtype=np.uint64)))


def block(x, y, z, at=(0, 0, 0)) -> Manifold:
    """A box whose lowest corner is at `at`."""
    return Manifold.cube((x, y, z)).translate(at)


def prism(corners, depth) -> Manifold:
    """An outline in (x, z) raised along y."""
    turned = [(x, -z) for x, z in corners]
    ring = turned if _turns_left(turned) else turned[::-1]
    return Manifold.extrude(CrossSection([ring]), depth).rotate((-90, 0, 0))


def _turns_left(ring):
    x, y = np.array(ring, dtype=float).T
    return np.sum(x * np.roll(y, -1) - np.roll(x, -1) * y) > 0


def rod(diameter, length, at=(0, 0, 0), facets=96) -> Manifold:
    """A round bar along y whose axis starts at `at`."""
    bar = Manifold.cylinder(length, diameter / 2, circular_segments=facets)
    return bar.rotate((0, 360 / facets / 2, 0)).rotate((-90, 0, 0)).translate(at)


def upright(diameter, height, at=(0, 0, 0), top=None, facets=96) -> Manifold:
    """An upright round bar, or a cone, standing on `at`."""
    return Manifold.cylinder(height, diameter / 2, -1 if top is None else top / 2, facets).translate(at)


def print_faults(part: Posed):
    """(check, remedy) of every print check that a part does not pass."""
    found = [check(part) for check in PRINT_CHECKS.values()]
    return [(finding.check, finding.reason) for finding in found if finding.verdict != "pass"]
