"""The child program that draws: `python -m partgen.report.render SCENE.npz OUT.png [SCENE.npz OUT.png ...]`.

The only file that imports vtk. A lamp over the camera's left shoulder and a pale sky light the scene; what lies in
grooves, or under a wagon, is darkened by how much of the sky is hidden from it (vtk's ambient occlusion; its shadow
maps would let light through under a wagon). A picture is the mean of a few frames, each shifted by a part of a pixel,
which smooths edges and grain: the demo's 24 take 0.8 s of processor time each without a graphics card, half of it
the occlusion, and 0.66 GB. Prints a picture's number on a line when that picture is complete.
"""

import os
import sys
from collections.abc import Iterator, Sequence
from functools import cache
from pathlib import Path

if sys.platform.startswith("linux") and not os.environ.get("DISPLAY"):
    os.environ.setdefault("VTK_DEFAULT_OPENGL_WINDOW", "vtkEGLRenderWindow")

import numpy as np
import vtkmodules.vtkRenderingFreeType  # noqa: F401 (registers what draws text)
from vtkmodules.util.numpy_support import numpy_to_vtk, numpy_to_vtkIdTypeArray, vtk_to_numpy
from vtkmodules.vtkCommonCore import vtkPoints, vtkUnsignedCharArray
from vtkmodules.vtkCommonDataModel import vtkCellArray, vtkImageData, vtkPolyData
from vtkmodules.vtkFiltersCore import vtkFeatureEdges, vtkSplitSharpEdgesPolyData, vtkTriangleMeshPointNormals
from vtkmodules.vtkFiltersSources import vtkRegularPolygonSource
from vtkmodules.vtkIOImage import vtkPNGWriter
from vtkmodules.vtkRenderingCore import (
    vtkActor,
    vtkLight,
    vtkPolyDataMapper,
    vtkRenderWindow,
    vtkTextActor,
    vtkTexture,
)
from vtkmodules.vtkRenderingOpenGL2 import vtkOpenGLRenderer

from partgen.report.scene import Point, Prop, Scene, View, letter_height, load, place_labels, view

SHARP = 30.0            # faces that meet at more than this are an edge, not a curve [deg]
SHIFTS = (-0.375, 0.125), (1.125, 2.375), (2.375, 0.875), (2.875, 2.625)
"""How far right and up each frame's picture lies [px]: spread evenly over a pixel, for smooth edges, and whole pixels
apart, for smooth shades: the occlusion's grain repeats every four."""
RIM = 16                # px drawn beyond each side and cut off: occlusion is wrong where neighbours are missing
PAPER, INK = (0.905, 0.893, 0.872), (0.15, 0.14, 0.13)
EDGE, GUIDE, LEADER = 0.28, 0.45, 0.85      # how much the lines of sharp edges, guides and labels darken
DOT = 3.5               # radius of the dot that a label points with [px]
LAMP, LAMP_AT = (1.75, 1.70, 1.63), (-0.6, 0.55, 1.0)   # its light; from: right, up, to the camera
SKY, FLOOR = (0.80, 0.82, 0.85), (0.46, 0.43, 0.40)     # what things mirror and are lit by all around
REACH, BIAS, RAYS = 0.14, 0.002, 16     # of occlusion: how far and from where on, over the scene's size; how fine

# How a finish answers light: roughness, share of metal, strength of its mirror.
FINISH = {
    "plastic": (0.65, 0.0, 0.5),
    "metal": (0.38, 0.75, 1.0),
    "ceramic": (0.22, 0.0, 1.0),
    "liquid": (0.12, 0.0, 0.1),
    "wood": (0.9, 0.0, 0.3),
    "board": (0.5, 0.0, 0.6),
}


def draw(scene: Scene, path: str) -> None:
    """Write the scene's picture to `path` as PNG."""
    window, stage = _studio()
    stage.RemoveAllViewProps()
    seen = view(scene)
    near, far = _aim(stage, scene, seen)
    for prop in sorted(scene.props, key=lambda prop: -prop.opacity):
        stage.AddActor(_body(prop))
        stage.AddActor(_lines(_edges(prop, seen), EDGE * prop.opacity))
    if scene.lines:
        stage.AddActor(_lines(_segments(scene.lines), GUIDE))
    if scene.ground is not None:
        stage.AddActor(_table((*seen.position[:2], scene.ground), 2 * far))
    texts = []
    for text, anchor, end, on_right in place_labels(scene):
        for leader in _leader(anchor, end, on_right, scene, seen, near):
            stage.AddActor(leader)
        texts.append((_text(text, on_right, scene), end))
        stage.AddActor(texts[-1][0])
    picture = _shot(window, stage, scene.size, texts)
    if np.ptp(picture) == 0:
        raise RuntimeError("the picture came out blank")
    _write(_shaded_off(picture), path)


@cache
def _studio() -> tuple[vtkRenderWindow, vtkOpenGLRenderer]:
    """The window and the lit stage that all pictures of this process share: the sky's mirror image takes a while."""
    window, stage, lamp = vtkRenderWindow(), vtkOpenGLRenderer(), vtkLight()
    window.SetOffScreenRendering(1)
    window.SetMultiSamples(0)
    window.AddRenderer(stage)
    stage.SetBackground(*PAPER)
    stage.AutomaticLightCreationOff()
    lamp.SetLightTypeToCameraLight()
    lamp.SetPosition(*LAMP_AT)
    lamp.SetColor(*LAMP)
    stage.AddLight(lamp)
    stage.UseImageBasedLightingOn()
    stage.UseSphericalHarmonicsOn()
    stage.SetEnvironmentTexture(_sky(), False)
    stage.SetEnvironmentUp(0, 0, 1)
    stage.SetEnvironmentRight(1, 0, 0)
    # A sky this plain needs neither large tables nor many samples: 0.1 s instead of 1.4 s.
    stage.GetEnvMapLookupTable().SetLUTSize(64)
    stage.GetEnvMapLookupTable().SetLUTSamples(64)
    stage.GetEnvMapPrefiltered().SetPrefilterMaxSamples(64)
    stage.UseSSAOOn()
    stage.SSAOBlurOn()
    stage.SetSSAOKernelSize(RAYS)
    return window, stage


def _sky() -> vtkTexture:
    """The surroundings as a picture of the whole sphere in linear light: a dark floor, a pale sky, no seam between."""
    image, texture, size = vtkImageData(), vtkTexture(), 32
    height = -np.cos(np.pi * (np.arange(size) + 0.5) / size)
    share = np.clip((height + 0.35) / 0.6, 0, 1)[:, None]
    tones = np.array(FLOOR) + share**2 * (3 - 2 * share) * np.subtract(SKY, FLOOR)
    image.SetDimensions(2 * size, size, 1)
    image.GetPointData().SetScalars(numpy_to_vtk(np.repeat(tones, 2 * size, axis=0).astype(np.float32), deep=1))
    texture.SetInputData(image)
    texture.SetColorModeToDirectScalars()
    texture.MipmapOn()
    texture.InterpolateOn()
    return texture


def _aim(stage: vtkOpenGLRenderer, scene: Scene, seen: View) -> tuple[float, float]:
    """Set camera and occlusion to the scene; return from where on it is drawn, and how far its farthest point is from
    the camera [mm]."""
    camera, points = stage.GetActiveCamera(), np.vstack([prop.placed() for prop in scene.props])
    camera.SetPosition(*seen.position)
    camera.SetFocalPoint(*(seen.position - seen.axes[2]))
    camera.SetViewUp(*seen.axes[1])
    camera.SetViewAngle(2 * np.degrees(np.arctan(seen.slope * (1 + 2 * RIM / scene.size[1]))))
    depth = (seen.position - points) @ seen.axes[2]
    near, far = max(0.3 * depth.min(), 0.015 * depth.max()), float(depth.max())
    camera.SetClippingRange(near, 1.6 * far)
    framed = np.vstack([prop.placed() for prop in scene.props if prop.in_frame] or [points])
    size = float(np.linalg.norm(np.ptp(framed, axis=0)))
    stage.SetSSAORadius(REACH * size)
    stage.SetSSAOBias(BIAS * size)
    return near, far


def _body(prop: Prop) -> vtkActor:
    actor = _shown(_smooth(_polydata(prop.placed(), prop.faces)))
    look = actor.GetProperty()
    look.BackfaceCullingOn()
    look.SetOpacity(prop.opacity)
    if prop.finish == "glow":           # shines by itself: no light adds to it
        look.LightingOff()
        look.SetColor(*prop.colour)
        return actor
    rough, metal, mirror = FINISH[prop.finish]
    look.SetInterpolationToPBR()
    look.SetColor(*np.power(prop.colour, 2.2))
    look.SetRoughness(rough)
    look.SetMetallic(metal)
    look.SetSpecular(mirror)
    return actor


def _smooth(mesh: vtkPolyData) -> vtkPolyData:
    """Normals that follow curves and break at edges.

    Weighted by face area: beside a small rounding a large flat face keeps its own normal and stays flat.
    """
    split, normals = vtkSplitSharpEdgesPolyData(), vtkTriangleMeshPointNormals()
    split.SetInputData(mesh)
    split.SetFeatureAngle(SHARP)
    normals.SetInputConnection(split.GetOutputPort())
    normals.Update()
    return normals.GetOutput()


def _edges(prop: Prop, seen: View) -> vtkPolyData:
    """The sharp edges of a body, a hair nearer to the camera than its skin."""
    points = prop.placed()
    edges = vtkFeatureEdges()
    edges.SetInputData(_polydata(points + 0.0008 * (seen.position - points), prop.faces))
    edges.SetFeatureAngle(SHARP)
    edges.BoundaryEdgesOff()
    edges.NonManifoldEdgesOff()
    edges.ColoringOff()
    edges.Update()
    return edges.GetOutput()


def _lines(shape: vtkPolyData, strength: float, width: float = 1.0) -> vtkActor:
    """Lines, `width` pixels wide, or areas that darken what they cross."""
    actor = _shown(shape)
    actor.GetProperty().LightingOff()
    actor.GetProperty().SetColor(0, 0, 0)
    actor.GetProperty().SetOpacity(strength)
    actor.GetProperty().SetLineWidth(width)
    return actor


def _table(middle: Sequence[float], half: float) -> vtkActor:
    """A level sheet of the background's own tone: only what hides the sky from it shows on it."""
    corners = np.array(middle) + half * np.array([[-1, -1, 0], [1, -1, 0], [1, 1, 0], [-1, 1, 0]])
    actor = _shown(_smooth(_polydata(corners, np.array([[0, 1, 2], [0, 2, 3]]))))
    look = actor.GetProperty()
    look.SetColor(*PAPER)
    look.SetAmbient(1)
    look.SetDiffuse(0)
    return actor


def _shown(shape: vtkPolyData) -> vtkActor:
    actor, mapper = vtkActor(), vtkPolyDataMapper()
    mapper.SetInputData(shape)
    actor.SetMapper(mapper)
    return actor


def _polydata(points: np.ndarray, faces: np.ndarray) -> vtkPolyData:
    """Triangles, or the lines between pairs of points where `faces` has two columns."""
    mesh, corners, cells = vtkPolyData(), vtkPoints(), vtkCellArray()
    corners.SetData(numpy_to_vtk(np.ascontiguousarray(points, np.float32), deep=1))
    width = faces.shape[1]
    cells.SetData(width, numpy_to_vtkIdTypeArray(np.ascontiguousarray(faces, np.int64).ravel(), deep=1))
    mesh.SetPoints(corners)
    (mesh.SetPolys if width == 3 else mesh.SetLines)(cells)
    return mesh


def _segments(lines: Sequence[tuple[Point, Point]]) -> vtkPolyData:
    return _polydata(np.array(lines, float).reshape(-1, 3), np.arange(2 * len(lines)).reshape(-1, 2))


def _leader(anchor: np.ndarray, end: np.ndarray, on_right: bool, scene: Scene, seen: View,
            near: float) -> Iterator[vtkActor]:
    """Yield a label's leader line and the dot at its anchor, in front of everything: just beyond `near` [mm]."""
    size, depth, dot = letter_height(scene), 1.01 * near, vtkRegularPolygonSource()
    beside = end + ((-0.5 if on_right else 0.5) * size, 0)
    yield _lines(_segments([(seen.point(anchor, depth), seen.point(beside, depth))]), LEADER, 1.4)
    dot.SetNumberOfSides(24)
    dot.SetRadius(DOT * 2 * seen.slope * depth / scene.size[1])
    dot.SetCenter(*seen.point(anchor, depth))
    dot.SetNormal(*seen.axes[2])
    dot.GeneratePolylineOff()
    dot.Update()
    yield _lines(dot.GetOutput(), LEADER)


def _text(text: str, on_right: bool, scene: Scene) -> vtkTextActor:
    words = vtkTextActor()
    words.SetInput(text)
    style = words.GetTextProperty()
    style.SetFontSize(round(letter_height(scene)))
    style.SetColor(*INK)
    style.SetVerticalJustificationToCentered()
    (style.SetJustificationToLeft if on_right else style.SetJustificationToRight)()
    return words


def _shot(window: vtkRenderWindow, stage: vtkOpenGLRenderer, size: tuple[int, int],
          texts: Sequence[tuple[vtkTextActor, np.ndarray]]) -> np.ndarray:
    """The mean of all frames, (height, width, 3), top row first; texts stand beside their ends [px]."""
    wide, high = (side + 2 * RIM for side in size)
    window.SetSize(wide, high)
    pixels, total = vtkUnsignedCharArray(), np.zeros((size[1], size[0], 3), np.float32)
    for right, up in SHIFTS:
        stage.GetActiveCamera().SetWindowCenter(-2 * right / wide, -2 * up / high)
        left, low = RIM + round(right), RIM + round(up)         # where the picture lies in this frame
        for words, (x, y) in texts:
            words.SetPosition(left + x, low + size[1] - y)
        window.Render()
        window.GetPixelData(left, low, left + size[0] - 1, low + size[1] - 1, 0, pixels, 0)
        total += vtk_to_numpy(pixels).reshape(total.shape)
    return total[::-1] / len(SHIFTS)


def _shaded_off(picture: np.ndarray) -> np.ndarray:
    """The picture as bytes, darker towards its corners."""
    high, wide = picture.shape[:2]
    y, x = np.ogrid[:high, :wide]
    far = np.clip((np.hypot(x - 0.5 * wide, y - 0.48 * high) / (0.5 * wide) - 0.1) / 1.4, 0, 1)
    return np.round(picture * (1 - 0.22 * far**2 * (3 - 2 * far)).astype(np.float32)[..., None]).astype(np.uint8)


def _write(picture: np.ndarray, path: str) -> None:
    image, writer = vtkImageData(), vtkPNGWriter()
    height, width, _ = picture.shape
    image.SetDimensions(width, height, 1)
    image.GetPointData().SetScalars(numpy_to_vtk(picture[::-1].reshape(-1, 3), deep=1))
    writer.SetInputData(image)
    writer.SetFileName(path)
    writer.Write()


def main(arguments: list[str]) -> None:
    """Draw each pair of scene and picture, and say so after each."""
    for number, (scene, picture) in enumerate(zip(arguments[::2], arguments[1::2], strict=True)):
        draw(load(Path(scene)), picture)
        print(number, flush=True)


if __name__ == "__main__":
    main(sys.argv[1:])
