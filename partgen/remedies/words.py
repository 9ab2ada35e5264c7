"""A remedy in words: what to set, and what it costs."""

from collections import Counter
from collections.abc import Iterator
from typing import Any

from partgen.describe.edits import Edit, found
from partgen.describe.field import Table, extra
from partgen.describe.lines import line_of
from partgen.dynamics.markers import places_of
from partgen.finding import Costs, Remedy
from partgen.paper.sizes import sizes
from partgen.plan.train import TrainPlan
from partgen.remedies.levers import DERIVED, derived
from partgen.remedies.workbench import Edits, Workbench

NEW = "the new wagon"
HOW = {
    "flange_angle": "if it measures so", "half_width": "if that much is free", "distance": "by moving it away",
    "spacing": "by moving the second track", "adhesion": "with rubber on its wheels, then measured",
    "floor_tilt": "by levelling the table until it measures so",
    "joint_step": "by levelling the joints until they measure so",
    "twist": "by shimming the track until it measures so",
    "speed_scatter": "with a controller that holds it", "rail_height": "with higher rails",
    "back_to_back": "by pressing the wheels together", "remanence": "by buying other magnets",
    "magnet_diameter": "by buying other magnets",
}
"""By field: how a maker makes a number so that is not for choosing."""
GROWS = {"length": ("longer", "shorter"), "width": ("wider", "narrower"), "height": ("higher", "lower")}


def remedy_of(bench: Workbench, edits: Edits) -> Remedy:
    """Return the remedy that the edits are, tried already: its data, and in words what to set and what else changes."""
    before, after = bench.train(()), bench.train(edits)
    assert before is not None and after is not None
    return Remedy(tuple((one.path, one.value) for one in edits), said_all(bench, edits), costs_of(before, after))


def said_all(bench: Workbench, edits: Edits) -> str:
    """Return edits of a description as one instruction."""
    return " and ".join(said(bench, one) for one in edits)


def said(bench: Workbench, edit: Edit) -> str:
    """Return an edit as an instruction: "set wheelbase of wagon tea to 70 mm (line 12, now 81)"."""
    train = bench.train(())
    assert train is not None
    what, line, now = _what(train, edit), line_of(bench.lines, edit.path), _now(train, edit)
    about = ", ".join(filter(None, (f"line {line}" if line else "", f"now {now}" if now else "")))
    about = f" ({about})" if about else ""
    if edit.value is None:
        return f"leave {what} out{about}"
    if what == NEW:
        return f"add a wagon: {_value(edit.value)}"
    how = f", {HOW[str(edit.steps[-1])]}" if edit.steps[-1] in HOW else ""
    return f"set {what} to {_value(edit.value)}{_unit(train, edit)}{about}{how}"


def _what(train: TrainPlan, edit: Edit) -> str:
    match edit.steps:
        case ("wagon", int(place)) if place >= len(train.description.wagon):
            return NEW
        case ("wagon", int(place), name):
            wagons = train.description.wagon
            return f"{name} of {f'wagon {wagons[place].name}' if place < len(wagons) else NEW}"
        case (("cup" | "module" | "wheelset") as kind, name, field):
            return f"{field} of {kind} {name}"
        case ("track", "obstacle", int(place), name):
            return f"{name} of obstacle {train.description.track.obstacle[place].name}"
    return edit.path


def _now(train: TrainPlan, edit: Edit) -> str:
    """Say what stands there now, or what was worked out where nothing does; nothing where that is a list."""
    match edit.steps:
        case ("wagon", int(place), str(name)) if (edit.was is None and name in DERIVED
                                                  and place < len(train.description.wagon)):
            plan = next(plan for plan in train.wagons if plan.name == train.description.wagon[place].name)
            return f"{derived(plan)[name]:.1f}"
    return "" if edit.was is None or isinstance(edit.was, (tuple, list)) or edit.was == "" else _value(edit.was)


def _unit(train: TrainPlan, edit: Edit) -> str:
    table: Any = found(train.description, edit.steps[:-1])
    field = type(table).model_fields.get(str(edit.steps[-1])) if isinstance(table, Table) else None
    unit = extra(field, "unit") if field and isinstance(edit.value, float) else ""
    return "" if unit in ("", "1") else f" {unit}"


def _value(value: Any) -> str:
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, float):
        return f"{value:.10g}"
    if isinstance(value, (list, tuple)):
        return "[" + ", ".join(map(_value, value)) + "]"
    if isinstance(value, dict):
        return "{" + ", ".join(f"{key} = {_value(entry)}" for key, entry in value.items()) + "}"
    return f'"{value}"' if isinstance(value, str) else str(value)


def costs_of(before: TrainPlan, after: TrainPlan) -> Costs:
    """Return what a change of a train costs."""
    length, filament, hours = (new - old for old, new in zip(_amounts(before), _amounts(after), strict=True))
    return Costs(round(length, 1), round(filament, 1), round(hours, 2), tuple(_sizes(before, after)))


def _sizes(before: TrainPlan, after: TrainPlan) -> Iterator[str]:
    """Yield what the train carries no more, what bodies become longer or shorter, wider or narrower, higher or lower,
    and which are new."""
    had, has = _cargo(before), _cargo(after)
    for name, gone in (had - has).items():
        yield f"the train then has {f'{gone} {name} less' if has[name] else f'no {name}'}"
    olds = {plan.name: plan for plan in before.wagons}
    for plan in after.wagons:
        new = derived(plan)
        if plan.name not in olds:
            yield f"{plan.name} is new, {new['length']:.0f} x {new['width']:.0f} x {new['height']:.0f} mm"
            continue
        old = derived(olds[plan.name])
        sizes = [f"{abs(new[name] - old[name]):.1f} mm {words[new[name] < old[name]]}" for name, words in GROWS.items()
                 if abs(new[name] - old[name]) > 0.05]
        if sizes:
            yield f"{plan.name} gets {' and '.join(sizes)}"


def _cargo(train: TrainPlan) -> Counter[str]:
    """Return how many of every module, cup and insert a train has."""
    return Counter(name for wagon in train.description.wagon for name in (*wagon.modules, *wagon.cups, *wagon.inserts))


def _amounts(train: TrainPlan) -> tuple[float, float, float]:
    """Return how long the train is behind its locomotive [mm], and what all pieces weigh, printed [g], and take to
    print [h]."""
    every, length = sizes(train), places_of(train)[-1] - train.description.train.locomotive.length
    return length, sum(one.filament for one in every), sum(one.hours for one in every)
