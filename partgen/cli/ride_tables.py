"""What `ride` says on a terminal, and as JSON."""

from collections.abc import Iterator
from typing import Any

from partgen.checks.hangs import hangs_on_defaults, mark
from partgen.cli.show import Piece, legend, line, table
from partgen.dynamics.ramps import SAID
from partgen.dynamics.ride import RidePlan
from partgen.finding import down, up
from partgen.paper.endurance import run_time

LONGEST = 28            # letters of a name in a table

Table = tuple[str, tuple[str, ...], list[tuple[str, ...]]]
"""Title, headings, rows; a heading that ends in "|" stands over words, any other over numbers."""


def show(ride: RidePlan) -> None:
    """Print the ride plan as one table a question."""
    line((ride.train.description.title, "bold"), f"  up to {down(ride.speed, 0)} mm/s, {ride.time:.1f} s for "
         f"{'a lap' if ride.lap else 'the line'} of {ride.path.length / 1000:.2f} m, waiting at stops not counted, "
         f"{run_time(ride)}")
    for title, headings, rows in _tables(ride):
        if rows:
            line()
            table(title, [(name.rstrip("|"), not name.endswith("|")) for name in headings], rows, gap=2)
    line()
    for piece in _notes(ride):
        line(piece)


def _tables(ride: RidePlan) -> Iterator[Table]:
    described = ride.train.description
    yield "speeds" + mark(described, "speeds"), (
        "radius mm", "run mm/s", "wagons to mm/s", "beyond|", "drinks to mm/s", "beyond|"), [
        (f"{curve.radius:.0f}", down(curve.speed, 0),
         down(curve.tip, 0) if curve.tips else "-", f"{curve.tips} {curve.tip_way}".strip(),
         down(curve.spill, 0) if curve.spills else "-", f"{described.called(curve.spills)} {curve.spill_way}".strip())
        for curve in ride.curves]
    yield "fill marks, from the rim down" + mark(described, "fills"), (
        "cup|", "described mm", "fullest mm", "climbs mm", "likely mm", "period s"), [
        (_short(cup.liquid.label), f"{cup.mark:.1f}", up(cup.highest_mark), f"{cup.climbs:.1f}", f"{cup.likely:.1f}",
         f"{cup.liquid.periods[0]:.3f}") for cup in ride.cups]
    if ride.sensor.wagon:
        yield "markers, along the plan" + mark(described, "markers"), (
            "stop|", "front at mm", "begins mm", "long mm", "seen at mm/s", "early mm"), [
            (_short(marker.stop), f"{marker.station:.0f}", f"{marker.begins:.0f}", f"{marker.length:g}",
             down(marker.speed, 0), f"{marker.early:.1f}") for marker in ride.markers]
    else:
        yield "where to brake, along the plan" + mark(described, "markers"), (
            "stop|", "front at mm", "brake at mm", "before it mm", "from mm/s"), [
            (_short(marker.stop), f"{marker.station:.0f}", f"{marker.begins:.0f}", f"{marker.ahead:.0f}",
             down(marker.speed, 0)) for marker in ride.markers]
    yield f"stopping from {down(ride.brakes_from, 0)} mm/s", (
        "cup|", "how|", "takes s", "climbs mm", "still swings mm", "on this floor|"), [
        (_short(swing.liquid.label), SAID[swing.kind], f"{swing.time:.2f}", f"{swing.climb:.2f}", f"{swing.left:.2f}",
         "spills" if swing.spills else "stays in")
        for swing in ride.swings]
    yield "speed round the plan", ("run|", "from mm", "to mm", "speed mm/s", "s"), [
        (_short(f"to {run.goal}") if not number else "", f"{leg.start:.0f}", f"{leg.end:.0f}",
         down(leg.before, 0) if leg.held else f"{down(leg.before, 0)} to {down(leg.after, 0)}", f"{leg.time:.2f}")
        for run in ride.runs for number, leg in enumerate(run.legs)]


def _short(name: str) -> str:
    """Cut a maker's long name, so that the figures beside it stay whole on a narrow terminal."""
    return name if len(name) <= LONGEST else name[:LONGEST - 1] + "…"


def _notes(ride: RidePlan) -> Iterator[Piece]:
    """Yield what the tables do not say."""
    fall = ride.ramps.fall
    phases = " and ".join(f"{phase:.3f}" for phase in fall.phases)
    shape = f"jerk phases of {phases} s" if phases else "even"
    yield f"stop ramp: {fall.time:.3f} s, {shape}; start ramp: {ride.ramps.rise.time:.3f} s"
    yield "track sensor: " + (
        f"on {ride.sensor.wagon}, {ride.sensor.behind:.0f} mm behind the locomotive's front" if ride.sensor.wagon else
        "none is described, so there are no markers: brake when the locomotive's front comes to these places")
    if any(curve.speed < ride.train.description.ride.speed for curve in ride.curves):
        yield "the plan slows down before curves; `check` holds the train to ride.speed everywhere", "yellow"
    assumed = dict.fromkeys(path for figure in ("speeds", "fills", "markers")
                            for path in hangs_on_defaults(ride.train.description, figure))
    if assumed:
        yield legend(assumed)
    for fault in ride.faults:
        yield fault, "bold red"


def record(ride: RidePlan) -> dict[str, Any]:
    """Return the ride plan as plain data; every key ends in its unit."""
    fall, rise = ride.ramps.fall, ride.ramps.rise
    return {
        "title": ride.train.description.title, "speed_mm_s": ride.speed, "time_s": ride.time,
        "length_mm": ride.path.length, "run_time_s": ride.endurance,
        "run_time_defaults": hangs_on_defaults(ride.train.description, "run_time"),
        "speed_defaults": hangs_on_defaults(ride.train.description, "speeds"),
        "fill_defaults": hangs_on_defaults(ride.train.description, "fills"),
        "marker_defaults": hangs_on_defaults(ride.train.description, "markers"), "faults": list(ride.faults),
        "curves": [{"radius_mm": c.radius, "speed_mm_s": c.speed,
                    "tip_mm_s": c.tip if c.tips else None, "tips": c.tips, "way": c.tip_way,
                    "spill_mm_s": c.spill if c.spills else None, "spills": c.spills,
                    "spill_way": c.spill_way} for c in ride.curves],
        "ramps": {name: {"time_s": one.time, "wished_s": one.wished, "phases_s": list(one.phases),
                         "times_s": list(one.times), "shares_1_s": list(one.shares)}
                  for name, one in (("stop", fall), ("start", rise))},
        "cups": [{"cup": c.liquid.name, "depth_mm": c.liquid.depth, "mark_mm": round(c.mark, 6), "level_mm": c.level,
                  "safe_depth_mm": c.safe, "highest_mark_mm": round(c.highest_mark, 6), "climbs_mm": c.climbs,
                  "likely_mm": c.likely, "period_s": float(c.liquid.periods[0])} for c in ride.cups],
        "stops": [{"cup": s.liquid.name, "kind": s.kind, "from_mm_s": ride.brakes_from, "time_s": s.time,
                   "climb_mm": s.climb, "left_mm": s.left, "steady_mm": s.steady,
                   "spills": s.spills} for s in ride.swings],
        "markers": [{"stop": m.stop, "station_mm": m.station, "begins_mm": m.begins, "length_mm": m.length,
                     "ahead_mm": m.ahead, "speed_mm_s": m.speed, "way_mm": m.way, "early_mm": m.early}
                    for m in ride.markers],
        "runs": [{"from": run.origin, "to": run.goal,
                  "legs": [{"from_mm": leg.start, "to_mm": leg.end, "before_mm_s": leg.before,
                            "after_mm_s": leg.after, "time_s": leg.time} for leg in run.legs]} for run in ride.runs],
    }
