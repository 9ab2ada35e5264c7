"""The assembled train as binary glTF: metres, y up, one node a part."""

from collections.abc import Iterable

import numpy as np
from trimesh import Scene, Trimesh
from trimesh.visual import TextureVisuals
from trimesh.visual.material import PBRMaterial

from partgen.export.bodies import Body
from partgen.formulas.colour import linear
from partgen.parts.record import Colour
from partgen.plan.item import Place
from partgen.solids.built import stand

# (x, y, z) [mm] -> (x, z, -y) * 0.001 [m]. Source: glTF 2.0, "Coordinate System and Units".
_AXES = np.array(((1, 0, 0), (0, 0, 1), (0, -1, 0)))
_METRE = 0.001
_ROUGHNESS = 0.7        # of printed plastic, by eye


def train_glb(wagons: Iterable[tuple[str, float, Iterable[Body]]]) -> bytes:
    """Return wagons as .glb: for each its name, its origin's x on the track [mm] and its bodies, whose forms
    are meshes. Each wagon is a node that holds one node a part; copies share one mesh."""
    scene, shared = Scene(), dict[tuple[int, Colour], str]()
    for wagon, x, parts in wagons:
        scene.graph.update(frame_from="world", frame_to=wagon, matrix=_moved(stand(Place(x))))
        for body in parts:
            key = id(body.form), body.colour
            geometry = shared.setdefault(key, f"{body.kind} {len(shared) + 1}")
            if geometry not in scene.geometry:
                scene.geometry[geometry] = _mesh(body)
            scene.graph.update(frame_from=wagon, frame_to=f"{wagon}/{body.name}", geometry=geometry,
                               matrix=_moved(stand(body.place)))
    # Without normals a viewer draws facets flat, which is how a printed edge should look.
    return scene.export(file_type="glb", include_normals=False)


def _mesh(body: Body) -> Trimesh:
    mesh = Trimesh(_METRE * body.form.vertices @ _AXES.T, body.form.faces, process=False)
    mesh.visual = TextureVisuals(material=PBRMaterial(
        name="rgb " + " ".join(f"{share:.2f}" for share in body.colour), baseColorFactor=[*linear(body.colour), 1.0],
        metallicFactor=0.0, roughnessFactor=_ROUGHNESS))
    return mesh


def _moved(matrix: np.ndarray) -> np.ndarray:
    """Return a wagon's 4x4 matrix [mm, z up] in glTF's axes [m, y up]."""
    turn, shift = matrix[:3, :3], matrix[:3, 3:]
    return np.block([[_AXES @ turn @ _AXES.T, _METRE * _AXES @ shift], [np.zeros(3), 1.0]])

