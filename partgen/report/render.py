"""The child program that draws: `python -m partgen.report.render SCENE.npz OUT.png [SCENE.npz OUT.png ...]`.

The only file that imports vtk. Light comes as in a photographer's tent: a soft key light and a dome of sky, cut
into a few dozen directions. One depth map for each direction says where its light arrives; a handful of frames,
each shifted by a part of a pixel and lit by its share of the directions, are averaged. That gives soft shadows,
dark grooves and smooth edges at once, on a machine without a graphics card.

Prints one line, the picture's number, when a picture is complete.
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
    vtkTexture,
    vtkTextRenderer,
)

from partgen.report.scene import Scene, letter_height, load, place_labels, view

FRAMES = 8  # shifted frames a picture: eight grey steps on every edge
LIGHTS_A_FRAME = 8
TILE = 512  # side of one light's depth map [px]
SHARP = 30.0  # faces that meet at more than this are an edge, not a curve [deg]

# how a finish answers light: diffuse share, mirror share at right angles, highlight sharpness, mirror strength
FINISH = {
    "plastic": (1.0, 0.04, 22, 0.55),
    "metal": (0.35, 0.60, 40, 0.75),
    "ceramic": (1.0, 0.05, 160, 1.0),
    "liquid": (1.0, 0.03, 300, 1.0),
    "wood": (1.0, 0.03, 10, 0.25),
    "board": (1.0, 0.04, 40, 0.6),
}

VERTEX = {
    "//VTK::PositionVC::Dec": "//VTK::PositionVC::Dec\nout vec3 place;\nout vec3 facing;",
    "//VTK::PositionVC::Impl": "//VTK::PositionVC::Impl\nplace = vertexMC.xyz;\nfacing = normalMC;",
}
DECLARE = """//VTK::TCoord::Dec
in vec3 place;
in vec3 facing;

float arrives(int k, vec4 p, float spread) {
  vec3 m = vec3(dot(lights[k][0], p), dot(lights[k][1], p), dot(lights[k][2], p));
  m.xy += spread;
  if (any(lessThan(m.xy, vec2(0.002))) || any(greaterThan(m.xy, vec2(0.998)))) return 1.0;
  int map = firstMap + k;
  vec2 tile = vec2(map % mapsInARow, map / mapsInARow);
  return step(m.z, texture(maps, (tile + m.xy) / float(mapsInARow)).r + 0.0012);
}
vec3 room(vec3 way) {  // what a mirror would see: a pale floor, a grey room, a wide lamp
  vec3 tone = mix(vec3(0.30, 0.28, 0.26), vec3(0.62, 0.63, 0.66), smoothstep(-0.35, 0.25, way.z));
  return tone + vec3(1.0, 0.97, 0.92) * smoothstep(0.80, 0.93, dot(way, keyWay)) * 1.2;
}
"""
SHADE = """
vec3 N = normalize(facing);
vec3 away = normalize(eye - place);
if (dot(N, away) < 0.0) N = -N;
vec4 p = vec4(place + N * texel, 1.0);
float grain = fract(52.9829189 * fract(dot(gl_FragCoord.xy, vec2(0.06711056, 0.00583715))));
vec3 lit = vec3(0.0), all = vec3(0.0), shine = vec3(0.0);
float open = 0.0;
for (int k = 0; k < 8; k++) {
  vec3 L = -normalize(lights[k][2].xyz);
  float facingLight = dot(N, L);
  all += lights[k][3].rgb * max(facingLight, 0.0);
  if (facingLight <= 0.0) continue;
  float seen = arrives(k, p, (fract(grain + 0.381966 * float(k)) - 0.5) * 0.004);
  vec3 sent = lights[k][3].rgb * facingLight * seen;
  lit += sent;
  open += seen / 8.0;
  shine += sent * pow(max(dot(N, normalize(L + away)), 0.0), finish.z) * (finish.z + 8.0) / 8.0;
}
vec3 own = pow(diffuseColor, vec3(2.2));
if (backdrop == 1) {
  float far = length((gl_FragCoord.xy - glow.xy) / glow.z);
  vec3 paper = mix(vec3(0.86, 0.835, 0.80), vec3(0.42, 0.40, 0.385), smoothstep(0.1, 1.5, far));
  own = paper * mix(vec3(1.0), lit / max(all, vec3(1e-4)), 0.92);
} else {
  float mirror = finish.y + (1.0 - finish.y) * pow(1.0 - max(dot(N, away), 0.0), 5.0);
  vec3 bounce = vec3(0.20, 0.185, 0.17) * (0.6 - 0.4 * N.z) * (0.4 + 0.6 * open);
  vec3 tint = finish.y > 0.3 ? own : vec3(1.0);
  vec3 seenInIt = room(reflect(-away, N)) * (0.25 + 0.75 * open) * finish.w;
  own = own * finish.x * (lit + bounce) + tint * mirror * (shine + seenInIt);
}
gl_FragData[0] = vec4(sqrt(clamp(own * 0.5, 0.0, 1.0)), opacity);
"""


def draw(scene: Scene, path: str) -> None:
    """Write the scene's picture to `path` as PNG."""
    seen = view(scene)
    way, colour, key = _lights(seen)
    solid = [p for p in scene.props if p.opacity >= 1]
    rows, maps = _depth_maps(solid, way)
    window, groups = _stage(scene, seen, maps)
    total = np.zeros((scene.size[1], scene.size[0], 3), np.float32)
    decode = (2 * (np.arange(256) / 255) ** 2).astype(np.float32)  # undoes the root the shader stores
    pixels = vtkUnsignedCharArray()
    camera = window.GetRenderers().GetFirstRenderer().GetActiveCamera()
    texel = float(np.median(1 / np.linalg.norm(rows[:, :2, :3], axis=2)) / TILE)
    for frame in range(FRAMES):
        part = slice(frame * LIGHTS_A_FRAME, (frame + 1) * LIGHTS_A_FRAME)
        lights = np.concatenate([rows[part], np.pad(colour[part] * FRAMES, ((0, 0), (0, 1)))[:, None]], axis=1)
        for group in groups:
            group.SetUniformMatrix4x4v("lights", LIGHTS_A_FRAME, lights.ravel().tolist())
            group.SetUniformi("firstMap", frame * LIGHTS_A_FRAME)
            group.SetUniformf("texel", texel)
            group.SetUniform3f("keyWay", key)
        shift = np.array([(frame + 0.5) / FRAMES, (frame * 5 % FRAMES + 0.5) / FRAMES]) - 0.5
        camera.SetWindowCenter(*(2 * shift / scene.size))
        window.Render()
        window.GetPixelData(0, 0, scene.size[0] - 1, scene.size[1] - 1, 0, pixels, 0)
        total += decode[vtk_to_numpy(pixels).reshape(total.shape)]
    window.Finalize()
    picture = _developed(total[::-1] / FRAMES)
    _annotate(picture, scene, seen)
    _write(picture, path)


def _lights(seen) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Directions towards the lights (n, 3), their colours, and the key light's direction.

    Three lights of each frame stand in a disc round the key light, the rest spread evenly over the sky.
    """
    n, keys = FRAMES * LIGHTS_A_FRAME, 3
    right, _, back = seen.axes
    level = np.cross([0, 0, 1.0], right)
    key = _unit(-0.75 * right - 0.55 * level + [0, 0, 1.15])
    golden = np.pi * (3 - np.sqrt(5))
    k = np.arange(n)
    is_key = k % LIGHTS_A_FRAME < keys
    way = np.empty((n, 3))
    i = np.arange(is_key.sum())
    across, along = _unit(np.cross(key, [0.3, 0.4, 1])), np.cross(key, _unit(np.cross(key, [0.3, 0.4, 1])))
    r = 0.20 * np.sqrt((i + 0.5) / len(i))
    disc = (r * np.cos(i * golden))[:, None] * across + (r * np.sin(i * golden))[:, None] * along
    way[is_key] = _unit(key + disc)
    i = np.arange((~is_key).sum())
    height = 0.03 + 0.96 * (i + 0.5) / len(i)
    flat = np.sqrt(1 - height**2)
    way[~is_key] = np.column_stack([flat * np.cos(i * golden), flat * np.sin(i * golden), height])
    colour = np.where(is_key[:, None], np.array([1.0, 0.96, 0.90]) * 0.62 / is_key.sum(),
                      np.array([0.90, 0.95, 1.0]) * 1.05 / (~is_key).sum())
    return way, colour, key


def _unit(vector) -> np.ndarray:
    vector = np.asarray(vector, float)
    return vector / np.linalg.norm(vector, axis=-1, keepdims=True)


def _depth_maps(props: list, way: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """For each light the (3, 4) rows that turn scene axes into its map's (u, v, depth) 0..1; and all maps in one.

    The maps hold the far side of the nearest body: a lit skin then never shades itself.
    """
    points, faces = _coarse(props)
    across = int(np.ceil(np.sqrt(len(way))))
    window = _window(across * TILE, across * TILE)
    mapper = vtkPolyDataMapper()
    mapper.SetInputData(_polydata(points, faces))
    rows = np.array([_fit(points, w) for w in way])
    for k, (row, w) in enumerate(zip(rows, way)):
        actor, renderer = vtkActor(), vtkRenderer()
        actor.SetMapper(mapper)
        actor.GetProperty().LightingOff()
        actor.GetProperty().FrontfaceCullingOn()
        renderer.AddActor(actor)
        x, y = k % across, k // across
        renderer.SetViewport(x / across, y / across, (x + 1) / across, (y + 1) / across)
        _aim(renderer.GetActiveCamera(), row)
        window.AddRenderer(renderer)
    window.Render()
    depth = vtkFloatArray()
    window.GetZbufferData(0, 0, across * TILE - 1, across * TILE - 1, depth)
    maps = vtk_to_numpy(depth).copy()
    window.Finalize()
    return rows, maps.reshape(across * TILE, across * TILE)


def _coarse(props: list, most: int = 60) -> tuple[np.ndarray, np.ndarray]:
    """All bodies as one mesh whose corners are gathered on a grid finer than a map's pixel: fewer, larger faces."""
    points = np.vstack([p.placed() for p in props])
    starts = np.cumsum([0] + [len(p.vertices) for p in props])
    faces = np.vstack([np.asarray(p.faces) + s for p, s in zip(props, starts)])
    cell = np.ptp(points, axis=0).max() / 600
    body = np.repeat(np.arange(len(props)), np.diff(starts))  # corners of two bodies never become one
    key = np.column_stack([np.round(points / cell), body]).astype(np.int64)
    _, first, group = np.unique(key, axis=0, return_index=True, return_inverse=True)
    faces = group.ravel()[faces]
    a, b, c = faces.T
    return points[first], faces[(a != b) & (b != c) & (c != a)]


def _fit(points: np.ndarray, way: np.ndarray) -> np.ndarray:
    """Rows (3, 4) of the map from scene axes to 0..1 along u, v and depth that just holds all points."""
    flat = points[:, :2] - points[:, :2].mean(axis=0)
    long = np.append(np.linalg.eigh(flat.T @ flat)[1][:, -1], 0)
    up = _unit(np.cross(way, long))
    basis = np.array([np.cross(up, way), up, -way])
    at = points @ basis.T
    low, high = at.min(axis=0), at.max(axis=0)
    pad = 0.01 * (high - low) + 1.0
    return np.column_stack([basis, pad - low]) / (high - low + 2 * pad)[:, None]


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


def _stage(scene: Scene, seen, maps: np.ndarray) -> tuple[vtkRenderWindow, list]:
    """The window with every body, its edges and the table, and the shader settings of each actor."""
    renderer, window = vtkRenderer(), _window(*scene.size)
    window.AddRenderer(renderer)
    renderer.SetBackground(*np.sqrt(np.array([0.42, 0.40, 0.385]) / 2))
    camera = renderer.GetActiveCamera()
    camera.SetPosition(*seen.position)
    camera.SetFocalPoint(*(seen.position - seen.axes[2]))
    camera.SetViewUp(*seen.axes[1])
    camera.SetViewAngle(2 * np.degrees(np.arctan(seen.slope)))
    texture, groups = _texture(maps), []
    for prop in sorted(scene.props, key=lambda p: -p.opacity):
        shape = _smooth(_polydata(prop.placed(), prop.faces))
        actor, uniforms = _actor(shape, prop.colour, FINISH[prop.finish], texture, scene, seen)
        actor.GetProperty().SetOpacity(prop.opacity)
        renderer.AddActor(actor)
        renderer.AddActor(_edges(prop, seen))
        groups.append(uniforms)
    if scene.ground is not None:
        actor, uniforms = _actor(_table(scene), (1, 1, 1), FINISH["plastic"], texture, scene, seen)
        uniforms.SetUniformi("backdrop", 1)
        renderer.AddActor(actor)
        groups.append(uniforms)
    renderer.ResetCameraClippingRange()
    return window, groups


def _actor(shape, colour, finish, texture, scene: Scene, seen):
    actor, mapper = vtkActor(), vtkPolyDataMapper()
    mapper.SetInputData(shape)
    mapper.SetVBOShiftScaleMethod(0)  # the shader needs the corners as they are
    actor.SetMapper(mapper)
    actor.GetProperty().SetColor(*colour)
    actor.GetProperty().SetTexture("maps", texture)
    shader = actor.GetShaderProperty()
    for tag, code in VERTEX.items():
        shader.AddVertexShaderReplacement(tag, True, code, False)
    shader.AddFragmentShaderReplacement("//VTK::TCoord::Dec", True, DECLARE, False)
    shader.AddFragmentShaderReplacement("//VTK::Light::Impl", True, SHADE, False)
    uniforms = shader.GetFragmentCustomUniforms()
    width, height = scene.size
    uniforms.SetUniform3f("eye", seen.position)
    uniforms.SetUniform4f("finish", finish)
    uniforms.SetUniform3f("glow", (0.5 * width, 0.52 * height, 0.5 * width))
    uniforms.SetUniformi("backdrop", 0)
    uniforms.SetUniformi("mapsInARow", int(np.ceil(np.sqrt(FRAMES * LIGHTS_A_FRAME))))
    return actor, uniforms


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


def _edges(prop, seen) -> vtkActor:
    """The sharp edges of a body as thin dark lines, a hair nearer to the camera than its skin."""
    points = prop.placed()
    edges = vtkFeatureEdges()
    edges.SetInputData(_polydata(points + 0.0008 * (seen.position - points), prop.faces))
    edges.SetFeatureAngle(SHARP)
    edges.BoundaryEdgesOff()
    edges.NonManifoldEdgesOff()
    edges.ColoringOff()
    actor, mapper = vtkActor(), vtkPolyDataMapper()
    mapper.SetInputConnection(edges.GetOutputPort())
    actor.SetMapper(mapper)
    actor.GetProperty().LightingOff()
    actor.GetProperty().SetColor(0, 0, 0)
    actor.GetProperty().SetOpacity(0.28 * prop.opacity)
    return actor


def _table(scene: Scene) -> vtkPolyData:
    """A round table top far wider than the picture."""
    points = np.vstack([p.placed() for p in scene.props])
    middle, reach = points.mean(axis=0), 40 * np.ptp(points, axis=0).max()
    turn = 2 * np.pi * np.arange(48) / 48
    rim = np.column_stack([middle[0] + reach * np.cos(turn), middle[1] + reach * np.sin(turn)])
    rim = np.column_stack([np.vstack([middle[:2], rim]), np.full(49, scene.ground)])
    k = np.arange(48)
    return _smooth(_polydata(rim, np.column_stack([np.zeros(48, int), 1 + k, 1 + (k + 1) % 48])))


def _developed(light: np.ndarray) -> np.ndarray:
    """Linear light as sRGB bytes, bright tones rolled off instead of cut."""
    soft = light * (1 + light / 4.0) / (1 + light * 0.62)
    srgb = np.where(soft <= 0.0031308, 12.92 * soft, 1.055 * np.maximum(soft, 1e-6) ** (1 / 2.4) - 0.055)
    return np.clip(255 * srgb + 0.5, 0, 255).astype(np.uint8)


def _annotate(picture: np.ndarray, scene: Scene, seen) -> None:
    """Guide lines, leader lines and label texts on the finished picture."""
    for start, end in scene.lines:
        _line(picture, *seen.project(np.array([start, end])), 1.2, 0.45)
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
    ink = vtk_to_numpy(image.GetPointData().GetScalars()).reshape(height, width, 4)[used[1] - 1::-1, :used[0]]
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
