"""The child program that draws: `python -m partgen.report.render SCENE OUT.png [SCENE OUT.png ...]`.

The only file that imports vtk. A lamp over the camera's left shoulder and a pale sky light the scene; what lies in
grooves, or under a wagon, is darkened by how much of the sky is hidden from it (vtk's ambient occlusion; its shadow
maps would let light through under a wagon). A picture is the mean of a few frames, each shifted by a part of a pixel,
which smooths edges and grain: the demo's 35 take 0.55 s of processor time each without a graphics card, most of it the
shading of every point of every frame, and 0.66 GB. Prints a picture's number on a line when that picture is complete.
"""

import os
import pickle
import sys
from collections.abc import Sequence
from functools import cache
from importlib.metadata import distribution
from pathlib import Path
from typing import Any

if sys.platform.startswith("linux") and not os.environ.get("DISPLAY"):
    os.environ.setdefault("VTK_DEFAULT_OPENGL_WINDOW", "vtkEGLRenderWindow")

import numpy as np
from PIL import Image, ImageDraw, ImageFilter, ImageFont
from vtkmodules.util.numpy_support import numpy_to_vtk, numpy_to_vtkIdTypeArray, vtk_to_numpy
from vtkmodules.vtkCommonCore import vtkPoints, vtkUnsignedCharArray
from vtkmodules.vtkCommonDataModel import vtkCellArray, vtkImageData, vtkPolyData
from vtkmodules.vtkFiltersCore import vtkFeatureEdges, vtkSplitSharpEdgesPolyData, vtkTriangleMeshPointNormals
from vtkmodules.vtkRenderingCore import vtkActor, vtkLight, vtkPolyDataMapper, vtkProperty, vtkRenderWindow, vtkTexture
from vtkmodules.vtkRenderingOpenGL2 import vtkOpenGLRenderer

from partgen.formulas.colour import linear
from partgen.interrupts import end_after
from partgen.report.scene import Prop, Scene, View, letter_height, place_labels, view

SHARP = 30.0            # faces that meet at more than this are an edge, not a curve [deg]
SHIFTS = (-0.333, 0.0), (1.0, 2.333), (2.333, 0.667)
"""How far right and up each frame's picture lies [px]: spread evenly over a pixel, for smooth edges, and whole pixels
apart, for smooth shades: the occlusion's grain repeats every four. A fourth frame shows nothing more at twice the size.
"""
RIM = 16                # px drawn beyond each side and cut off: occlusion is wrong where neighbours are missing
PAPER = (0.905, 0.893, 0.872)
EDGE, GUIDE = 0.28, 0.45            # how much the lines of sharp edges and guides darken
TYPE = distribution("matplotlib").locate_file("matplotlib/mpl-data/fonts/ttf/DejaVuSans.ttf")
INK, DOT, LEADER = (38, 36, 33), 3.5, 1.25      # of labels: colour, radius of the dot, width of the line [px]
HALO, AROUND = (240, 238, 233), 2   # a pale rim so many px wide, so that they show on whatever is behind
FINE = 4                            # labels are drawn so many times larger first, for smooth edges
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
    far = _aim(stage, scene, seen)
    for prop in sorted(scene.props, key=lambda prop: -prop.opacity):
        stage.AddActor(_body(prop))
        stage.AddActor(_lines(_edges(prop, seen), EDGE * prop.opacity))
    if scene.lines:
        ends = np.array(scene.lines, float).reshape(-1, 3)
        stage.AddActor(_lines(_polydata(ends, np.arange(len(ends)).reshape(-1, 2)), GUIDE))
    if scene.ground is not None:
        stage.AddActor(_table((*seen.position[:2], scene.ground), 2 * far))
    picture = _shot(window, stage, scene.size)
    if np.ptp(picture) == 0:
        raise RuntimeError("the picture came out blank")
    _labelled(_shaded_off(picture), scene).save(path, compress_level=5)     # 3 % longer than at 6, in half the time


@cache
def _studio() -> tuple[vtkRenderWindow, vtkOpenGLRenderer]:
    """The window and the lit stage that all pictures of this process share: the sky's mirror image takes a while."""
    window = vtkRenderWindow(multi_samples=0)
    window.SetOffScreenRendering(True)
    stage = vtkOpenGLRenderer(
        background=PAPER, automatic_light_creation=False, use_image_based_lighting=True, use_spherical_harmonics=True,
        environment_up=(0, 0, 1), environment_right=(1, 0, 0), use_ssao=True, ssao_blur=True, ssao_kernel_size=RAYS)
    window.AddRenderer(stage)
    lamp = vtkLight(position=LAMP_AT, color=LAMP)
    lamp.SetLightTypeToCameraLight()
    stage.AddLight(lamp)
    stage.SetEnvironmentTexture(_sky(), False)
    # A sky this plain needs neither large tables nor many samples: 0.1 s instead of 1.4 s.
    stage.GetEnvMapLookupTable().SetLUTSize(64)
    stage.GetEnvMapLookupTable().SetLUTSamples(64)
    stage.GetEnvMapPrefiltered().SetPrefilterMaxSamples(64)
    return window, stage


def _sky() -> vtkTexture:
    """The surroundings as a picture of the whole sphere in linear light: a dark floor, a pale sky, no seam between."""
    size = 32
    height = -np.cos(np.pi * (np.arange(size) + 0.5) / size)
    share = np.clip((height + 0.35) / 0.6, 0, 1)[:, None]
    tones = np.array(FLOOR) + share**2 * (3 - 2 * share) * np.subtract(SKY, FLOOR)
    image, texture = vtkImageData(dimensions=(2 * size, size, 1)), vtkTexture(mipmap=True, interpolate=True)
    image.GetPointData().SetScalars(numpy_to_vtk(np.repeat(tones, 2 * size, axis=0).astype(np.float32), deep=1))
    texture.SetInputData(image)
    texture.SetColorModeToDirectScalars()
    return texture


def _aim(stage: vtkOpenGLRenderer, scene: Scene, seen: View) -> float:
    """Set camera and occlusion to the scene; return how far its farthest point is from the camera [mm]."""
    camera, points = stage.GetActiveCamera(), np.vstack([prop.placed() for prop in scene.props])
    camera.SetPosition(*seen.position)
    camera.SetFocalPoint(*(seen.position - seen.axes[2]))
    camera.SetViewUp(*seen.axes[1])
    camera.SetViewAngle(2 * np.degrees(np.arctan(seen.slope * (1 + 2 * RIM / scene.size[1]))))
    depth = (seen.position - points) @ seen.axes[2]
    camera.SetClippingRange(max(0.3 * depth.min(), 0.015 * depth.max()), 1.6 * depth.max())
    framed = np.vstack([prop.placed() for prop in scene.props if prop.in_frame] or [points])
    size = float(np.linalg.norm(np.ptp(framed, axis=0)))
    stage.SetSSAORadius(REACH * size)
    stage.SetSSAOBias(BIAS * size)
    return float(depth.max())


def _body(prop: Prop) -> vtkActor:
    skin = _smooth(_polydata(prop.placed(), prop.faces))
    if prop.finish == "glow":           # shines by itself: no light adds to it
        return _shown(skin, backface_culling=True, opacity=prop.opacity, lighting=False, color=prop.colour)
    rough, metal, mirror = FINISH[prop.finish]
    actor = _shown(skin, backface_culling=True, opacity=prop.opacity, color=linear(prop.colour), roughness=rough,
                   metallic=metal, specular=mirror)
    actor.GetProperty().SetInterpolationToPBR()
    return actor


def _smooth(mesh: vtkPolyData) -> vtkPolyData:
    """Normals that follow curves and break at edges.

    Weighted by face area: beside a small rounding a large flat face keeps its own normal and stays flat.
    """
    return _through(mesh, vtkSplitSharpEdgesPolyData(feature_angle=SHARP), vtkTriangleMeshPointNormals())


def _edges(prop: Prop, seen: View) -> vtkPolyData:
    """The sharp edges of a body, a hair nearer to the camera than its skin."""
    points = prop.placed()
    return _through(_polydata(points + 0.0008 * (seen.position - points), prop.faces), vtkFeatureEdges(
        feature_angle=SHARP, boundary_edges=False, non_manifold_edges=False, coloring=False))


def _through(shape: vtkPolyData, *filters: Any) -> vtkPolyData:
    for step in filters:
        shape = step(shape)
    return shape


def _lines(shape: vtkPolyData, strength: float) -> vtkActor:
    """Lines that darken what they cross."""
    return _shown(shape, lighting=False, color=(0, 0, 0), opacity=strength)


def _table(middle: Sequence[float], half: float) -> vtkActor:
    """A level sheet of the background's own tone: only what hides the sky from it shows on it."""
    corners = np.array(middle) + half * np.array([[-1, -1, 0], [1, -1, 0], [1, 1, 0], [-1, 1, 0]])
    sheet = _smooth(_polydata(corners, np.array([[0, 1, 2], [0, 2, 3]])))
    return _shown(sheet, color=PAPER, ambient=1, diffuse=0)


def _shown(shape: vtkPolyData, **look: Any) -> vtkActor:
    return vtkActor(mapper=vtkPolyDataMapper(input_data=shape), property=vtkProperty(**look))


def _polydata(points: np.ndarray, faces: np.ndarray) -> vtkPolyData:
    """Triangles, or the lines between pairs of points where `faces` has two columns."""
    corners, cells = vtkPoints(data=numpy_to_vtk(np.ascontiguousarray(points, np.float32), deep=1)), vtkCellArray()
    width = faces.shape[1]
    cells.SetData(width, numpy_to_vtkIdTypeArray(np.ascontiguousarray(faces, np.int64).ravel(), deep=1))
    return vtkPolyData(points=corners, **{"polys" if width == 3 else "lines": cells})


def _shot(window: vtkRenderWindow, stage: vtkOpenGLRenderer, size: tuple[int, int]) -> np.ndarray:
    """The mean of all frames, (height, width, 3), top row first."""
    wide, high = (side + 2 * RIM for side in size)
    window.SetSize(wide, high)
    pixels, total = vtkUnsignedCharArray(), np.zeros((size[1], size[0], 3), np.float32)
    for right, up in SHIFTS:
        stage.GetActiveCamera().SetWindowCenter(-2 * right / wide, -2 * up / high)
        left, low = RIM + round(right), RIM + round(up)         # where the picture lies in this frame
        window.Render()
        window.GetPixelData(left, low, left + size[0] - 1, low + size[1] - 1, 0, pixels, 0)
        total += vtk_to_numpy(pixels).reshape(total.shape)
    return total[::-1] / len(SHIFTS)


def _shaded_off(picture: np.ndarray) -> Image.Image:
    """The picture darker towards its corners."""
    high, wide = picture.shape[:2]
    y, x = np.ogrid[:high, :wide]
    far = np.clip((np.hypot(x - 0.5 * wide, y - 0.48 * high) / (0.5 * wide) - 0.1) / 1.4, 0, 1)
    shade = (1 - 0.22 * far**2 * (3 - 2 * far)).astype(np.float32)[..., None]
    return Image.fromarray(np.round(picture * shade).astype(np.uint8))


def _labelled(picture: Image.Image, scene: Scene) -> Image.Image:
    """The picture with each label's text, its leader line and the dot at its anchor in front of everything, in a
    pale rim."""
    mask = Image.new("L", (FINE * picture.width, FINE * picture.height))
    pen, size = ImageDraw.Draw(mask), letter_height(scene)
    font = ImageFont.truetype(str(TYPE), FINE * size)
    for text, anchor, end, on_right in place_labels(scene):
        x, y = FINE * end
        pen.line([*(FINE * anchor), x + (-0.5 if on_right else 0.5) * FINE * size, y], 255, round(FINE * LEADER))
        pen.circle([*(FINE * anchor)], FINE * DOT, 255)
        pen.text((x, y), text, 255, font, "lm" if on_right else "rm")
    ink = mask.reduce(FINE)
    rim = ink.filter(ImageFilter.MaxFilter(2 * AROUND + 1)).filter(ImageFilter.BoxBlur(1))
    picture.paste(HALO, mask=rim)
    picture.paste(INK, mask=ink)
    return picture


def main(arguments: list[str]) -> None:
    """Draw each pair of scene and picture, and say so after each; end when whoever holds this program's input lets it
    go."""
    end_after(lambda: os.read(0, 1))
    for number, (scene, picture) in enumerate(zip(arguments[::2], arguments[1::2], strict=True)):
        draw(pickle.loads(Path(scene).read_bytes()), picture)
        print(number, flush=True)


if __name__ == "__main__":
    main(sys.argv[1:])
