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

FRAMES = 6  # shifted frames a picture: six grey steps on every edge
LIGHTS_A_FRAME = 7
KEYS_A_FRAME = 2
TILE = 448  # side of one light's depth map [px]
SHARP = 30.0  # faces that meet at more than this are an edge, not a curve [deg]

# how a finish answers light: diffuse share, mirror share at right angles, highlight sharpness, mirror strength
FINISH = {
    "plastic": (1.0, 0.04, 22, 0.55),
    "metal": (0.45, 0.60, 40, 1.0),
    "ceramic": (1.0, 0.05, 160, 1.0),
    "liquid": (1.0, 0.03, 300, 1.0),
    "wood": (1.0, 0.03, 10, 0.25),
    "board": (1.0, 0.04, 40, 0.6),
}

VERTEX = {
    "//VTK::PositionVC::Dec": "//VTK::PositionVC::Dec\nout vec3 place;\nout vec3 facing;",
    "//VTK::PositionVC::Impl": "//VTK::PositionVC::Impl\nplace = vertexMC.xyz;\nfacing = normalMC;",
}
DECLARE = f"""//VTK::TCoord::Dec
const int LIGHTS = {LIGHTS_A_FRAME}, KEYS = {KEYS_A_FRAME};
const float TILE = {TILE};
""" + """
in vec3 place;
in vec3 facing;

float arrives(int k, vec4 p, vec2 spread) {  // a map's rim is empty: outside it all light arrives
  vec3 m = vec3(dot(lights[k][0], p), dot(lights[k][1], p), dot(lights[k][2], p));
  vec2 at = vec2(k, mapRow) + clamp(m.xy + spread, 0.0005, 0.9995);
  return step(min(m.z, 1.0), texelFetch(maps, ivec2(at * TILE), 0).r + 0.0012);
}
vec2 scatter() {  // blurs the steps between the lights, differently at each pixel and frame
  float grain = fract(52.9829189 * fract(dot(gl_FragCoord.xy, vec2(0.06711056, 0.00583715)))
                      + 0.618034 * float(mapRow));
  return (vec2(grain, fract(7.31 * grain)) - 0.5) * 0.008;
}
vec3 room(vec3 way) {  // what a mirror would see: a pale floor, a grey room, a wide lamp
  vec3 tone = mix(vec3(0.30, 0.28, 0.26), vec3(0.62, 0.63, 0.66), smoothstep(-0.35, 0.25, way.z));
  return tone + vec3(1.0, 0.97, 0.92) * smoothstep(0.80, 0.93, dot(way, keyWay)) * 1.2;
}
"""
THING = """
vec3 N = normalize(facing), away = normalize(eye - place);
vec4 p = vec4(place + N * texel, 1.0);
vec2 spread = scatter();
vec3 lit = vec3(0.0), shine = vec3(0.0);
float open = 0.0;
for (int k = 0; k < LIGHTS; k++) {
  vec3 way = lights[k][2].xyz * lights[k][3].w;
  float seen = arrives(k, p, spread);
  vec3 sent = lights[k][3].rgb * (max(dot(N, way), 0.0) * seen);
  open += seen / LIGHTS;
  lit += sent;
  if (k < KEYS) shine += sent * pow(max(dot(N, normalize(way + away)), 0.0), finish.z);
}
vec3 own = pow(diffuseColor, vec3(2.2));
float mirror = finish.y + (1.0 - finish.y) * pow(1.0 - max(dot(N, away), 0.0), 5.0);
vec3 bounce = vec3(0.30, 0.28, 0.255) * (0.6 - 0.4 * N.z) * (0.4 + 0.6 * open);
vec3 tint = finish.y > 0.3 ? own : vec3(1.0);
vec3 seenInIt = room(reflect(-away, N)) * (0.25 + 0.75 * open) * finish.w;
vec3 tone = own * finish.x * (lit + bounce) + tint * mirror * (shine * (finish.z + 8.0) / 8.0 + seenInIt);
gl_FragData[0] = vec4(sqrt(clamp(tone * 0.5, 0.0, 1.0)), opacity);
"""
TABLE = """
vec4 p = vec4(place + vec3(0.0, 0.0, texel), 1.0);
vec2 spread = scatter();
float lit = 0.0, all = 0.0;
for (int k = 0; k < LIGHTS; k++) {
  float sent = lights[k][2].z * lights[k][3].w * lights[k][3].g;
  all += sent;
  lit += sent * arrives(k, p, spread);
}
float far = smoothstep(0.1, 1.5, length((gl_FragCoord.xy - glow.xy) / glow.z));
vec3 paper = mix(vec3(0.98, 0.95, 0.91), vec3(0.47, 0.445, 0.42), far);
gl_FragData[0] = vec4(sqrt(paper * (0.04 + 0.46 * lit / all)), 1.0);
"""


def draw(scene: Scene, path: str) -> None:
    """Write the scene's picture to `path` as PNG."""
    seen = view(scene)
    way, colour, key = _lights(seen)
    rows, maps = _depth_maps([p for p in scene.props if p.opacity >= 1], way)
    size = 1 / np.linalg.norm(rows[:, :, :3], axis=2)
    fourth = np.column_stack([colour * FRAMES, -size[:, 2]])
    lights = np.concatenate([rows, fourth[:, None]], axis=1).reshape(FRAMES, LIGHTS_A_FRAME, 4, 4)
    texel = float(np.median(size[:, :2]) / TILE)
    window, groups = _stage(scene, seen, maps, {"keyWay": key, "texel": texel})
    total = np.zeros((scene.size[1], scene.size[0], 3), np.float32)
    for frame, (x, y) in enumerate(_shifts()):
        for group in groups:
            group.SetUniformMatrix4x4v("lights", LIGHTS_A_FRAME, lights[frame].ravel().tolist())
            group.SetUniformi("mapRow", frame)
        window.GetRenderers().GetFirstRenderer().GetActiveCamera().SetWindowCenter(x / scene.size[0], y / scene.size[1])
        total += _shot(window, scene.size)
    window.Finalize()
    picture = _developed(total[::-1] / FRAMES)
    if np.ptp(picture) == 0:
        raise RuntimeError("the picture came out blank")
    _annotate(picture, scene, seen)
    _write(picture, path)


def _shifts() -> np.ndarray:
    """Where in its pixel each frame looks, (FRAMES, 2) in half pixels, spread evenly over the pixel."""
    steps = np.array([0.7548776662, 0.5698402910])  # powers of the root of x^3 = x + 1, the plane's golden ratio
    return 2 * ((0.5 + np.arange(FRAMES)[:, None] * steps) % 1) - 1


def _shot(window: vtkRenderWindow, size: tuple[int, int]) -> np.ndarray:
    """One frame in linear light, (height, width, 3), bottom row first."""
    pixels = vtkUnsignedCharArray()
    window.Render()
    window.GetPixelData(0, 0, size[0] - 1, size[1] - 1, 0, pixels, 0)
    decode = (2 * (np.arange(256) / 255) ** 2).astype(np.float32)  # undoes the root the shader stores
    return decode[vtk_to_numpy(pixels).reshape(size[1], size[0], 3)]


def _lights(seen) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Directions towards the lights (n, 3), their colours, and the key light's direction.

    Three lights of each frame stand in a disc round the key light, the rest spread evenly over the sky.
    """
    n, keys = FRAMES * LIGHTS_A_FRAME, KEYS_A_FRAME
    right, _, back = seen.axes
    level = np.cross([0, 0, 1.0], right)
    key = _unit(-0.50 * right - 0.90 * level + [0, 0, 1.2])
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
    colour = np.where(is_key[:, None], np.array([1.0, 0.96, 0.90]) * 0.92 / is_key.sum(),
                      np.array([0.90, 0.95, 1.0]) * 1.25 / (~is_key).sum())
    return way, colour, key


def _unit(vector) -> np.ndarray:
    vector = np.asarray(vector, float)
    return vector / np.linalg.norm(vector, axis=-1, keepdims=True)


def _depth_maps(props: list, way: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """For each light the (3, 4) rows that turn scene axes into its map's (u, v, depth) 0..1; and all maps in one.

    The maps hold the far side of the nearest body: a lit skin then never shades itself.
    """
    points, faces = _coarse(props)
    window = _window(LIGHTS_A_FRAME * TILE, FRAMES * TILE)
    mapper = vtkPolyDataMapper()
    mapper.SetInputData(_polydata(points, faces))
    boxes = [_box(p) for p in props]
    framed = np.vstack([box for box, p in zip(boxes, props) if p.in_frame] or boxes)
    rows = np.array([_fit(framed, np.vstack(boxes), w) for w in way])
    for k, (row, w) in enumerate(zip(rows, way)):
        actor, renderer = vtkActor(), vtkRenderer()
        actor.SetMapper(mapper)
        actor.GetProperty().LightingOff()
        actor.GetProperty().FrontfaceCullingOn()
        renderer.AddActor(actor)
        y, x = divmod(k, LIGHTS_A_FRAME)
        renderer.SetViewport(x / LIGHTS_A_FRAME, y / FRAMES, (x + 1) / LIGHTS_A_FRAME, (y + 1) / FRAMES)
        _aim(renderer.GetActiveCamera(), row)
        window.AddRenderer(renderer)
    window.Render()
    depth = vtkFloatArray()
    window.GetZbufferData(0, 0, LIGHTS_A_FRAME * TILE - 1, FRAMES * TILE - 1, depth)
    window.Finalize()
    maps = vtk_to_numpy(depth).reshape(FRAMES, TILE, LIGHTS_A_FRAME, TILE)
    maps[:, [0, -1]] = maps[..., [0, -1]] = 1
    return rows, maps.reshape(FRAMES * TILE, -1)


def _coarse(props: list) -> tuple[np.ndarray, np.ndarray]:
    """All bodies as one mesh whose corners are gathered on a grid finer than a map's pixel: fewer, larger faces."""
    points = np.vstack([p.placed() for p in props])
    starts = np.cumsum([0] + [len(p.vertices) for p in props])
    faces = np.vstack([np.asarray(p.faces) + s for p, s in zip(props, starts)])
    framed = np.vstack([p.placed() for p in props if p.in_frame] or [points])
    cell = np.ptp(framed, axis=0).max() / 400
    body = np.repeat(np.arange(len(props)), np.diff(starts))  # corners of two bodies never become one
    key = np.column_stack([np.round(points / cell), body]).astype(np.int64)
    _, first, group = np.unique(key, axis=0, return_index=True, return_inverse=True)
    faces = group.ravel()[faces]
    a, b, c = faces.T
    return points[first], faces[(a != b) & (b != c) & (c != a)]


def _box(prop) -> np.ndarray:
    """The eight corners of a body's box in scene axes."""
    points = prop.placed()
    return np.stack(np.meshgrid(*zip(points.min(axis=0), points.max(axis=0))), -1).reshape(8, 3)


def _fit(framed: np.ndarray, points: np.ndarray, way: np.ndarray) -> np.ndarray:
    """Rows (3, 4) of the map from scene axes to 0..1 along u, v and depth.

    The map is turned along the framed bodies' longest way and wide enough for what they stand on; all points lie
    within its depth.
    """
    flat = framed[:, :2] - framed[:, :2].mean(axis=0)
    long = np.append(np.linalg.eigh(flat.T @ flat)[1][:, -1], 0)
    up = _unit(np.cross(way, long))
    basis = np.array([np.cross(up, way), up, -way])
    at, deep = framed @ basis.T, points @ basis[2]
    low, high = at.min(axis=0), at.max(axis=0)
    low[2], high[2] = deep.min(), deep.max()
    pad = np.array([0.12, 0.12, 0.01]) * (high - low) + 1.0
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


def _stage(scene: Scene, seen, maps: np.ndarray, settings: dict) -> tuple[vtkRenderWindow, list]:
    """The window with every body, its edges and the table, and the shader settings of each actor."""
    renderer, window = vtkRenderer(), _window(*scene.size)
    window.AddRenderer(renderer)
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
        renderer.AddActor(_lines(_edges(prop, seen), 0.28 * prop.opacity))
        groups.append(uniforms)
    if scene.lines:
        renderer.AddActor(_lines(_guides(scene), 0.45))
    for sheet in _paper(scene, seen):
        actor, uniforms = _actor(sheet, (1, 1, 1), FINISH["plastic"], texture, scene, seen, TABLE)
        renderer.AddActor(actor)
        groups.append(uniforms)
    for uniforms in groups:
        uniforms.SetUniformMatrix4x4v("lights", LIGHTS_A_FRAME, [0.0] * 16 * LIGHTS_A_FRAME)
        uniforms.SetUniform3f("keyWay", settings["keyWay"])
        uniforms.SetUniformf("texel", settings["texel"])
    renderer.ResetCameraClippingRange()
    return window, groups


def _actor(shape, colour, finish, texture, scene: Scene, seen, shade: str = THING):
    actor, mapper = vtkActor(), vtkPolyDataMapper()
    mapper.SetInputData(shape)
    mapper.SetVBOShiftScaleMethod(0)  # the shader needs the corners as they are
    actor.SetMapper(mapper)
    actor.GetProperty().SetColor(*colour)
    actor.GetProperty().BackfaceCullingOn()
    actor.GetProperty().SetTexture("maps", texture)
    shader = actor.GetShaderProperty()
    for tag, code in VERTEX.items():
        shader.AddVertexShaderReplacement(tag, True, code, False)
    shader.AddFragmentShaderReplacement("//VTK::TCoord::Dec", True, DECLARE, False)
    shader.AddFragmentShaderReplacement("//VTK::Light::Impl", True, shade, False)
    uniforms = shader.GetFragmentCustomUniforms()
    width, height = scene.size
    uniforms.SetUniform3f("eye", seen.position)
    uniforms.SetUniform4f("finish", finish)
    uniforms.SetUniform3f("glow", (0.5 * width, 0.52 * height, 0.5 * width))
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


def _edges(prop, seen) -> vtkPolyData:
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


def _lines(shape: vtkPolyData, strength: float) -> vtkActor:
    actor, mapper = vtkActor(), vtkPolyDataMapper()
    mapper.SetInputData(shape)
    actor.SetMapper(mapper)
    actor.GetProperty().LightingOff()
    actor.GetProperty().SetColor(0, 0, 0)
    actor.GetProperty().SetOpacity(strength)
    return actor


def _paper(scene: Scene, seen) -> list[vtkPolyData]:
    """The sheets behind and, with a table, under the scene: one seamless ground, for both are lit by the picture."""
    points = np.vstack([_box(p) for p in scene.props])
    reach = 20 * np.ptp(points, axis=0).max()
    sheets = [(seen.position - (4 * reach) * seen.axes[2], seen.axes[0], seen.axes[1], 8 * reach)]
    if scene.ground is not None:
        centre = np.append(points[:, :2].mean(axis=0), scene.ground)
        sheets.append((centre, np.array([1.0, 0, 0]), np.array([0, 1.0, 0]), reach))
    square = np.array([[-1, -1], [1, -1], [1, 1], [-1, 1]])
    return [
        _smooth(_polydata(centre + size * square @ np.array([u, v]), np.array([[0, 1, 2], [0, 2, 3]])))
        for centre, u, v, size in sheets
    ]


def _developed(light: np.ndarray) -> np.ndarray:
    """Linear light 0..2 as sRGB bytes, bright tones rolled off instead of cut."""
    level = np.linspace(0, 2, 4096)
    soft = level * (1 + level / 9) / (1 + level * 0.35)
    srgb = np.where(soft <= 0.0031308, 12.92 * soft, 1.055 * np.maximum(soft, 1e-6) ** (1 / 2.4) - 0.055)
    return np.clip(255 * srgb + 0.5, 0, 255).astype(np.uint8)[(light * 2047.5).astype(np.uint16)]


def _annotate(picture: np.ndarray, scene: Scene, seen) -> None:
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
