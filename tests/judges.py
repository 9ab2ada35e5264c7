"""Independent readers as judges of exported files: lib3mf's strict mode, numpy-stl, Pillow."""

import zipfile
from io import BytesIO
from xml.etree import ElementTree

import numpy as np
import pytest
from PIL import Image

from partgen.export import threemf

CORE = "{http://schemas.microsoft.com/3dmanufacturing/core/2015/02}"

# 3MF core specification v1.4.0, section 3.4.1 "Metadata", the table of well-known names (from memory).
WELL_KNOWN = {"Title", "Designer", "Description", "Copyright", "LicenseTerms", "Rating", "CreationDate",
              "ModificationDate", "Application"}

needs_lib3mf = pytest.mark.skipif(threemf.library() is None, reason="lib3mf has no wheel for this machine")


def signed_volume(corners):
    """Volume [mm3] inside triangles (n, 3, 3), by the divergence theorem; negative when inside out."""
    return float(np.einsum("ij,ij->", corners[:, 0], np.cross(corners[:, 1], corners[:, 2])) / 6)


def strictly_read(data):
    """Read a 3MF package in lib3mf's strict mode; return its model and of each item (name, corners [mm])."""
    _, wrapper = threemf.library()
    model = wrapper.CreateModel()
    reader = model.QueryReader("3mf")
    reader.SetStrictModeActive(True)
    reader.ReadFromBuffer(list(data))
    assert reader.GetWarningCount() == 0
    items, walk = [], model.GetBuildItems()
    while walk.MoveNext():
        item = walk.GetCurrent()
        body = model.GetMeshObjectByID(item.GetObjectResourceID())
        assert body.IsManifoldAndOriented() and body.IsValid()
        vertices = np.array([tuple(vertex.Coordinates) for vertex in body.GetVertices()])
        faces = np.array([tuple(triangle.Indices) for triangle in body.GetTriangleIndices()])
        move = np.array([tuple(row) for row in item.GetObjectTransform().Fields])
        items.append((body.GetName(), (vertices @ move[:3] + move[3])[faces]))
    return model, items


def check_plate(data, bed):
    """Assert what every plate promises; return {object name: copies}."""
    model, items = strictly_read(data)
    assert model.GetUnit() == threemf.library()[0].ModelUnit.MilliMeter
    for name, corners in items:
        assert signed_volume(corners) > 0, f"{name} is inside out"
        assert corners.min() >= -1e-4 and (corners.max(axis=(0, 1))[:2] <= np.add(bed, 1e-4)).all()
    with zipfile.ZipFile(BytesIO(data)) as package:
        root = ElementTree.fromstring(package.read("3D/3dmodel.model"))
        Image.open(BytesIO(package.read("Metadata/thumbnail.png"))).verify()
    said = {entry.get("name") for entry in root.iter(f"{CORE}metadata")}
    assert {"Title", "Description", "Application"} == said <= WELL_KNOWN
    names = [name for name, _ in items]
    assert len(list(root.iter(f"{CORE}object"))) == len(set(names)), "copies share one object"
    return {name: names.count(name) for name in names}


def stl_judged(data):
    """Return (triangles, volume [mm3]) of a binary STL as numpy-stl reads it."""
    reader = pytest.importorskip("stl.mesh")
    read = reader.Mesh.from_file("part.stl", fh=BytesIO(data))
    return len(read), float(read.get_mass_properties()[0])
