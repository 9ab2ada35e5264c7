"""Which part is printed where: every copy of every part on a bed, one filament a bed."""

from collections.abc import Iterator, Sequence
from itertools import groupby

import numpy as np
from msgspec import Struct
from msgspec.structs import replace
from trimesh import Trimesh
from trimesh.transformations import rotation_matrix
from trimesh.util import append_faces

from partgen.packing.nesting import Laid, aslant, fits, nest
from partgen.paper.filaments import FILAMENTS
from partgen.plan.item import feeding

GAP = 5.0               # mm between parts: a nozzle passes and a finger lifts (common practice, no source)


class Batch(Struct, frozen=True, eq=False):
    """One kind of part to print: its mesh in print pose [mm], how many of it, and the filament by name.

    After the layer and at the height [mm] of its `change` another filament is fed: it lies on beds of its own. `how` it
    is printed besides is told in words.
    """

    name: str
    mesh: Trimesh
    count: int
    filament: str
    change: tuple[int, float] | None = None
    how: str = ""


class Plate(Struct, frozen=True):
    """One bed's worth: batches, each standing at z = 0 with its low corner in the origin, and for each its
    copies' 4x4 matrices [mm] on the bed. `of_filament` beds of this filament are laid together, `at_least` needed. All
    batches on it have the same `change` of filament, None for none."""

    filament: str
    stands: tuple[tuple[Batch, tuple[np.ndarray, ...]], ...]
    of_filament: int
    at_least: int
    change: tuple[int, float] | None = None

    @property
    def counts(self) -> dict[str, int]:
        """How many copies of each batch lie on this plate."""
        return {batch.name: len(places) for batch, places in self.stands}

    @property
    def how(self) -> str:
        """What to set and do for this plate besides feeding its filament; empty for nothing."""
        changed = [feeding(self.change)] if self.change else []
        return "; ".join(dict.fromkeys((*changed, *(batch.how for batch, _ in self.stands if batch.how))))

    def copies(self) -> Iterator[Trimesh]:
        """Yield every copy's mesh where it lies on the bed [mm]."""
        for batch, places in self.stands:
            for place in places:
                yield batch.mesh.copy().apply_transform(place)

    def joined(self) -> Trimesh:
        """Return all copies as one mesh, for a format without instances."""
        vertices, faces = append_faces(*zip(*((copy.vertices, copy.faces) for copy in self.copies()), strict=True))
        return Trimesh(vertices, faces, process=False)


def arrange(batches: Sequence[Batch], bed: tuple[float, float],
            gap: float = GAP) -> tuple[tuple[Plate, ...], tuple[str, ...]]:
    """Lay every copy of every batch on as few beds as the search finds, filament by filament.

    Args:
        batches: what to print; each mesh in its print pose, wherever it stands.
        bed: usable bed along x and y [mm].
        gap: least distance between two parts [mm].

    Returns (plates, names of the batches that lie on no bed, however turned).
    """
    cornered = [_cornered(batch, bed) for batch in batches]
    lying = [batch for batch in cornered if fits(batch.mesh.extents[:2], bed)]
    kinds = dict.fromkeys((filament, change) for filament in FILAMENTS
                          for change in (None, *(batch.change for batch in lying)))
    by_kind = ([batch for batch in lying if (batch.filament, batch.change) == kind] for kind in kinds)
    return (tuple(plate for alike in by_kind if alike for plate in _of_one(alike, bed, gap)),
            tuple(batch.name for batch in cornered if batch not in lying))


def _of_one(batches: Sequence[Batch], bed: tuple[float, float], gap: float) -> Iterator[Plate]:
    """Yield the plates of one filament and one change of it."""
    copies = [batch for batch in batches for _ in range(batch.count)]
    nesting = nest([tuple(batch.mesh.extents[:2]) for batch in copies], bed, gap)
    for number in range(nesting.plates):
        here = [(batch, spot) for batch, spot in zip(copies, nesting.laid, strict=True) if spot.plate == number]
        stands = tuple((batch, tuple(_matrix(spot, batch.mesh.extents[1]) for _, spot in alike))
                       for batch, alike in groupby(here, key=lambda copy: copy[0]))
        yield Plate(batches[0].filament, stands, nesting.plates, nesting.at_least, batches[0].change)


def _cornered(batch: Batch, bed: tuple[float, float]) -> Batch:
    """Return the batch with its low corner in the origin, turned aslant if only that brings it on the bed."""
    mesh = batch.mesh.copy()
    if not fits(mesh.extents[:2], bed):
        mesh.apply_transform(rotation_matrix(aslant(mesh.extents[:2], bed)[1], (0, 0, 1)))
    return replace(batch, mesh=mesh.apply_translation(-mesh.bounds[0]))


def _matrix(spot: Laid, deep: float) -> np.ndarray:
    """Return the matrix that brings a mesh from the origin to its spot; quarter turns in whole numbers."""
    matrix = np.eye(4)
    if spot.turned:
        matrix[:2, :2] = (0, -1), (1, 0)
    matrix[:2, 3] = spot.x + (deep if spot.turned else 0.0), spot.y
    return matrix
