"""A plate as a 3MF file, written by the reference implementation, with ids that follow from the content."""

from ctypes import sizeof
from functools import cache
from hashlib import sha256
from types import ModuleType
from typing import Any
from uuid import NAMESPACE_OID, uuid5

import numpy as np

from partgen import __version__
from partgen.paper.filaments import FILAMENTS
from partgen.paper.plates import Batch, Plate

WITHOUT = ("plates are written as plain STL: the library that writes 3MF is not installed here "
           "(there is none for Linux on arm64); colours and names are in the manifest")


@cache
def library() -> tuple[ModuleType, Any] | None:
    """Return lib3mf's module and its loaded library, or None where there is none for this machine."""
    try:
        import lib3mf
        return lib3mf, lib3mf.get_wrapper()
    except ImportError:
        return None
    except (OSError, lib3mf.ELib3MFException):
        return None


def plate_3mf(plate: Plate, title: str, about: str, material: str, thumbnail: bytes) -> bytes:
    """Return a plate as a 3MF package in millimetres.

    Each piece is one named object, each copy a build item of it, all in the positive octant.

    Args:
        plate: what lies where [mm].
        title, about: for the well-known metadata Title and Description.
        material: what the filament is made of; with the colour it names the base material.
        thumbnail: a PNG.

    Raises ValueError where `library()` is None.
    """
    found = library()
    if found is None:
        raise ValueError(WITHOUT)
    names, wrapper = found
    model = wrapper.CreateModel()
    model.SetUnit(names.ModelUnit.MilliMeter)
    for key, text in {"Title": title, "Description": about, "Application": f"partgen {__version__}"}.items():
        model.GetMetaDataGroup().AddMetaData("", key, text, "xs:string", True)
    filament = model.AddBaseMaterialGroup()
    shade = wrapper.FloatRGBAToColor(*FILAMENTS[plate.filament], 1.0)
    material_id = filament.AddMaterial(f"{material} {plate.filament}", shade)
    whole = sha256(f"{title}\n{about}".encode())
    for batch, places in plate.stands:
        body = _object(names, model, batch)
        body.SetObjectLevelProperty(filament.GetResourceID(), material_id)
        whole.update(body.GetUUID()[1].encode())
        for number, place in enumerate(places, 1):
            item = model.AddBuildItem(body, _records(names.Transform, place[:3].T.astype("<f4"))[0])
            # 3MF has rows before columns, the shift in the last row
            item.SetPartNumber(f"{batch.name} {number} of {len(places)}")
            whole.update(place.tobytes())
            item.SetUUID(_uuid(whole.hexdigest()))
    model.SetBuildUUID(_uuid(f"build {whole.hexdigest()}"))
    model.CreatePackageThumbnailAttachment().ReadFromBuffer(list(thumbnail))
    writer = model.QueryWriter("3mf")
    writer.SetStrictModeActive(True)
    return bytes(writer.WriteToBuffer())


def _object(names: ModuleType, model: Any, batch: Batch) -> Any:
    """Add a piece's mesh to the model; its id follows from name and geometry."""
    body = model.AddMeshObject()
    body.SetName(batch.name)
    vertices = np.asarray(batch.mesh.vertices, dtype="<f4")
    faces = np.asarray(batch.mesh.faces, dtype="<u4")
    body.SetGeometry(_records(names.Position, vertices), _records(names.Triangle, faces))
    body.SetUUID(_uuid(sha256(batch.name.encode() + vertices.tobytes() + faces.tobytes()).hexdigest()))
    return body


def _records(kind: Any, rows: np.ndarray) -> Any:
    """Return an array as the library's own records, which have the same bytes."""
    data = np.ascontiguousarray(rows).tobytes()
    return (kind * (len(data) // sizeof(kind))).from_buffer_copy(data)


def _uuid(text: str) -> str:
    return str(uuid5(NAMESPACE_OID, f"partgen {text}"))
