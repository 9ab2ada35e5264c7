"""Binary STL, written the same on every run."""

from hashlib import sha256

import numpy as np
from trimesh import Trimesh

from partgen import __version__

HEADER = 80     # bytes: what the file is called, not what it shows
_RECORD = np.dtype([("normal", "<f4", 3), ("corners", "<f4", (3, 3)), ("attribute", "<u2")])


def stl_bytes(mesh: Trimesh, name: str) -> bytes:
    """Return `mesh` [mm] as binary STL: 80 byte header, count, 50 bytes a triangle, 84 + 50 n in all.

    trimesh's own exporter leaves the header blank; ours names part and unit, since the format has no
    place for a unit. Normals are those of the rounded corners, so that a strict reader finds them true.
    """
    corners = np.asarray(mesh.vertices, dtype="<f4")[np.asarray(mesh.faces)]
    normals = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
    length = np.linalg.norm(normals, axis=1, keepdims=True)
    records = np.zeros(len(corners), dtype=_RECORD)
    records["normal"] = np.divide(normals, length, out=np.zeros_like(normals), where=length > 0)
    records["corners"] = corners
    header = f"partgen {__version__} {name} [mm]".encode("ascii", "replace")[:HEADER].ljust(HEADER)
    return header + np.uint32(len(records)).astype("<u4").tobytes() + records.tobytes()


def shape(data: bytes) -> str:
    """Return a digest of the triangles of a binary STL, whatever it is called."""
    return sha256(data[HEADER:]).hexdigest()
