"""The train on its plan: every piece of track numbered in the order of the file, stops, markers, start and direction.

Pieces count from 1 as findings name them; one that lies several times in a row has a number each time.
"""

from collections.abc import Iterable, Iterator, Sequence
from math import cos, degrees, radians
from typing import TYPE_CHECKING, Any

import numpy as np
from msgspec import Struct

from partgen.describe.track_tables import Track
from partgen.dynamics.at_grade import crossed
from partgen.dynamics.markers import Marker, places_of
from partgen.dynamics.survey import beside as second_track
from partgen.dynamics.survey import path_of
from partgen.finding import counted
from partgen.motion.path import Path as Line
from partgen.motion.path import TrackPiece
from partgen.plan.train import TrainPlan
from partgen.report import along
from partgen.report.sheet import INK, cut
from partgen.report.sheets.drafting import (
    LINES,
    MIDDLE,
    SMALL,
    Box,
    Format,
    breadth,
    formats,
    letters,
    strokes,
)
from partgen.report.sheets.placing import Found, Room, Wish

if TYPE_CHECKING:
    from matplotlib.axes import Axes

NOTE = 17.0             # mm kept free beside the title block for what is said there
BESIDE = 16.0           # mm of paper kept round the plan for what is written beside it
LEADING = 0.9           # mm between a number and the figures below it
START = 14.0            # mm of paper: the arrow that tells the way
TICK = 1.2              # mm: a tick beyond the rails; a stop's bar is twice as long
ROOM = 1.2              # mm from the track to what is written beside it
SOLID: dict[str, Any] = {"facecolor": INK, "edgecolor": "none"}


class Label(Struct, frozen=True):
    """What is written beside the plan: lines of (text, height [mm], weight), and what room it wishes."""

    lines: tuple[tuple[str, float, str], ...]
    wish: Wish


class LaidOut(Struct, frozen=True):
    """A plan on a sheet: its format, the quarter turns it is drawn with, where the paper has its origin, every label
    with the place found for it, and how many have found none for all their words."""

    form: Format
    turn: int
    at: tuple[float, float]
    labels: tuple[tuple[Label, Found], ...]
    missing: int

    @property
    def way(self) -> complex:
        """What turns a point of the track to the sheet, and brings it to scale."""
        return self.form.scale * 1j**self.turn

    def paper(self, points: np.ndarray | complex) -> np.ndarray:
        """Return where on the paper points of the track lie, complex [mm]."""
        return np.asarray(points) * self.way + complex(*self.at)


def laid_out(train: TrainPlan, markers: Sequence[Marker]) -> LaidOut:
    """Return how the plan stands on a sheet: on the smaller paper, unless more of what belongs beside it finds room on
    the larger one."""
    whole = _whole(train)
    first: dict[str, LaidOut] = {}
    for form in formats(least=np.inf):
        stood = None if form.paper in first else _stood(whole, form)
        if stood:
            first[form.paper] = _labelled(train, markers, form, *stood)
            if not first[form.paper].missing or len(first) > 1:
                break
    return min(first.values(), key=lambda one: (one.missing, one.form.paper != "A4"))


def _whole(train: TrainPlan) -> np.ndarray:
    """Return points round all that is drawn of a plan."""
    track = train.description.track
    line = path_of(track)
    marks = along.marks(0.0, line.length)
    out = track.gauge / 2 + track.rail_head
    edges = [along.beside(line, marks, side * out) for side in (1, -1)]
    edges += [along.obstacle(line, thing) for thing in track.obstacle]
    edges += [rail for both in along.other_way(track, line) for rail in both]
    edges += list(along.standing(train, line, _front(train)))
    if track.spacing is not None:
        second = second_track(track)
        edges.append(along.beside(second, along.marks(0.0, second.length), 0.0))
    return np.concatenate(edges)


def _front(train: TrainPlan) -> float:
    """Return the station of the locomotive's front [mm] as the train is drawn: at the first stop, else where its end is
    on the plan."""
    stops = train.description.track.stop
    return min(one.station for one in stops) if stops else places_of(train)[-1]


def _stood(whole: np.ndarray, form: Format) -> tuple[int, tuple[float, float], Box] | None:
    """Return quarter turns, the origin's place and the area of a plan of that format; None where it has no room."""
    above, (west, south, east, north) = form.areas
    for left, low, right, high in (above, (west, south + NOTE, east, north)):
        for turn in (0, 1):
            points = whole * form.scale * 1j**turn
            corner = complex(points.real.min(), points.imag.min())
            size = complex(points.real.max(), points.imag.max()) - corner
            if size.real <= right - left - 2 * BESIDE and size.imag <= high - low - 2 * BESIDE:
                at = complex((left + right - size.real) / 2, (low + high - size.imag) / 2) - corner
                return turn, (at.real, at.imag), (left, low, right, high)
    return None


# ---- what is written


def _labelled(train: TrainPlan, markers: Sequence[Marker], form: Format, turn: int, at: tuple[float, float],
              area: Box) -> LaidOut:
    """Find room for stops, then for every piece, then for the rest."""
    track = train.description.track
    line, bare = path_of(track), LaidOut(form, turn, at, (), 0)
    room = Room(area, form.size)
    room.take_points(bare.paper(_taken(train, line, form.scale)))
    found, missing = [], 0
    for label in (*_stops(bare, track, line), *_pieces(bare, track, line), *_things(bare, track, line, markers)):
        place = room.place(label.wish)
        if place is None and len(label.lines) > 1:
            missing += 1
            label = _label(label.lines[:1], label.wish.place, label.wish.off, label.wish.way)
            place = room.place(label.wish)
        elif place is None:
            missing += 1
        if place:
            found.append((label, place))
    return LaidOut(form, turn, at, tuple(found), missing)


def _taken(train: TrainPlan, line: Line, scale: float) -> np.ndarray:
    """Return points so near to each other that none of a sheet's cells between them stays free: of track, train, the
    arrow at the start, what stands beside and the second track."""
    track, step = train.description.track, 0.4 / scale
    edge = max(track.gauge / 2 + track.rail_head, step)
    across = np.linspace(-edge, edge, int(2 * edge / step) + 2)
    marks = np.arange(0.0, line.length + step, step)
    found = [along.beside(line, marks[:, None], across[None, :]).ravel()]
    arrow = np.linspace(0.0, (START + 2.0) / scale, 60)
    found.append((along.beside(line, arrow, _aside(track, scale))[:, None]
                  + np.linspace(-1.0, 1.0, 6)[None, :] * 1j / scale).ravel())
    found += [_within((a[0], a[1], b[1], b[0]), step) for a, b in along.other_way(track, line)]
    found += [_within(corners, step) for corners in along.standing(train, line, _front(train))]
    for outline in (along.obstacle(line, one) for one in track.obstacle):
        near, far = outline[:len(outline) // 2], outline[:len(outline) // 2 - 1:-1]
        found += [_within((a, b, c, d), step) for a, b, c, d in zip(near, near[1:], far[1:], far, strict=False)]
    for station, out in _bars(track, line, scale):
        found.append(along.beside(line, station, np.arange(-out, out + step, step)))
    if track.spacing is not None:
        second = second_track(track)
        found.append(along.beside(second, np.arange(0.0, second.length, step), 0.0))
    return np.concatenate(found)


def _within(corners: Iterable[complex], step: float) -> np.ndarray:
    """Return points all over a quadrangle, none farther than a step from the next."""
    a, b, c, d = corners
    along_it, across = (np.linspace(0.0, 1.0, int(abs(side) / step) + 2) for side in (b - a, d - a))
    u, v = along_it[:, None], across[None, :]
    return np.asarray((1 - v) * ((1 - u) * a + u * b) + v * ((1 - u) * d + u * c)).ravel()


def _bars(track: Track, line: Line, scale: float) -> Iterator[tuple[float, float]]:
    """Yield station and reach to either side [mm of the track] of the ticks at the pieces' ends, then of the bars at
    stops."""
    half = track.gauge / 2
    yield from ((float(end), half + TICK / scale) for end in (line.bounds[:-1] if line.closed else line.bounds))
    yield from ((one.station, half + 2 * TICK / scale) for one in track.stop)


def _aside(track: Track, scale: float) -> float:
    """Return how far to the right of the track [mm of it] the arrow runs that tells the way."""
    return -(track.gauge / 2 + track.rail_head + 2.2 / scale)


def _label(lines: Sequence[tuple[str, float, str]], place: complex, off: float, way: complex) -> Label:
    wide = max(breadth(*line) for line in lines)
    high = sum(height * 1.25 for _, height, _ in lines) + LEADING * (len(lines) - 1)
    return Label(tuple(lines), Wish((wide, high), place, off, way))


def _beside(plan: LaidOut, track: Track, line: Line, station: float, outward: float) -> tuple[complex, float, complex]:
    """Return for a label at a station its place on the paper, how far off it stands, and which way: left where
    `outward` is above 0."""
    point, ahead = line.frame(station)
    way = complex(ahead) * 1j * plan.way / abs(plan.way)
    off = max((track.gauge / 2 + track.rail_head) * plan.form.scale, track.gauge / 2 * plan.form.scale + TICK) + ROOM
    return complex(plan.paper(complex(point))), off, way if outward > 0 else -way


def _stops(plan: LaidOut, track: Track, line: Line) -> Iterator[Label]:
    """Yield labels of the start and all stops."""
    yield _label((("start", SMALL, "normal"),), *_beside(plan, track, line, 0.0, 1.0))
    for stop in track.stop:
        lines = (cut(stop.name, 28), MIDDLE, "bold"), (f"stop at {stop.station:g}", SMALL, "normal")
        place, off, way = _beside(plan, track, line, stop.station, 1.0)
        yield _label(lines, place, off + TICK, way)


def _pieces(plan: LaidOut, track: Track, line: Line) -> Iterator[Label]:
    """Yield the label of every piece: its number, and its length or its radius and angle; outside a curve. A crossing
    is named once, between its ways, with its angle and the numbers of both passages."""
    crossings = {int(line.piece_at(one.station)): one for one in crossed(track)}
    for place, (piece, start) in enumerate(zip(line.pieces, line.bounds, strict=False)):
        middle, outward = float(start) + piece.length / 2, -1.0 if piece.curvature > 0 else 1.0
        at, off, way = _beside(plan, track, line, middle, outward)
        number, told = str(place + 1), figures(piece)
        if one := crossings.get(place):
            if one.other is not None and one.other < one.station:
                continue
            again = "" if one.other is None else f", {int(line.piece_at(one.other)) + 1}"
            number, told = number + again, f"crossing {one.angle:g}° {told}"
            way, off = along.between_ways(line, one) * plan.way / abs(plan.way), off / cos(radians(one.angle / 2))
        yield _label(((number, MIDDLE, "bold"), (told, SMALL, "normal")), at, off, way)


def figures(piece: TrackPiece) -> str:
    """Return what is told of a piece: its length [mm], or the radius [mm] and the angle [deg] of a curve."""
    if not piece.curvature:
        return f"{piece.length:.6g}"
    return f"R{1 / abs(piece.curvature):.6g} {degrees(piece.length * abs(piece.curvature)):.6g}°"


def _things(plan: LaidOut, track: Track, line: Line, markers: Sequence[Marker]) -> Iterator[Label]:
    """Yield labels of markers and of what stands beside the track."""
    for marker in markers:
        lines = (("marker", SMALL, "normal"),)
        yield _label(lines, *_beside(plan, track, line, marker.begins + marker.length / 2, -1.0))
    for thing in track.obstacle:
        outline = plan.paper(along.obstacle(line, thing))
        _, _, way = _beside(plan, track, line, thing.station, 1.0 if thing.side == "left" else -1.0)
        middle = complex(outline[len(outline) * 3 // 4])
        yield _label(((cut(thing.name, 28), SMALL, "normal"),), middle, ROOM, way)


# ---- drawn


def draw_plan(axes: "Axes", plan: LaidOut, train: TrainPlan, markers: Sequence[Marker]) -> None:
    """Draw the plan on a sheet of its format."""
    from matplotlib.transforms import Affine2D
    track = train.description.track
    line = path_of(track)
    frame: dict[str, Any] = {"transform": Affine2D().rotate_deg(90.0 * plan.turn).scale(plan.form.scale).translate(
        *plan.at) + axes.transData}
    marks = along.marks(0.0, line.length)
    for name, side in (("left rail", 1.0), ("right rail", -1.0)):
        along.stroke(axes, along.beside(line, marks, side * track.gauge / 2), color=INK, gid=name, zorder=3,
                     **LINES["outline"] | {"linewidth": 1.0}, **frame)
    for rail in (rail for both in along.other_way(track, line) for rail in both):
        along.stroke(axes, rail, color=INK, gid="other way", zorder=3, **LINES["outline"] | {"linewidth": 1.0}, **frame)
    bars = [[along.at(plan.paper(point)) for point in along.beside(line, at, np.array([-out, out]))]
            for at, out in _bars(track, line, plan.form.scale)]
    stops = len(bars) - len(track.stop)
    strokes(axes, bars[:stops], "thin", gid="joints", over=3.5)
    strokes(axes, bars[stops:], "outline", gid="stops", linewidths=2.0, over=6.0)
    if track.spacing is not None:
        second = second_track(track)
        along.stroke(axes, along.beside(second, along.marks(0.0, second.length), 0.0), color=INK, zorder=2,
                     **LINES["beside"], **frame)
    for thing in track.obstacle:
        axes.fill(*_xy(along.obstacle(line, thing)), facecolor="none", edgecolor=INK, hatch="////", zorder=2.5,
                  **LINES["thin"], **frame)
    for number, corners in enumerate(along.standing(train, line, _front(train))):
        axes.fill(*_xy(corners), facecolor="#d9d9d9" if not number else "white", edgecolor=INK, zorder=4,
                  **LINES["thin"], **frame)
    for one in markers:
        stations = np.linspace(one.begins, one.begins + one.length, 6)
        edges = [along.beside(line, stations, side * track.gauge / 4) for side in (1, -1)]
        axes.fill(*_xy(plan.paper(np.concatenate([edges[0], edges[1][::-1]]))), zorder=4.5, gid="marker", **SOLID)
    _way(axes, plan, track, line)
    for label, found in plan.labels:
        _write(axes, label, found)


def _xy(points: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    return points.real, points.imag


def _way(axes: "Axes", plan: LaidOut, track: Track, line: Line) -> None:
    """Draw the start as a dot on the track, and beside it the arrow that tells the way."""
    scale = plan.form.scale
    axes.plot(*along.at(plan.paper(complex(line.frame(0.0)[0]))), "o", color=INK, markersize=4, zorder=6)
    stations = np.linspace(0.0, START / scale, 20)
    points = plan.paper(along.beside(line, stations, _aside(track, scale)))
    strokes(axes, [[along.at(point) for point in points]], "outline", gid="way")
    ahead = points[-1] - points[-2]
    ahead /= abs(ahead)
    tip = points[-1] + 3.0 * ahead
    axes.fill(*_xy(np.array([tip, points[-1] + 1j * ahead, points[-1] - 1j * ahead])), zorder=6, **SOLID)


def _write(axes: "Axes", label: Label, found: Found) -> None:
    """Write a label's lines one below the other, and draw its leader."""
    top = found.middle.imag + label.wish.size[1] / 2
    for text, height, weight in label.lines:
        letters(axes, (found.middle.real, top - height), text, height, weight=weight, ha="center")
        top -= height * 1.25 + LEADING
    if found.leader:
        strokes(axes, [[along.at(point) for point in found.leader]], "thin")


def note(plan: LaidOut, train: TrainPlan) -> str:
    """Return what is to be said beside a plan."""
    track, line = train.description.track, path_of(train.description.track)
    laid = "" if track.plan else "No plan is described: this one stands for it. "
    missing = f"Pieces and places without room here for all their words: {plan.missing}. " if plan.missing else ""
    again = sum(one.other is not None for one in crossed(track)) // 2
    twice = f"{counted(again, 'crossing')} run over twice, under two numbers, " if again else ""
    return (f"{laid}{len(line.pieces) - again} pieces, {twice}{line.length:.0f} mm along the centre line"
            f"{', closed' * line.closed}. Pieces are numbered in the order of the file, as checks name them. {missing}"
            "R: radius of the centre line. The train stands "
            f"{'at its first stop' if track.stop else 'where all of it is on the plan'}, its locomotive grey."
            + " Dashes and dots: the middle of the second track." * (track.spacing is not None))
