"""The layout of a wagon's modules, from above and from the side: what goes where, and what keeps it apart."""

from collections.abc import Sequence
from pathlib import Path
from textwrap import wrap
from typing import TYPE_CHECKING, Any

from partgen.describe.cargo_tables import Module
from partgen.describe.printer_tables import Printer
from partgen.packing.box import FACES
from partgen.plan.body.layout import Cutout, Layout, Placed
from partgen.plan.body.lid import LidPlan
from partgen.plan.mass import centre, loads
from partgen.plan.wagon import WagonPlan
from partgen.report.sheet import GREEN, INK, MM, PAPER, POINT, RED, SERIF, inset, paragraph, save, sheet, words
from partgen.report.sheets.drafting import Box, Format, formats

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

WIDE, HEAD = 280.0, 14.0        # mm: the sheet, and its title and legend
LINE, LETTERS = 4.2, 165        # a line of the notes: mm, letters
LETTER = 1.7            # mm: a letter of the notes, about
FAINT = "#9a927f"
WALL, FLOOR = "#cdbf9f", "#f6efdf"
COLOURS = {"battery": "#d9a441", "warm": "#c9694f", "plain": "#7fa08c"}
PLUG, CUT, WIRE, SCREW, BLIND = "#b7c9be", "#2f6d9b", "#6d5a86", "#8a8375", "#e0d0ae"
WORDS = {"runs": "cables", "balance": "off balance"}
SIDES = {"front": (0, 1), "back": (0, -1), "left": (1, 1), "right": (1, -1)}        # axis, and which way along it
MOST_TYPE, LEAST_TYPE = 9.0, 5.0
MARK: dict[str, Any] = {"markerfacecolor": "none", "markeredgecolor": RED, "markeredgewidth": 1.4}     # hides no figure


def draw(plan: WagonPlan, printer: Printer, path: Path) -> None:
    """Draw where the modules of `plan` lie to a PNG or SVG, by the suffix of `path`; the bytes repeat."""
    y, scale = _notes_high(plan, LETTERS) + 4.0, WIDE / _extent(plan)[0]
    beside, above = (scale * high for high in _extent(plan)[1:])
    with sheet(WIDE, y + beside + above + HEAD) as (figure, paper):
        title = f"{plan.name}: where each module goes"
        words(paper, 4.0, paper.get_ylim()[1] - 9.0, title, 13, family=SERIF, weight="bold", color=GREEN)
        _legend(paper, (WIDE, paper.get_ylim()[1]))
        _notes(paper, plan, (4.0, y), LETTERS)
        _views(figure, plan, printer, scale, (0.0, y), (0.0, y + beside))
        save(figure, path)


def format_for(plan: WagonPlan) -> Format:
    """Return the paper and the scale for a layout's sheet."""
    return next(form for form in formats(1.0) if _areas(plan, form))


def draw_on(figure: "Figure", paper: "Axes", form: Format, plan: WagonPlan, printer: Printer) -> None:
    """Draw both views of where the modules of `plan` lie on a sheet of that format, side above, with legend and
    notes."""
    (left, low, right, high), (wide, beside, above) = _areas(plan, form) or form.areas[0], _extent(plan)
    corner, (edge, foot, *_) = form.areas[1], form.areas[1]
    _legend(paper, (right, high))
    letters_a_line = int((corner[2] - edge) / LETTER)
    _notes(paper, plan, (edge, foot + _notes_high(plan, letters_a_line)), letters_a_line)
    x, spare = (left + right - form.scale * wide) / 2, high - HEAD - low - form.scale * (beside + above)
    y = low + spare / 3
    _views(figure, plan, printer, form.scale, (x, y + form.scale * above + spare / 3), (x, y))


def _areas(plan: WagonPlan, form: Format) -> Box | None:
    """Return the area of a sheet for legend and views, over title block and notes; None where they have no room."""
    (left, low, right, high), beside = form.areas
    letters_a_line = int((beside[2] - beside[0]) / LETTER)
    low = max(low, beside[1] + _notes_high(plan, letters_a_line) + 2.0)
    wide, *tall = _extent(plan)
    fits = form.scale * wide <= right - left and form.scale * sum(tall) + HEAD <= high - low
    return (left, low, right, high) if fits else None


def _extent(plan: WagonPlan) -> tuple[float, float, float]:
    """Return how long both views are, and how high the one from the side and the one from above [the wagon's mm]."""
    (side, end), (right, left) = _spans(plan)
    return plan.length + 26.0, end - side, left - right


def _spans(plan: WagonPlan) -> tuple[tuple[float, float], tuple[float, float]]:
    """Return from where to where the views reach up the sheet: heights of the one, left and right of the other."""
    half, top = plan.width / 2, (plan.lid.top if plan.lid else plan.body.top) + 3.0
    return (-2.0, top), (-half - 15.0, half + 14.0)


def _views(figure: "Figure", plan: WagonPlan, printer: Printer, scale: float, *corners: tuple[float, float]) -> None:
    """Draw the views from the side and from above to a scale with their lower left corners there on the paper [mm]."""
    wide, *tall = _extent(plan)
    beside, above = (inset(figure, *corner, scale * wide, scale * high)
                     for corner, high in zip(corners, tall, strict=True))
    for view, span in zip((beside, above), _spans(plan), strict=True):
        view.set(xlim=(-wide / 2, wide / 2), ylim=span)
        view.set_axis_off()
    _from_above(above, plan)
    _from_beside(beside, plan)
    _balance(above, beside, plan, printer)


def _notes_high(plan: WagonPlan, letters_a_line: int) -> float:
    return LINE * sum(len(wrap(note, letters_a_line)) for note in _said(plan))


def _notes(paper: "Axes", plan: WagonPlan, at: tuple[float, float], letters_a_line: int) -> None:
    y = at[1]
    for note in _said(plan):
        y = paragraph(paper, at[0], y - 4.0, note, letters_a_line, 8.5) + 4.0


# ---- from above ------------------------------------------------------------------------------------------

def _from_above(axes: "Axes", plan: WagonPlan) -> None:
    inside = plan.body.inside
    _box(axes, plan.length, plan.width, plan.body.corner, facecolor=WALL, edgecolor=INK, linewidth=1.2, zorder=1)
    _box(axes, *inside[:2], plan.body.inner_corner, facecolor=FLOOR, edgecolor=FAINT, linewidth=0.6, zorder=2)
    for x in plan.gear.axles:
        axes.plot((x, x), (-plan.width / 2 - 7, plan.width / 2 + 7), color=FAINT, linewidth=0.9, dashes=(9, 3, 2, 3),
                  zorder=2)
        axes.annotate("axle", (x, plan.width / 2 + 7.5), ha="center", va="bottom", color=FAINT, fontsize=7)
    _keep_outs(axes, plan)
    for placed in sorted(plan.layout.placed, key=lambda placed: placed.z):
        _plugs(axes, placed)
        _module(axes, placed, placed.y, placed.width, low=3 if placed.on is None else 4)
    for cutout in plan.layout.cutouts:
        _cutout(axes, plan, cutout)
    for _, start, stop in plan.layout.cables:
        _wire(axes, start, stop)
    _sizes(axes, plan)


def _box(axes: "Axes", length: float, width: float, corner: float, **look: Any) -> None:
    from matplotlib.patches import FancyBboxPatch
    axes.add_patch(FancyBboxPatch((corner - length / 2, corner - width / 2), length - 2 * corner, width - 2 * corner,
                                  boxstyle=f"round,pad={corner}", **look))


def _rectangle(axes: "Axes", middle: Sequence[float], size: Sequence[float], **look: Any) -> None:
    from matplotlib.patches import Rectangle
    (x, y, *_), (length, width, *_) = middle, size
    axes.add_patch(Rectangle((x - length / 2, y - width / 2), length, width, **look))


def _keep_outs(axes: "Axes", plan: WagonPlan) -> None:
    """Draw where no boss may stand and, of what looks down, its lead's way with its name, and where it is blind."""
    from matplotlib.patches import Circle
    for x, y in plan.body.screws:
        axes.add_patch(Circle((x, y), plan.body.cone / 2, facecolor=PAPER, edgecolor=SCREW, linewidth=0.8,
                              zorder=2.5))
        axes.plot(((x - 1.2, x), (x + 1.2, x)), ((y, y - 1.2), (y, y + 1.2)), color=SCREW, linewidth=0.8, zorder=2.6)
    for lead in plan.layout.leads:
        _rectangle(axes, (lead.x, lead.y), (lead.length, lead.width), facecolor=PAPER, edgecolor=CUT, linewidth=1.2,
                   zorder=3)
        axes.annotate(f"{lead.name}\nbelow", (lead.x, lead.y), ha="center", va="center", color=INK, fontsize=LEAST_TYPE,
                      zorder=11, bbox={"facecolor": PAPER, "edgecolor": "none", "pad": 0.5})
    inside = plan.body.inside
    for zone in plan.layout.space.blind if plan.hung else ():
        ends = [min(max(at + zone.end * inside[0] / 2, -inside[0] / 2), inside[0] / 2) for at in zone.x]
        _rectangle(axes, (sum(ends) / 2, 0.0), (ends[1] - ends[0], inside[1]), facecolor="none", edgecolor=BLIND,
                   hatch="////", linewidth=0.0, zorder=2.2)


def _module(axes: "Axes", placed: Placed, y: float, high: float, low: float, named: bool = True) -> None:
    """Draw a module about the height `y` of the view, `low` in the order of what is drawn."""
    middle, size = (placed.x, y), (placed.length, high)
    _rectangle(axes, middle, size, facecolor=_colour(placed.module), edgecolor=INK, linewidth=0.9, zorder=low)
    if named:
        _named(axes, placed, middle, size)


def _colour(module: Module) -> str:
    return COLOURS["battery" if module.battery else "warm" if module.warm else "plain"]


def _named(axes: "Axes", placed: Placed, middle: Sequence[float], size: tuple[float, float]) -> None:
    """Write name, size and mass as large as they go into a rectangle, upright where that takes larger type, and
    no more of them than can be read."""
    from matplotlib.patheffects import withStroke
    module = placed.module
    low, high = axes.get_xlim()
    paper = axes.get_position().width * axes.figure.get_figure(root=True).get_size_inches()[0] / MM
    point = POINT * (high - low) / paper
    full = f"{placed.name}\n{module.length:g} x {module.width:g} x {module.height:g}\n{module.mass:g} g"
    for lines in (full, full.rsplit("\n", 1)[0], placed.name):
        count, longest = lines.count("\n") + 1, max(map(len, lines.split("\n")))
        level, upright = (min(long / (0.65 * longest * point), high / (1.35 * count * point))
                          for long, high in (size, size[::-1]))
        if max(level, upright) >= LEAST_TYPE + 1.0:
            break
    turned = upright > 1.3 * level
    # Large boxes are named above their middle, where no centre of gravity is marked.
    raised = 0.24 * size[1] if not turned and level > 2 * MOST_TYPE else 0.0
    halo = withStroke(linewidth=3.0, foreground=_colour(module))    # keeps lines that pass behind it off a word
    axes.annotate(lines, (middle[0], middle[1] + raised), ha="center", va="center", color=INK, zorder=11,
                  rotation=90 if turned else 0, path_effects=[halo],
                  fontsize=min(max(upright if turned else level, LEAST_TYPE), MOST_TYPE))


def _plugs(axes: "Axes", placed: Placed) -> None:
    """Draw the room that plugs and their cables take before a module's faces."""
    for face, room in zip(FACES[:4], placed.orientation.room, strict=False):
        if room and face not in placed.orientation.out:
            (axis, way), middle, size = SIDES[face], [placed.x, placed.y], [placed.length, placed.width]
            middle[axis] += way * (size[axis] + room) / 2
            size[axis] = room
            _rectangle(axes, middle, size, facecolor=PLUG, edgecolor=FAINT, hatch="....", linewidth=0.5, alpha=0.45,
                       zorder=2.8)


def _cutout(axes: "Axes", plan: WagonPlan, cutout: Cutout) -> None:
    """Draw an opening: in its wall, or dashed where it is in floor or lid."""
    if cutout.wall not in SIDES:
        _rectangle(axes, cutout.middle, cutout.size, facecolor="none", edgecolor=CUT, linewidth=1.4, linestyle="--",
                   zorder=9)
        return
    (axis, way), middle, size = SIDES[cutout.wall], list(cutout.middle[:2]), list(cutout.size[:2])
    middle[axis] = way * ((plan.length, plan.width)[axis] - plan.body.wall) / 2
    size[axis] = plan.body.wall + 0.6
    _rectangle(axes, middle, size, facecolor=CUT, edgecolor=CUT, zorder=9)


def _wire(axes: "Axes", start: Sequence[float], stop: Sequence[float]) -> None:
    """Draw a cable between two plugs, twice whose places are given."""
    from matplotlib.patches import FancyArrowPatch
    (x, y), (u, v) = start, stop
    axes.add_patch(FancyArrowPatch((x / 2, y / 2), (u / 2, v / 2), arrowstyle="-", linewidth=1.6, color=WIRE,
                                   connectionstyle="arc3,rad=0.18", shrinkA=0, shrinkB=0, alpha=0.75, zorder=8))


def _sizes(axes: "Axes", plan: WagonPlan) -> None:
    """Write length and width of body and inside beside it."""
    length, width, _ = plan.body.inside
    low, front = -plan.width / 2 - 9.5, plan.length / 2 + 6.0
    _dimension(axes, (-plan.length / 2, low), (plan.length / 2, low), f"{plan.length:.1f} mm, inside {length:.1f}")
    _dimension(axes, (front, -plan.width / 2), (front, plan.width / 2), f"{plan.width:.1f} mm, inside {width:.1f}")
    axes.annotate("front", (plan.length / 2 + 1.5, plan.width / 2 + 3.0), ha="left", va="bottom", color=FAINT,
                  fontsize=8)


def _dimension(axes: "Axes", start: tuple[float, float], end: tuple[float, float], text: str) -> None:
    """Draw a dimension line, its text below or, upright, to the right of it."""
    axes.annotate("", start, end, arrowprops={"arrowstyle": "<->", "color": INK, "linewidth": 0.8, "shrinkA": 0,
                                              "shrinkB": 0})
    x, y, upright = (start[0] + end[0]) / 2, (start[1] + end[1]) / 2, start[0] == end[0]
    look: dict[str, Any] = {"ha": "left", "va": "center", "rotation": 90} if upright else {"ha": "center", "va": "top"}
    axes.annotate(text, (x + 1.5, y) if upright else (x, y - 1.5), color=INK, fontsize=8, **look)


# ---- from the side ---------------------------------------------------------------------------------------

def _from_beside(axes: "Axes", plan: WagonPlan) -> None:
    """Draw floor, walls, lid and modules as seen from the right."""
    body, frame, floor = plan.body, plan.frame, plan.floor_z
    _upright(axes, 0.0, body.length, body.bottom, body.top, facecolor=WALL, edgecolor=INK, linewidth=1.2, zorder=1)
    _upright(axes, 0.0, body.inside[0], floor, body.top, facecolor=FLOOR, edgecolor="none", zorder=2)
    if plan.lid:
        _lid(axes, plan.lid)
    axes.axhline(0.0, color=FAINT, linewidth=1.4, zorder=0)
    axes.annotate("rail top", (-plan.length / 2 - 12.0, 0.6), va="bottom", ha="left", color=FAINT, fontsize=7)
    _upright(axes, 0.0, frame.length, frame.bottom, frame.top, facecolor=PAPER, edgecolor=FAINT, linewidth=0.8,
             zorder=0.8)
    _wheels(axes, plan)
    away = sorted(plan.layout.placed, key=lambda placed: placed.box[1][0], reverse=True)
    for k, placed in enumerate(away):
        hidden = any(_hides(nearer, placed) for nearer in away[k + 1:])
        _module(axes, placed, floor + placed.z + placed.height / 2, placed.height, low=4 + 0.1 * k, named=not hidden)
    front = plan.length / 2 + 6.0
    _dimension(axes, (front, body.bottom), (front, body.top), f"{body.top - body.bottom:.1f} mm")


def _upright(axes: "Axes", x: float, length: float, bottom: float, top: float, **look: Any) -> None:
    """Draw a rectangle about `x` between two heights."""
    _rectangle(axes, (x, (bottom + top) / 2), (length, top - bottom), **look)


def _lid(axes: "Axes", lid: LidPlan) -> None:
    _upright(axes, 0.0, lid.length, lid.bottom, lid.top, facecolor=WALL, edgecolor=INK, linewidth=1.0, zorder=3)
    _upright(axes, 0.0, lid.rim.length, lid.bottom - lid.rim.depth, lid.bottom, facecolor="none", edgecolor=FAINT,
             linewidth=0.7, linestyle=":", zorder=3)
    for one in (one for pane in lid.panes for one in pane.openings):
        _upright(axes, one.x, one.length, lid.bottom, lid.top, facecolor=PAPER, edgecolor=CUT, linewidth=1.2,
                 zorder=3.1)


def _hides(nearer: Placed, placed: Placed) -> bool:
    """Does a module that stands nearer to who looks from the right cover some of another?"""
    return all(start < end and begin < stop for (start, stop), (begin, end)
               in zip(nearer.box[::2], placed.box[::2], strict=True))


def _wheels(axes: "Axes", plan: WagonPlan) -> None:
    from matplotlib.patches import Circle
    for x in plan.gear.axles:
        axes.add_patch(Circle((x, plan.gear.axle_z), plan.wheelset.tread_diameter / 2, facecolor="none",
                              edgecolor=FAINT, linewidth=0.9, zorder=0.5))
        axes.plot(x, plan.gear.axle_z, ".", color=FAINT, markersize=4)


# ---- both ------------------------------------------------------------------------------------------------

def _balance(above: "Axes", beside: "Axes", plan: WagonPlan, printer: Printer) -> None:
    """Mark the centre of gravity: of the modules, and of the whole wagon without its load."""
    bare = [load for load in loads(plan, printer) if load.kind not in ("cup", "liquid")]
    for marker, parts in (("o", [load for load in bare if load.kind == "module"]), ("D", bare)):
        _, (x, y, z) = centre(parts)
        for axes, height in ((above, y), (beside, z)):
            axes.plot(x, height, marker, markersize=8, zorder=12, **MARK)


def _legend(axes: "Axes", corner: tuple[float, float]) -> None:
    """Draw what colours and signs mean, the upper right corner there [mm]."""
    from matplotlib.lines import Line2D
    from matplotlib.patches import Patch
    axes.legend(loc="upper right", bbox_to_anchor=corner, bbox_transform=axes.transData, ncols=5,
                frameon=False, fontsize=7.5, handlelength=1.4, handles=[
        Patch(facecolor=COLOURS["plain"], edgecolor=INK, label="module"),
        Patch(facecolor=COLOURS["warm"], edgecolor=INK, label="gets warm"),
        Patch(facecolor=COLOURS["battery"], edgecolor=INK, label="battery"),
        Patch(facecolor=PLUG, edgecolor=FAINT, hatch="....", alpha=0.6, label="plugs and cables"),
        Patch(facecolor=CUT, label="looks out"),
        Patch(facecolor=FLOOR, edgecolor=BLIND, hatch="////", label="no view of the track"),
        Line2D([], [], color=WIRE, linewidth=1.6, label="cable"),
        Line2D([], [], marker="o", linestyle="none", label="centre of gravity: modules", **MARK),
        Line2D([], [], marker="D", linestyle="none", label="wagon without load", **MARK)])


def _said(plan: WagonPlan) -> tuple[str, ...]:
    """Say how good the arrangement is proven to be, and how long its cables run."""
    if plan.layout.misfit:
        return (f"They do not fit: {plan.layout.misfit.reason}.",)
    open_ = [f"{WORDS.get(name, name)} {reached:.1f} mm, and none goes below {bound:.1f} mm"
             for name, reached, bound in plan.layout.unproven()]
    best = "Proven best: no shorter, then narrower, lower, better balanced, then shorter wired arrangement exists."
    lists = {"Cables, from plug face to plug face": _runs(plan.layout),
             "Not where they shall lie": [name for name, _ in plan.layout.elsewhere],
             "Below the deck, seen through its window": _depths(plan)}
    return (f"Best found: {'; '.join(open_)}." if open_ else best,
            *(f"{what}: {', '.join(found)}." for what, found in lists.items() if found))


def _runs(layout: Layout) -> list[str]:
    """Say how far each cable runs, and where there are several all together."""
    runs = [f"{one} to {other} {run:.0f} mm" for (one, other), run in zip(layout.wired, layout.runs, strict=True)]
    return [*runs, f"in all {sum(layout.runs):.0f} mm"] if len(runs) > 1 else runs


def _depths(plan: WagonPlan) -> list[str]:
    """Say how deep below the deck everything lies that looks up through the lid."""
    lid, up = plan.lid, [placed for placed in plan.layout.placed if "top" in placed.orientation.out]
    return [f"{placed.name} {lid.depth(placed, plan.floor_z):.1f} mm" for placed in up] if lid and lid.panes else []
