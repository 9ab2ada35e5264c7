"""A remedy in words: what to set, and what it costs."""

from collections.abc import Iterator
from typing import Any

from partgen.describe.edits import Edit, found
from partgen.describe.field import Table, extra
from partgen.describe.lines import line_of
from partgen.finding import Remedy
from partgen.plan.printed import printed_mass
from partgen.plan.train import TrainPlan
from partgen.remedies.levers import DERIVED, derived
from partgen.remedies.workbench import Edits, Workbench

GROWS = {"length": ("longer", "shorter"), "width": ("wider", "narrower"), "height": ("higher", "lower")}
LEAST_TOLD = 1.0        # g


def remedy_of(bench: Workbench, edits: Edits) -> Remedy:
    """Return the remedy that the edits are, tried already: its data, and in words what to set and what else changes."""
    before, after = bench.train(()), bench.train(edits)
    assert before is not None and after is not None
    costs = ", ".join(_costs(before, after))
    text = said_all(bench, edits)
    return Remedy(tuple((one.path, one.value) for one in edits), f"{text}: {costs}" if costs else text)


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
    return f"set {what} to {_value(edit.value)}{_unit(train, edit)}{about}"


def _what(train: TrainPlan, edit: Edit) -> str:
    match edit.steps:
        case ("wagon", int(place), name):
            return f"{name} of wagon {train.description.wagon[place].name}"
        case (("cup" | "module" | "wheelset") as kind, name, field):
            return f"{field} of {kind} {name}"
        case ("track", "obstacle", int(place), name):
            return f"{name} of obstacle {train.description.track.obstacle[place].name}"
    return edit.path


def _now(train: TrainPlan, edit: Edit) -> str:
    """Say what stands there now, or what was worked out where nothing does; nothing where that is a list."""
    match edit.steps:
        case ("wagon", int(place), str(name)) if edit.was is None and name in DERIVED:
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


def _costs(before: TrainPlan, after: TrainPlan) -> Iterator[str]:
    """Yield what a maker would notice: bodies longer or shorter, wider or narrower, higher or lower, and filament."""
    olds = {plan.name: plan for plan in before.wagons}
    for plan in after.wagons:
        old, new = derived(olds[plan.name]), derived(plan)
        sizes = [f"{abs(new[name] - old[name]):.1f} mm {words[new[name] < old[name]]}" for name, words in GROWS.items()
                 if abs(new[name] - old[name]) > 0.05]
        if sizes:
            yield f"{plan.name} gets {' and '.join(sizes)}"
    more = _filament(after) - _filament(before)
    if abs(more) >= LEAST_TOLD:
        yield f"{abs(more):.0f} g {'more' if more > 0 else 'less'} to print"


def _filament(train: TrainPlan) -> float:
    """Return what all pieces weigh, printed [g]."""
    printer = train.description.printer
    return sum(item.count * printed_mass(item.plan, printer) for plan in train.wagons for item in plan.items)
