"""How a picture is lit: a soft key light and a dome of sky, as a few dozen directions; how things answer.

Arrays and shader text only. `render.py` draws for each direction a depth map (what the light reaches first),
and then a handful of frames, each shifted by a part of a pixel and lit by its own share of the directions.
Their mean has soft shadows, dark grooves and smooth edges at once, in seconds without a graphics card.
"""

from collections.abc import Sequence

import numpy as np

from partgen.report.scene import Prop, View

FRAMES = 4  # shifted frames a picture, unless it asks for fewer: four grey steps on every edge
LIGHTS = 7  # lights a frame
KEYS = 2  # of them from the key light
MAP = 384  # side of one light's depth map [px]

# how a finish answers light: diffuse share, mirror share seen square on, highlight sharpness, mirror strength
FINISH = {
    "plastic": (1.0, 0.04, 22, 0.55),
    "metal": (0.45, 0.60, 40, 1.0),
    "ceramic": (1.0, 0.05, 160, 1.0),
    "liquid": (1.0, 0.03, 300, 1.0),
    "wood": (1.0, 0.03, 10, 0.25),
    "board": (1.0, 0.04, 40, 0.6),
    "glow": (0.0, 0.0, 1, -1.0),  # shines by itself: no light adds to it, no shade takes from it
}

# vtk fills its shader templates at these tags; a tag that is kept is filled as usual.
VERTEX = {
    "//VTK::PositionVC::Dec": "//VTK::PositionVC::Dec\nout vec3 place;\nout vec3 facing;",
    "//VTK::PositionVC::Impl": "//VTK::PositionVC::Impl\nplace = vertexMC.xyz;\nfacing = normalMC;",
}

# Set from outside: lights (columns of each: u, v and depth of its map, then its colour and minus the map's
# depth in mm), mapRow (the frame), maps (all depth maps), eye, keyWay, texel (mm of a map's pixel), finish,
# glow (x, y and half width of the paper's bright spot in pixels).
DECLARE = f"""//VTK::TCoord::Dec
const int LIGHTS = {LIGHTS}, KEYS = {KEYS};
const float MAP = {MAP};
""" + """
in vec3 place;
in vec3 facing;

float arrives(int k, vec4 p, vec2 spread) {  // a map's rim is empty: outside it all light arrives
  vec3 m = vec3(dot(lights[k][0], p), dot(lights[k][1], p), dot(lights[k][2], p));
  vec2 at = vec2(k, mapRow) + clamp(m.xy + spread, 0.0005, 0.9995);
  return step(min(m.z, 1.0), texelFetch(maps, ivec2(at * MAP), 0).r + 0.0006);
}
vec2 scatter(float width) {  // blurs the steps between the lights, differently at each pixel, in each frame
  float grain = fract(52.9829189 * fract(dot(gl_FragCoord.xy, vec2(0.06711056, 0.00583715)))
                      + 0.618034 * float(mapRow));
  return (vec2(grain, fract(7.31 * grain)) - 0.5) * width;
}
vec3 room(vec3 way) {  // what a mirror would see: a pale floor, a grey room, a wide lamp
  vec3 tone = mix(vec3(0.30, 0.28, 0.26), vec3(0.62, 0.63, 0.66), smoothstep(-0.35, 0.25, way.z));
  return tone + vec3(1.2, 1.16, 1.1) * smoothstep(0.80, 0.93, dot(way, keyWay));
}
vec4 paper(float share) {  // brightest behind the subject
  float far = smoothstep(0.1, 1.5, length((gl_FragCoord.xy - glow.xy) / glow.z));
  return vec4(sqrt(mix(vec3(0.98, 0.95, 0.91), vec3(0.47, 0.445, 0.42), far) * (0.04 + 0.46 * share)), 1.0);
}
"""

THING = """
vec3 N = normalize(facing), away = normalize(eye - place);
vec4 p = vec4(place + N * texel, 1.0);
vec2 spread = scatter(0.004);
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
if (finish.w < 0.0) tone = 2.0 * own;
gl_FragData[0] = vec4(sqrt(clamp(tone * 0.5, 0.0, 1.0)), opacity);
"""

TABLE = """
vec4 p = vec4(place + vec3(0.0, 0.0, texel), 1.0);
vec2 spread = scatter(0.007);
float lit = 0.0, all = 0.0;
for (int k = 0; k < LIGHTS; k++) {
  float sent = lights[k][2].z * lights[k][3].w * lights[k][3].g;
  all += sent;
  lit += sent * arrives(k, p, spread);
}
gl_FragData[0] = paper(lit / all);
"""

WALL = "gl_FragData[0] = paper(1.0);"


def shifts(frames: int = FRAMES) -> np.ndarray:
    """Where in its pixel each frame looks, (frames, 2) in half pixels, spread evenly over the pixel."""
    steps = np.array([0.7548776662, 0.5698402910])  # powers of the root of x^3 + x^2 = 1
    return 2 * ((0.5 + np.arange(frames)[:, None] * steps) % 1) - 1


def lamps(seen: View, frames: int = FRAMES) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Directions towards the lights (frames * LIGHTS, 3), their colours, and the key light's direction.

    The key light hangs above the camera's left shoulder. KEYS lights of each frame stand in a disc round it,
    the others spread evenly over the sky.
    """
    right = seen.axes[0]
    key = unit(-0.50 * right - 0.90 * np.cross([0, 0, 1.0], right) + [0, 0, 1.2])
    from_key = np.arange(frames * LIGHTS) % LIGHTS < KEYS
    across = unit(np.cross(key, [0.3, 0.4, 1]))
    near, sky = np.count_nonzero(from_key), np.count_nonzero(~from_key)
    disc = 0.20 * np.sqrt((np.arange(near)[:, None] + 0.5) / near) * _sunflower(near)
    height = 0.03 + 0.96 * (np.arange(sky)[:, None] + 0.5) / sky
    way, colour = np.empty((frames * LIGHTS, 3)), np.empty((frames * LIGHTS, 3))
    way[from_key] = unit(key + disc @ np.array([across, np.cross(key, across)]))
    way[~from_key] = np.hstack([np.sqrt(1 - height**2) * _sunflower(sky), height])
    colour[from_key] = np.array([0.92, 0.88, 0.83]) / near
    colour[~from_key] = np.array([1.12, 1.19, 1.25]) / sky
    return way, colour, key


def _sunflower(count: int) -> np.ndarray:
    """Unit vectors in the plane, each turned from the last by the golden angle."""
    turn = np.arange(count) * np.pi * (3 - np.sqrt(5))
    return np.column_stack([np.cos(turn), np.sin(turn)])


def unit(vector: np.ndarray) -> np.ndarray:
    """The vectors along the last axis at length 1."""
    return vector / np.linalg.norm(vector, axis=-1, keepdims=True)


def map_rows(props: Sequence[Prop], way: np.ndarray) -> np.ndarray:
    """For each light the (3, 4) rows that turn scene axes into its map's u, v and depth, each 0..1."""
    boxes = [box(p) for p in props]
    framed = np.vstack([corners for corners, p in zip(boxes, props) if p.in_frame] or boxes)
    return np.array([_fit(framed, np.vstack(boxes), w) for w in way])


def _fit(framed: np.ndarray, points: np.ndarray, way: np.ndarray) -> np.ndarray:
    """One light's rows: turned along the framed bodies, a little wider than they, as deep as all points."""
    flat = framed[:, :2] - framed[:, :2].mean(axis=0)
    along = np.append(np.linalg.eigh(flat.T @ flat)[1][:, -1], 0)
    up = unit(np.cross(way, along))
    basis = np.array([np.cross(up, way), up, -way])
    at, deep = framed @ basis.T, points @ basis[2]
    low, high = at.min(axis=0), at.max(axis=0)
    low[2], high[2] = deep.min(), deep.max()
    pad = np.array([0.12, 0.12, 0.01]) * (high - low) + 1.0
    return np.column_stack([basis, pad - low]) / (high - low + 2 * pad)[:, None]


def box(prop: Prop) -> np.ndarray:
    """The eight corners (8, 3) of a body's box in scene axes."""
    points = prop.placed()
    return np.stack(np.meshgrid(*zip(points.min(axis=0), points.max(axis=0))), -1).reshape(8, 3)


def coarse(props: Sequence[Prop]) -> tuple[np.ndarray, np.ndarray]:
    """All bodies as one mesh for the maps: corners gathered on a grid as fine as a map, so fewer faces."""
    points = np.vstack([p.placed() for p in props])
    starts = np.cumsum([0] + [len(p.vertices) for p in props])
    faces = np.vstack([np.asarray(p.faces) + s for p, s in zip(props, starts)])
    framed = np.vstack([p.placed() for p in props if p.in_frame] or [points])
    cell = np.ptp(framed, axis=0).max() / MAP
    body = np.repeat(np.arange(len(props)), np.diff(starts))  # corners of two bodies never become one
    key = np.column_stack([np.round(points / cell), body]).astype(np.int64)
    _, first, group = np.unique(key, axis=0, return_index=True, return_inverse=True)
    a, b, c = group.ravel()[faces].T
    keep = (a != b) & (b != c) & (c != a)
    return points[first], np.column_stack([a, b, c])[keep]


def developed(light: np.ndarray) -> np.ndarray:
    """Linear light 0..2 as sRGB bytes, bright tones rolled off instead of cut.

    Source of the transfer curve: IEC 61966-2-1 (from memory).
    """
    level = np.linspace(0, 2, 4096)
    soft = level * (1 + level / 9) / (1 + level * 0.35)
    srgb = np.where(soft <= 0.0031308, 12.92 * soft, 1.055 * np.maximum(soft, 1e-6) ** (1 / 2.4) - 0.055)
    return np.clip(255 * srgb + 0.5, 0, 255).astype(np.uint8)[(light * 2047.5).astype(np.uint16)]
