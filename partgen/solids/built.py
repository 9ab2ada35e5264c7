"""What the solid checks look at: a train plan with the mesh of every part."""

from collections.abc import Iterator
from functools import cached_property, partial

from msgspec import Struct, field
from msgspec.structs import replace
from numpy import array, diag, eye, ndarray, pi
from trimesh import Trimesh
from trimesh.transformations import rotation_matrix

from partgen.describe.printer_tables import Printer
from partgen.kept import Store
from partgen.parts import record_of
from partgen.parts.record import POSES
from partgen.plan.item import Beside, Item, Place
from partgen.plan.outline import Outline
from partgen.plan.train import TrainPlan
from partgen.plan.wagon import WagonPlan
from partgen.solids.mesh_key import digest
from partgen.solids.sections import outlines


class Built(Struct, frozen=True, eq=False, dict=True):
    """A train with its meshes: `meshes` and `volumes` (of the solids, mm3) by (wagon name, item name);
    each mesh in its part's own frame [mm]. What was worked out of them before is `kept`."""

    train: TrainPlan
    meshes: dict[tuple[str, str], Trimesh]
    volumes: dict[tuple[str, str], float]
    kept: Store = field(default_factory=Store)

    @cached_property
    def cut_train(self) -> TrainPlan:
        """The train with its wagons' outlines cut from the meshes, one a clearance band; standing cups as planned."""
        bands = [(band.low, band.high) for band in self.train.description.track.clearance]
        return replace(self.train, wagons=tuple(replace(plan, outlines=tuple(self._outlines(plan, bands)))
                                                for plan in self.train.wagons))

    def _outlines(self, plan: WagonPlan, bands: list[tuple[float, float]]) -> Iterator[Outline]:
        yield from (outline for outline in plan.outlines if outline.part == "cup")
        for item in [item for item in plan.items if not item.loose and item.part != "wheel"]:   # the rails guide those
            yield from self.kept.data("outlines", (self.known(plan, item), bands),
                                      partial(self._cut, plan, item, bands), list[Outline])

    def _cut(self, plan: WagonPlan, item: Item, bands: list[tuple[float, float]]) -> list[Outline]:
        return list(outlines(item.name, self.placed(plan, item), bands))

    @property
    def made(self) -> tuple[WagonPlan | Beside, ...]:
        """The wagons, and the track, of which every part was made: all but where parts were chosen."""
        return tuple(plan for plan in self.train.printed
                     if all((plan.name, item.name) in self.meshes for item in plan.items))

    def parts(self) -> Iterator[tuple[WagonPlan | Beside, Item, Trimesh]]:
        """Yield (wagon plan or track's, item, mesh) for every kind of part, of every wagon and of the track, that was
        made."""
        for plan in self.train.printed:
            for item in [item for item in plan.items if (plan.name, item.name) in self.meshes]:
                yield plan, item, self.meshes[plan.name, item.name]

    def laid(self, plan: WagonPlan | Beside, item: Item) -> Trimesh:
        """Return a part's mesh in its print pose [mm], as large as it has to be printed."""
        return lay(item, self.meshes[plan.name, item.name], self.train.description.printer)

    def standing(self, plan: WagonPlan) -> Iterator[tuple[Item, int, Trimesh]]:
        """Yield (item, place number, mesh in wagon axes) for every part of one wagon where it stands."""
        for item in (item for item in plan.items if not item.loose):
            yield from ((item, number, mesh) for number, mesh in enumerate(self.placed(plan, item), 1))

    def placed(self, plan: WagonPlan, item: Item) -> Iterator[Trimesh]:
        """Yield a part's mesh at each of its places in its wagon's axes."""
        return (self.meshes[plan.name, item.name].copy().apply_transform(stand(place)) for place in item.places)

    def known(self, plan: WagonPlan, item: Item) -> tuple[str, str, tuple[Place, ...]]:
        """Return all that a part where it stands is known by: its name, its mesh's digest and its places."""
        return item.name, digest(self.meshes[plan.name, item.name]), item.places


class Made(Built, frozen=True):
    """A built train with each part's STEP text too, in its own frame, for the format with true curves."""

    steps: dict[tuple[str, str], bytes] = {}


def stand(place: Place) -> ndarray:
    """Return the 4x4 matrix [mm] that sets a part at its place in the wagon."""
    matrix = rotation_matrix(place.yaw * pi / 180, (0, 0, 1))
    matrix[:3, 3] = place.x, place.y, place.z
    return matrix


def lay(item: Item, mesh: Trimesh, printer: Printer) -> Trimesh:
    """Return the mesh in its print pose, so much larger than it shall be as the printer's plastic shrinks: standing on
    z = 0, its middle over the origin."""
    turned = eye(4)
    turned[:3, :3] = diag((printer.grown, printer.grown, 1.0)) @ array(POSES[record_of(item.part).pose])
    return on_bed(mesh.copy().apply_transform(turned))


def on_bed(mesh: Trimesh) -> Trimesh:
    """Shift a mesh to stand on z = 0 with its middle over the origin, and return it."""
    (x0, y0, z0), (x1, y1, _) = mesh.bounds
    return mesh.apply_translation((-(x0 + x1) / 2, -(y0 + y1) / 2, -z0))
