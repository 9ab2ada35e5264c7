"""A wagon from the side, from behind and from above, with its dimensions: all of it as the plan has it, no CAD kernel.

The views are folded as ISO 5456-2 has it for the first angle (from memory): from above below the side, from behind to
its right.
"""

from collections.abc import Iterator
from typing import TYPE_CHECKING

from msgspec import Struct

from partgen.describe.track_tables import Track
from partgen.paper.sizes import Sizes
from partgen.plan.deck.seats import Seat
from partgen.plan.wagon import WagonPlan
from partgen.report.sheet import cut
from partgen.report.sheets.dimension import (
    SIDES,
    Callout,
    Dimension,
    Stood,
    around,
    draw,
    draw_callouts,
    edges,
    figure,
    stood,
)
from partgen.report.sheets.drafting import MIDDLE, Box, Format, View, formats, letters
from partgen.report.sheets.wagon_views import VIEWS

if TYPE_CHECKING:
    from matplotlib.axes import Axes

NAME = 5.5              # mm of paper over a view for its name
GAP = 5.0               # mm of paper between two views
NAMES = {"side": "from the right", "end": "from behind", "top": "from above"}


class Sized(Struct, frozen=True):
    """A view's dimensions and callouts, and the outline of what is drawn in it [the thing's mm]."""

    outline: Box
    dimensions: tuple[Dimension, ...]
    callouts: tuple[Callout, ...] = ()

    def rows(self, scale: float) -> dict[str, tuple[Stood, ...]]:
        """Return by side where its dimensions stand."""
        return {side: stood([one for one in self.dimensions if one.side == side], scale) for side in SIDES}


def draw_wagon(axes: "Axes", form: Format, plan: WagonPlan, sizes: Sizes, track: Track) -> None:
    """Draw the three views on a sheet of that format."""
    views, places = sized(plan, sizes, track), _places(sized(plan, sizes, track), form)
    assert places is not None, "the format was chosen so"
    for name, one in views.items():
        view = View(axes, places[name], form.scale, name)
        VIEWS[name](view, plan, track)
        rows = one.rows(form.scale)
        for side, edge in edges(rows, one.outline, form.scale).items():
            draw(view, rows[side], side, edge)
            draw_callouts(view, [callout for callout in one.callouts if callout.side == side], edge)
        top = around(rows, one.callouts, one.outline, form.scale)[3]
        letters(axes, (view.at[0] + one.outline[0] * form.scale, view.at[1] + top + 3.0), NAMES[name], MIDDLE)


def format_for(plan: WagonPlan, sizes: Sizes, track: Track) -> Format:
    """Return the paper and the scale for a wagon's views."""
    views = sized(plan, sizes, track)
    return next(form for form in formats() if _places(views, form))


def _places(views: dict[str, Sized], form: Format) -> dict[str, tuple[float, float]] | None:
    """Return where on the paper each view's origin stands, None where they have no room."""
    reach = {name: around(one.rows(form.scale), one.callouts, one.outline, form.scale) for name, one in views.items()}
    side, end, top = reach["side"], reach["end"], reach["top"]
    left, right = min(side[0], top[0]), max(side[2], top[2])
    wide, beside = right - left, end[2] - end[0]
    above, below = max(side[3], end[3]) + NAME, min(side[1], end[1])
    high, under = above - below, top[3] - top[1] + NAME
    x0, y0, x1, y1 = form.areas[0]
    corner = form.areas[1]
    if wide + GAP + beside > x1 - x0:
        return None
    # The title block has the corner that folded views leave free.
    if high + GAP + under <= y1 - y0:
        low = y0
    elif high + GAP + under <= corner[3] - corner[1] and top[2] - left <= corner[2] - corner[0] and high <= y1 - y0:
        low = corner[1]
    else:
        return None
    spare = y1 - low - high - under - GAP
    loose = x1 - x0 - wide - GAP - beside
    if low != y0:
        loose = min(loose, 3 * (corner[2] - corner[0] - top[2] + left))
    x, y = x0 + loose / 3 - left, y1 - spare / 3 - above
    return {"side": (x, y), "end": (x + right + GAP + loose / 3 - end[0], y),
            "top": (x, y + below - GAP - spare / 3 - NAME - top[3])}


# ---- what is dimensioned


def sized(plan: WagonPlan, sizes: Sizes, track: Track) -> dict[str, Sized]:
    """Return by view what it is dimensioned with."""
    far, flange = plan.over_couplers / 2, -plan.wheelset.flange_depth
    low = min([flange, plan.coupling.lowest, *(one.bottom for one in plan.hung)])
    wide = max(abs(y) for one in plan.outlines for _, y in one.points)
    rail = track.gauge / 2 + track.rail_head
    long = max(far, *(abs(x) for one in plan.outlines for x, _ in one.points))
    return {"side": Sized((-long, low, long, sizes.high_with_cups), (*_lengths(plan), *_heights(plan, sizes))),
            "end": Sized((-max(wide, rail), -track.rail_height, max(wide, rail), sizes.high_with_cups),
                         tuple(_across(plan, track))),
            "top": Sized((-long, -wide, long, wide), tuple(_from_above(plan)), tuple(_callouts(plan)))}


def _lengths(plan: WagonPlan) -> Iterator[Dimension]:
    half, axle, end = plan.base / 2, plan.gear.axle_z - plan.wheelset.flange_diameter / 2, plan.body.bottom
    words = plan.gear.base_name.replace("_", " ")
    foot = axle if plan.base == plan.gear.axles[0] - plan.gear.axles[-1] else plan.gear.axle_z
    yield Dimension(words, plan.base, "below", (-half, half), (foot, foot))
    if plan.gear.bogie_wheelbase:
        yield Dimension("wheelbase", plan.gear.bogie_wheelbase, "below", (plan.gear.axles[1], plan.gear.axles[0]),
                        (axle, axle))
    yield Dimension("overhang", plan.overhang, "below", (-plan.length / 2, -half), (end, foot))
    yield Dimension("body", plan.length, "below", (-plan.length / 2, plan.length / 2), (end, end))
    far, drawbar = plan.over_couplers / 2, plan.coupling.height - plan.coupling.front.thickness / 2
    yield Dimension("over couplers", plan.over_couplers, "below", (-far, far), (drawbar, drawbar))


def _heights(plan: WagonPlan, sizes: Sizes) -> Iterator[Dimension]:
    """Yield heights over rail top: on the right each once, coupler first; on the left what is below the body."""
    foot = -plan.length / 2
    yield Dimension("under body", plan.body.bottom, "left", (0.0, plan.body.bottom), (foot, foot))
    for one in plan.hung:
        yield Dimension("sensor", one.face, "left", (0.0, one.face), (foot, one.way.x - one.tray.half_x))
    found = {"coupler": (plan.coupling.height, plan.over_couplers / 2)}
    if plan.cups:
        found["deck"] = (plan.deck_z, (plan.lid or plan.body).length / 2)
    for word, high in (("over rail", sizes.high), ("with cups", sizes.high_with_cups)):
        if all(abs(high - other) > 0.05 for other, _ in found.values()):
            found[word] = high, max(x for one in plan.outlines if one.high == high for x, _ in one.points)
    for word, (high, along) in found.items():
        yield Dimension(word, high, "right", (0.0, high), (plan.over_couplers / 2, along))


def _across(plan: WagonPlan, track: Track) -> Iterator[Dimension]:
    wheels, gauge, back = plan.wheelset, track.gauge / 2, plan.wheelset.back_to_back / 2
    low = -wheels.flange_depth
    yield Dimension("back to back", wheels.back_to_back, "below", (-back, back), (low, low))
    yield Dimension("gauge", track.gauge, "below", (-gauge, gauge), (-track.rail_height, -track.rail_height))
    yield Dimension("tread", wheels.tread_diameter, "left", (0.0, wheels.tread_diameter),
                    (-gauge - track.rail_head, -back - wheels.width), "⌀")
    lowest, aside = _lowest(plan)
    yield Dimension("lowest over rail" if lowest >= 0 else "lowest under rail", abs(lowest), "right", (0.0, lowest),
                    (gauge + track.rail_head, aside))
    yield Dimension("body", plan.width, "below", (-plan.width / 2, plan.width / 2),
                    (plan.body.bottom, plan.body.bottom))


def _lowest(plan: WagonPlan) -> tuple[float, float]:
    """Return how high over rail top the lowest hangs between the wheels, and how far it reaches to the right [mm]."""
    pivot = plan.frame.seats[0].spigot / 2
    return min(*((low, plan.gear.carrier_width / 2 if name == "axle clip" else pivot) for low, name in plan.hanging),
               *((one.bottom, one.tray.half_y) for one in plan.hung))


def _from_above(plan: WagonPlan) -> Iterator[Dimension]:
    """Yield where seats stand from the wagon's middle, each distance once, and the coupler's own lengths."""
    side, pivot = -plan.width / 2, plan.frame.seats[0].x
    places = {round(abs(seat.x), 2): seat for seat, _ in sorted(plan.cups, key=lambda both: both[0].x) if seat.x}
    for far, seat in places.items():
        if far > 0.05:
            yield Dimension("seat", abs(seat.x), "below", (0.0, seat.x), (side, seat.y))
    aside = {round(abs(seat.y), 2): seat for seat, _ in plan.cups}
    for far, seat in aside.items():
        if far > 0.05:
            yield Dimension("seat", abs(seat.y), "left", (0.0, seat.y), (-plan.length / 2, seat.x))
    if plan.lid:
        half, side = plan.lid.length / 2, -plan.lid.width / 2
        yield Dimension("lid", plan.lid.length, "below", (-half, half), (side, side))
        yield Dimension("lid", plan.lid.width, "left", (side, -side), (-half, -half))
    yield Dimension("drawbar", plan.coupling.front.reach, "below", (pivot, plan.over_couplers / 2),
                    (0.0, -plan.coupling.front.head_width / 2))


def _callouts(plan: WagonPlan) -> Iterator[Callout]:
    """Yield words on each kind of seat, and on the magnets."""
    kinds: dict[str, list[Seat]] = {}
    led: set[float] = set()
    called = {seat.cup: cup.label for seat, cup in plan.cups}
    for seat, _ in plan.cups:
        kinds.setdefault(seat.cup, []).append(seat)
    for name, seats in kinds.items():
        seat = min(seats, key=lambda one: (one.x in led, -one.y, one.x))
        yield Callout(f"{_times(len(seats))}seat for {cut(called[name], 20)}: ⌀{figure(seat.profile[-1][1])} inside, "
                      f"⌀{figure(seat.outer_diameter)} outside", "above",
                      (seat.x, seat.y + seat.profile[-1][1] / 2))
        led.add(seat.x)
    magnet, pockets = plan.coupler, plan.coupling.front.pockets
    yield Callout(f"{_times(len(pockets))}magnet ⌀{magnet.magnet_diameter:g} × {magnet.magnet_length:g}", "above",
                   (_magnet(plan), max(pockets)))


def _times(count: int) -> str:
    return f"{count} × " if count > 1 else ""


def _magnet(plan: WagonPlan) -> float:
    """Return the x of the front magnets' middle [mm]."""
    bar = plan.coupling.front
    return plan.frame.seats[0].x + bar.reach - bar.skin - plan.coupler.magnet_length / 2
