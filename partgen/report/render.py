"""The child program that draws: `python -m partgen.report.render SCENE.npz OUT.png [SCENE.npz OUT.png ...]`.

The only file that imports vtk; how the light works is told in `light.py`. Prints a picture's number on a line
when that picture is complete.
"""

import os
import sys

if sys.platform.startswith("linux") and not os.environ.get("DISPLAY"):
    os.environ.setdefault("VTK_DEFAULT_OPENGL_WINDOW", "vtkEGLRenderWindow")

import numpy as np
import vtkmodules.vtkRenderingFreeType
import vtkmodules.vtkRenderingOpenGL2  # noqa: F401 (both register the classes that draw)
from vtkmodules.util.numpy_support import numpy_to_vtk, numpy_to_vtkIdTypeArray, vtk_to_numpy
from vtkmodules.vtkCommonCore import vtkFloatArray, vtkPoints, vtkUnsignedCharArray
from vtkmodules.vtkCommonDataModel import vtkCellArray, vtkImageData, vtkPolyData
from vtkmodules.vtkCommonMath import vtkMatrix4x4
from vtkmodules.vtkFiltersCore import vtkFeatureEdges, vtkPolyDataNormals
from vtkmodules.vtkIOImage import vtkPNGWriter
from vtkmodules.vtkRenderingCore import (
    vtkActor,
    vtkPolyDataMapper,
    vtkRenderer,
    vtkRenderWindow,
    vtkTextProperty,
    vtkTextRenderer,
    vtkTexture,
)

from partgen.report import light
from partgen.report.scene import Prop, Scene, View, letter_height, load, place_labels, view

SHARP = 30.0  # faces that meet at more than this are an edge, not a curve [deg]


def draw(scene: Scene, path: str) -> None:
    """Write the scene's picture to `path` as PNG."""
    seen = view(scene)
    picture = light.developed(_exposed(scene, seen))
    if np.ptp(picture) == 0:
        raise RuntimeError("the picture came out blank")
    _annotate(picture, scene, seen)
    _write(picture, path)


def _exposed(scene: Scene, seen: View) -> np.ndarray:
    """The scene in linear light, (height, width, 3), top row first."""
    way, colour, key = light.lamps(seen, scene.frames)
    casters = [p for p in scene.props if p.opacity >= 1] or list(scene.props)
    rows = light.map_rows(casters, way)
    reach = 1 / np.linalg.norm(rows[:, :, :3], axis=2)  # mm along each way of each map
    fourth = np.column_stack([colour * scene.frames, -reach[:, 2]])
    lamps = np.concatenate([rows, fourth[:, None]], axis=1).reshape(scene.frames, -1)
    width, height = scene.size
    common = {"eye": seen.position, "keyWay": key, "texel": float(np.median(reach[:, :2]) / light.MAP),
              "glow": (0.5 * width, 0.52 * height, 0.5 * width)}
    renderer, settings = _stage(scene, seen, _texture(_depth_maps(casters, rows)), common)
    window = _window(*scene.size)
    window.AddRenderer(renderer)
    total = np.zeros((height, width, 3), np.float32)
    for frame, (x, y) in enumerate(light.shifts(scene.frames)):
        for uniforms in settings:
            uniforms.SetUniformMatrix4x4v("lights", light.LIGHTS, lamps[frame].tolist())
            uniforms.SetUniformi("mapRow", frame)
        renderer.GetActiveCamera().SetWindowCenter(x / width, y / height)
        total += _shot(window, scene.size)
    window.Finalize()
    return total[::-1] / scene.frames


def _shot(window: vtkRenderWindow, size: tuple[int, int]) -> np.ndarray:
    """One frame in linear light, (height, width, 3), bottom row first."""
    pixels = vtkUnsignedCharArray()
    window.Render()
    window.GetPixelData(0, 0, size[0] - 1, size[1] - 1, 0, pixels, 0)
    decode = (2 * (np.arange(256) / 255) ** 2).astype(np.float32)  # undoes the root the shader stores
    return decode[vtk_to_numpy(pixels).reshape(size[1], size[0], 3)]


def _depth_maps(props: list[Prop], rows: np.ndarray) -> np.ndarray:
    """Every light's map in one sheet, a row of maps for each frame.

    The maps hold the far side of the nearest body: a lit skin then never shades itself.
    """
    size, frames = light.MAP, len(rows) // light.LIGHTS
    renderer, window, actor = vtkRenderer(), _window(size, size), _body(_polydata(*light.coarse(props)))
    actor.GetProperty().LightingOff()
    actor.GetProperty().FrontfaceCullingOn()
    renderer.AddActor(actor)
    window.AddRenderer(renderer)
    maps, depth = np.empty((frames, size, light.LIGHTS, size), np.float32), vtkFloatArray()
    for k, row in enumerate(rows):
        _aim(renderer.GetActiveCamera(), row)
        window.Render()
        window.GetZbufferData(0, 0, size - 1, size - 1, depth)
        maps[k // light.LIGHTS, :, k % light.LIGHTS] = vtk_to_numpy(depth).reshape(size, size)
    window.Finalize()
    maps[:, [0, -1]] = maps[..., [0, -1]] = 1
    return maps.reshape(frames * size, light.LIGHTS * size)


def _aim(camera, rows: np.ndarray) -> None:
    """Make a camera draw the map of these rows: 0..1 becomes the -1..1 of a projection."""
    clip = np.eye(4)
    clip[:3] = 2 * rows - [0, 0, 0, 1]
    clip[:, 3] += clip[:, 2]  # takes back the step a fresh camera stands behind the origin
    matrix = vtkMatrix4x4()
    matrix.DeepCopy(clip.ravel().tolist())
    camera.SetExplicitProjectionTransformMatrix(matrix)
    camera.UseExplicitProjectionTransformMatrixOn()


def _window(width: int, height: int) -> vtkRenderWindow:
    window = vtkRenderWindow()
    window.SetOffScreenRendering(1)
    window.SetMultiSamples(0)
    window.SetSize(width, height)
    return window


def _polydata(points: np.ndarray, faces: np.ndarray) -> vtkPolyData:
    mesh, corners, cells = vtkPolyData(), vtkPoints(), vtkCellArray()
    corners.SetData(numpy_to_vtk(np.ascontiguousarray(points, np.float32), deep=1))
    cells.SetData(3, numpy_to_vtkIdTypeArray(np.ascontiguousarray(faces, np.int64).ravel(), deep=1))
    mesh.SetPoints(corners)
    mesh.SetPolys(cells)
    return mesh


def _stage(scene: Scene, seen: View, maps: vtkTexture, common: dict) -> tuple[vtkRenderer, list]:
    """The scene with its bodies, edges and paper, and the shader settings of each shaded actor.

    The paper is a wall behind and, with a table, a sheet under the scene, toned alike: no seam shows.
    """
    renderer, settings = vtkRenderer(), []
    far = _place_camera(renderer.GetActiveCamera(), scene, seen)
    for prop in sorted(scene.props, key=lambda p: -p.opacity):
        actor = _body(_smooth(_polydata(prop.placed(), prop.faces)))
        actor.GetProperty().SetColor(*prop.colour)
        actor.GetProperty().SetOpacity(prop.opacity)
        settings.append(_shade(actor, light.THING, maps, {**common, "finish": light.FINISH[prop.finish]}))
        renderer.AddActor(actor)
        renderer.AddActor(_dark(_edges(prop, seen), 0.28 * prop.opacity))
    if scene.lines:
        renderer.AddActor(_dark(_guides(scene), 0.45))
    sheets = [(light.WALL, seen.position - far * seen.axes[2], seen.axes[:2])]
    if scene.ground is not None:
        sheets.append((light.TABLE, np.append(seen.position[:2], scene.ground), np.eye(3)[:2]))
    for code, middle, plane in sheets:
        actor = _body(_sheet(middle, 2 * far * plane))
        settings.append(_shade(actor, code, maps, common))
        renderer.AddActor(actor)
    return renderer, settings


def _place_camera(camera, scene: Scene, seen: View) -> float:
    """Set vtk's camera, and say how far behind everything the paper hangs [mm]."""
    camera.SetPosition(*seen.position)
    camera.SetFocalPoint(*(seen.position - seen.axes[2]))
    camera.SetViewUp(*seen.axes[1])
    camera.SetViewAngle(2 * np.degrees(np.arctan(seen.slope)))
    depth = np.vstack([seen.position - light.box(p) for p in scene.props]) @ seen.axes[2]
    far = 1.5 * depth.max()
    camera.SetClippingRange(max(0.3 * depth.min(), 0.01 * far), 1.1 * far)
    return far


def _body(shape: vtkPolyData) -> vtkActor:
    actor, mapper = vtkActor(), vtkPolyDataMapper()
    mapper.SetInputData(shape)
    mapper.SetVBOShiftScaleMethod(0)  # the shader needs the corners as they are
    actor.SetMapper(mapper)
    return actor


def _shade(actor: vtkActor, code: str, maps: vtkTexture, values: dict):
    """Give an actor our light instead of vtk's; returns its settings, to be changed from frame to frame."""
    actor.GetProperty().BackfaceCullingOn()
    actor.GetProperty().SetTexture("maps", maps)
    shader = actor.GetShaderProperty()
    for tag, text in light.VERTEX.items():
        shader.AddVertexShaderReplacement(tag, True, text, False)
    shader.AddFragmentShaderReplacement("//VTK::TCoord::Dec", True, light.DECLARE, False)
    shader.AddFragmentShaderReplacement("//VTK::Light::Impl", True, code, False)
    uniforms = shader.GetFragmentCustomUniforms()
    setters = {1: uniforms.SetUniformf, 3: uniforms.SetUniform3f, 4: uniforms.SetUniform4f}
    for name, value in values.items():
        setters[np.size(value)](name, value)
    return uniforms


def _texture(maps: np.ndarray) -> vtkTexture:
    image, texture = vtkImageData(), vtkTexture()
    image.SetDimensions(maps.shape[1], maps.shape[0], 1)
    image.GetPointData().SetScalars(numpy_to_vtk(maps.ravel()))
    texture.SetInputData(image)
    texture.SetColorModeToDirectScalars()
    texture.InterpolateOff()
    return texture


def _smooth(mesh: vtkPolyData) -> vtkPolyData:
    """Normals that follow curves and break at edges.

    Weighted by face area: beside a small rounding a large flat face keeps its own normal and stays flat.
    """
    split = vtkPolyDataNormals()
    split.SetInputData(mesh)
    split.SetFeatureAngle(SHARP)
    split.ConsistencyOff()
    split.Update()
    shape = split.GetOutput()
    points = vtk_to_numpy(shape.GetPoints().GetData()).astype(float)
    faces = vtk_to_numpy(shape.GetPolys().GetConnectivityArray()).reshape(-1, 3)
    a, b, c = (points[faces[:, k]] for k in range(3))
    across = np.cross(b - a, c - a)
    normals = np.column_stack([
        sum(np.bincount(faces[:, k], across[:, axis], len(points)) for k in range(3)) for axis in range(3)
    ])
    length = np.linalg.norm(normals, axis=1, keepdims=True)
    normals = (normals / np.where(length > 0, length, 1)).astype(np.float32)
    shape.GetPointData().SetNormals(numpy_to_vtk(normals, deep=1))
    return shape


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


def _guides(scene: Scene) -> vtkPolyData:
    """The scene's guide lines."""
    ends = np.array(scene.lines, float).reshape(-1, 3)
    lines = _polydata(ends, np.empty((0, 3), int))
    cells = vtkCellArray()
    cells.SetData(2, numpy_to_vtkIdTypeArray(np.arange(len(ends), dtype=np.int64), deep=1))
    lines.SetLines(cells)
    return lines


def _dark(shape: vtkPolyData, strength: float) -> vtkActor:
    """Lines that darken what they cross."""
    actor = _body(shape)
    actor.GetProperty().LightingOff()
    actor.GetProperty().SetColor(0, 0, 0)
    actor.GetProperty().SetOpacity(strength)
    return actor


def _sheet(middle: np.ndarray, plane: np.ndarray) -> vtkPolyData:
    """A flat sheet spanned by the two rows of `plane` to both sides of its middle."""
    corners = middle + np.array([[-1, -1], [1, -1], [1, 1], [-1, 1]]) @ plane
    return _smooth(_polydata(corners, np.array([[0, 1, 2], [0, 2, 3]])))


def _annotate(picture: np.ndarray, scene: Scene, seen: View) -> None:
    """Leader lines and label texts on the finished picture."""
    size = letter_height(scene)
    for text, anchor, near, on_right in place_labels(scene):
        gap = np.array([-0.5 if on_right else 0.5, 0]) * size
        _line(picture, anchor, near + gap, 1.4, 0.8)
        _line(picture, anchor, anchor + 0.01, 7, 0.9)
        _text(picture, text, near, on_right, size)


def _line(picture: np.ndarray, start, end, width: float, strength: float, ink: float = 45.0) -> None:
    """Blend a smooth line of dark ink into the picture; a line of no length is a dot."""
    low = np.maximum(np.floor(np.minimum(start, end) - width - 1), 0).astype(int)
    high = np.maximum(np.ceil(np.maximum(start, end) + width + 2), 0).astype(int)
    patch = picture[low[1]:high[1], low[0]:high[0]]
    y, x = np.mgrid[low[1]:low[1] + patch.shape[0], low[0]:low[0] + patch.shape[1]]
    way = end - start
    along = np.clip(((x - start[0]) * way[0] + (y - start[1]) * way[1]) / (way @ way), 0, 1)
    apart = np.hypot(x - start[0] - along * way[0], y - start[1] - along * way[1])
    cover = strength * np.clip(width / 2 + 0.5 - apart, 0, 1)[..., None]
    patch[:] = patch + cover * (ink - patch)


def _text(picture: np.ndarray, text: str, near, on_right: bool, size: float) -> None:
    style, image, used = vtkTextProperty(), vtkImageData(), [0, 0]
    style.SetFontSize(int(round(size)))
    style.SetColor(0.15, 0.14, 0.13)
    vtkTextRenderer.GetInstance().RenderString(style, text, image, used, 72)
    width, height, _ = image.GetDimensions()
    ink = vtk_to_numpy(image.GetPointData().GetScalars()).reshape(height, width, 4)
    ink = ink[used[1] - 1::-1, :used[0]]
    top = int(round(near[1] - used[1] / 2))
    left = int(round(near[0] if on_right else near[0] - used[0]))
    patch = picture[top:top + used[1], left:left + used[0]]
    ink = ink[:patch.shape[0], :patch.shape[1]].astype(float)
    patch[:] = patch + ink[..., 3:] / 255 * (ink[..., :3] - patch)


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
    for number, (scene, picture) in enumerate(zip(arguments[::2], arguments[1::2])):
        draw(load(scene), picture)
        print(number, flush=True)


if __name__ == "__main__":
    main(sys.argv[1:])
