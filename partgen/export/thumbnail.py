"""A plate seen from above as a small PNG.

Drawn with numpy alone: 0.03 s a plate, where the plotting library takes 0.13 s and 0.15 s to load.
"""

import struct
import zlib
from collections.abc import Iterable

import numpy as np
from trimesh import Trimesh

from partgen.parts.record import Colour

SIDE = 256              # px of the longer side
BED, GRID = (0.94, 0.94, 0.93), (0.86, 0.86, 0.85)
LIGHT = np.array((-0.4, -0.5, 0.77))


def thumbnail(meshes: Iterable[Trimesh], bed: tuple[float, float], colour: Colour) -> bytes:
    """Return a PNG of meshes [mm] on a bed [mm], seen from above, in one colour (sRGB shares), y upwards."""
    scale = SIDE / max(bed)
    height, width = round(bed[1] * scale), round(bed[0] * scale)
    picture = np.empty((height, width, 3))
    picture[:] = BED
    for axis, length in enumerate((height, width)):
        lines = np.arange(0, length / scale, 10.0) * scale
        picture.swapaxes(0, axis)[lines.astype(int)] = GRID
    top = np.full(height * width, -np.inf)
    shade = np.zeros(height * width)
    for mesh in meshes:
        _draw(mesh, scale, (height, width), top, shade)
    covered = np.isfinite(top)
    picture.reshape(-1, 3)[covered] = np.clip(np.multiply.outer(shade[covered], colour), 0, 1)
    return _png(np.round(255 * picture[::-1]).astype(np.uint8))


def _draw(mesh: Trimesh, scale: float, shape: tuple[int, int], top: np.ndarray, shade: np.ndarray) -> None:
    """Enter a mesh's upper side into the height and shade of every pixel whose middle it covers."""
    up = mesh.face_normals[:, 2] > 1e-6
    triangles, normals = mesh.triangles[up] * (scale, scale, 1.0), mesh.face_normals[up]
    face, row, column = _covered(triangles, shape)
    slope = normals[face, :2] / (scale * normals[face, 2:])
    middle = np.stack([column, row], axis=1) + 0.5
    z = triangles[face, 0, 2] - ((middle - triangles[face, 0, :2]) * slope).sum(axis=1)
    pixel = row * shape[1] + column
    order = np.lexsort((face, z))
    order = order[z[order] >= top[pixel[order]]]
    top[pixel[order]] = z[order]
    shade[pixel[order]] = 0.55 + 0.55 * np.clip(normals[face[order]] @ LIGHT, 0, 1)


def _covered(triangles: np.ndarray, shape: tuple[int, int]) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Return (triangle, row, column) of every pixel whose middle lies in a triangle [px], row by row."""
    y = triangles[..., 1]
    face, row = _spread(y.min(axis=1), y.max(axis=1), shape[0])
    near, far = triangles[face], np.roll(triangles[face], -1, axis=1)
    rise = far[..., 1] - near[..., 1]
    share = np.divide(row[:, None] + 0.5 - near[..., 1], rise, out=np.full(rise.shape, -1.0), where=rise != 0)
    crossed = (share >= 0) & (share <= 1)
    x = near[..., 0] + share * (far[..., 0] - near[..., 0])
    left, right = np.where(crossed, x, np.inf).min(axis=1), np.where(crossed, x, -np.inf).max(axis=1)
    line, column = _spread(left, right, shape[1])
    return face[line], row[line], column


def _spread(low: np.ndarray, high: np.ndarray, size: int) -> tuple[np.ndarray, np.ndarray]:
    """Return (index of a pair `low` and `high`, pixel) for every pixel whose middle lies between them."""
    first = np.ceil(np.clip(low - 0.5, 0, size)).astype(int)
    last = np.floor(np.clip(high - 0.5, -1, size - 1)).astype(int)
    many = np.maximum(last - first + 1, 0)
    owner = np.repeat(np.arange(len(many)), many)
    return owner, np.arange(many.sum()) - np.repeat(np.cumsum(many) - many, many) + first[owner]


def _png(pixels: np.ndarray) -> bytes:
    """Return (height, width, 3) bytes as a PNG file: eight bits a colour, no text, no time.

    Source: Portable Network Graphics (W3C Recommendation), sections 5 "Datastream structure" and 11.2.
    """
    height, width, _ = pixels.shape
    rows = np.hstack([np.zeros((height, 1), np.uint8), pixels.reshape(height, -1)])
    header = struct.pack(">IIBBBBB", width, height, 8, 2, 0, 0, 0)
    chunks = (b"IHDR", header), (b"IDAT", zlib.compress(rows.tobytes(), 9)), (b"IEND", b"")
    return b"\x89PNG\r\n\x1a\n" + b"".join(
        struct.pack(">I", len(data)) + kind + data + struct.pack(">I", zlib.crc32(kind + data))
        for kind, data in chunks)
