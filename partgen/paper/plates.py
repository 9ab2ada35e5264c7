"""Which part is printed where: every copy of every part on a bed, one filament a bed."""

from collections.abc import Iterator, Sequence
from itertools import groupby

import numpy as np
from msgspec import Struct
from trimesh import Trimesh
from trimesh.convex import hull_points
from trimesh.util import concatenate

from partgen.packing.nesting import fits, nest

GAP = 5.0               # mm between parts: a nozzle passes and a finger lifts (common practice, no source)
TURNS = 3600            # looked at between 0 and 90 degrees for a part longer than the bed

Colour = tuple[float, float, float]

FILAMENTS: dict[str, Colour] = {
    "dark-grey": (0.30, 0.31, 0.33),
    "wood": (0.73, 0.59, 0.37),
    "cream": (0.93, 0.87, 0.75),
    "green": (0.15, 0.36, 0.29),
}
"""The few colours to have at hand, as sRGB shares, in the order of printing: what runs on rails is first."""


class Piece(Struct, frozen=True):
    """One kind of part to print: its mesh in print pose [mm], how many of it, and the filament by name."""

    name: str
    mesh: Trimesh
    count: int
    filament: str


class Plate(Struct, frozen=True):
    """One bed's worth: pieces, each standing at z = 0 with its low corner in the origin, and for each its
    copies' 4x4 matrices [mm] on the bed. `of_filament` beds are used for this filament, `at_least` needed."""

    name: str
    filament: str
    stands: tuple[tuple[Piece, tuple[np.ndarray, ...]], ...]
    of_filament: int
    at_least: int

    @property
    def counts(self) -> dict[str, int]:
        """How many copies of each piece lie on this plate."""
        return {piece.name: len(places) for piece, places in self.stands}

    def copies(self) -> Iterator[Trimesh]:
        """Yield every copy's mesh where it lies on the bed [mm]."""
        for piece, places in self.stands:
            for place in places:
                yield piece.mesh.copy().apply_transform(place)

    def joined(self) -> Trimesh:
        """Return all copies as one mesh, for a format without instances."""
        return concatenate(list(self.copies()))


def filament_for(colour: Colour) -> str:
    """Return the filament whose colour is nearest to a part's; both as sRGB shares."""
    return min(FILAMENTS, key=lambda name: sum((a - b) ** 2 for a, b in zip(FILAMENTS[name], colour)))


def arrange(pieces: Sequence[Piece], bed: tuple[float, float], gap: float = GAP):
    """Lay every copy of every piece on as few beds as the search finds, filament by filament.

    Args:
        pieces: what to print; each mesh in its print pose, wherever it stands.
        bed: usable bed along x and y [mm].
        gap: least distance between two parts [mm].

    Returns (plates, names of the pieces that lie on no bed, however turned).
    """
    cornered = [_cornered(piece, bed) for piece in pieces]
    too_big = tuple(piece.name for piece in cornered if not fits(piece.mesh.extents[:2], bed))
    order = list(FILAMENTS)
    lying = sorted((piece for piece in cornered if piece.name not in too_big),
                   key=lambda piece: order.index(piece.filament))
    plates = [plate for filament, group in groupby(lying, key=lambda piece: piece.filament)
              for plate in _of_one(filament, list(group), bed, gap)]
    return tuple(plates), too_big


def _of_one(filament, pieces, bed, gap):
    """Yield the plates of one filament."""
    copies = [piece for piece in pieces for _ in range(piece.count)]
    nesting = nest([tuple(piece.mesh.extents[:2]) for piece in copies], bed, gap)
    for number in range(nesting.plates):
        stands: dict[str, tuple[Piece, list]] = {}
        for piece, spot in zip(copies, nesting.laid):
            if spot.plate == number:
                stands.setdefault(piece.name, (piece, []))[1].append(_matrix(spot, piece.mesh.extents[1]))
        yield Plate(f"{filament}-{number + 1}", filament,
                    tuple((piece, tuple(places)) for piece, places in stands.values()),
                    nesting.plates, nesting.at_least)


def _cornered(piece: Piece, bed) -> Piece:
    """Return the piece with its low corner in the origin, turned aslant if only that brings it on the bed."""
    mesh = piece.mesh.copy()
    if not fits(mesh.extents[:2], bed):
        mesh.apply_transform(_turn(np.radians(_best_turn(mesh, bed))))
    mesh.apply_translation(-mesh.bounds[0])
    return Piece(piece.name, mesh, piece.count, piece.filament)


def _best_turn(mesh, bed) -> float:
    """Return the turn [deg] that leaves most room between the mesh's outline and the bed's edges."""
    outline = hull_points(mesh.vertices[:, :2])
    turns = np.linspace(0, 90, TURNS + 1)
    c, s = np.cos(np.radians(turns))[:, None], np.sin(np.radians(turns))[:, None]
    over = [np.ptp(c * outline[:, 0] - s * outline[:, 1], axis=1) - bed[0],
            np.ptp(s * outline[:, 0] + c * outline[:, 1], axis=1) - bed[1]]
    return float(turns[np.argmin(np.maximum(*over))])


def _turn(angle) -> np.ndarray:
    matrix = np.eye(4)
    matrix[:2, :2] = (np.cos(angle), -np.sin(angle)), (np.sin(angle), np.cos(angle))
    return matrix


def _matrix(spot, deep) -> np.ndarray:
    """Return the matrix that brings a mesh from the origin to its spot; quarter turns in whole numbers."""
    matrix = np.eye(4)
    if spot.turned:
        matrix[:2, :2] = (0, -1), (1, 0)
    matrix[:2, 3] = spot.x + (deep if spot.turned else 0.0), spot.y
    return matrix
