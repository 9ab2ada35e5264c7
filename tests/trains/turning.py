"""Values moved to where a check turns: right on the good side of its limit, or right beyond it."""

from copy import deepcopy

from trains.dice import limits, toml
from trains.edge import KINDS, DescriptionError, checked, resolved
from trains.presets import filled

KNOBS = {
    "track-plan": ("track.plan.*.length",), "wheel-play": ("wheelset.*.back_to_back",),
    "wheelbase": ("wagon.*.wheelbase", "track.min_radius"), "attack-angle": ("wagon.*.wheelbase",),
    "inner-throw": ("track.clearance.*.half_width", "wagon.*.width"),
    "outer-throw": ("track.clearance.*.half_width", "wagon.*.length"),
    "obstacle": ("track.obstacle.*.distance",), "passing": ("track.spacing",),
    "coupler-swing": ("coupler.swing", "coupler.gap"), "body-gap": ("coupler.gap",),
    "coupler-height": ("train.locomotive.coupler_height", "coupler.height"),
    "string-line": ("ride.start_time", "ride.wheel_friction"), "coupler-pull": ("coupler.remanence", "ride.rolling"),
    "adhesion": ("train.locomotive.mass", "train.locomotive.adhesion", "ride.gradient"),
    "axle-load": ("wagon.*.wheelbase", "wagon.*.pivot_spacing"), "tip-curve": ("ride.speed", "ride.tip_safety"),
    "tip-stop": ("ride.stop_time", "ride.speed"), "tip-standing": ("ride.floor_tilt", "ride.tip_safety"),
    "cup-hold": ("cup.*.friction", "ride.speed"), "spill-curve": ("cup.*.fill", "ride.speed"),
    "spill-stop": ("cup.*.fill", "ride.stop_time"), "wheel-room": ("wagon.*.length", "wagon.*.travel"),
    "under-clearance": ("track.rail_height", "coupler.height"),
    "module-fit": ("wagon.*.width", "wagon.*.length", "wagon.*.height"), "warm-module": ("wagon.*.height",),
    "snap-strain": ("printer.snap_share",), "name-plate": ("wagon.*.height", "wagon.*.wall"),
    "bed": ("printer.bed_x", "printer.bed_z"),
}
"""Check to the numbers that turn it."""

STEPS = (0.02, -0.02, 0.2, -0.2, 1.0, -0.6, 5.0, -0.95)      # parts of a number to look on for another verdict
NEAR = 5e-4             # part of a number within which its verdict is known to turn
ROUNDS = 16


def turned(data: dict, dice) -> dict:
    """Return a description's data with one to three of its numbers moved to where a check turns.

    A number that turns nothing stays as it was.
    """
    paths = {check: [path for knob in knobs for path in _paths(data, knob.split("."))]
             for check, knobs in KNOBS.items()}
    for check in dice.random.sample([check for check in paths if paths[check]], dice.random.randint(1, 3)):
        data = _moved(data, check, dice.random.choice(paths[check]), dice)
    return data


def _paths(data, steps, before=()):
    """Yield the paths in `data` that a knob stands for, "*" being any entry of a list or table."""
    head, *rest = steps
    if not rest:
        yield (*before, head)
    elif head != "*":
        yield from _paths(data.get(head) or {}, rest, (*before, head))
    else:
        for key, entry in (data.items() if isinstance(data, dict) else enumerate(data)):
            if rest != ["length"] or entry.get("go", "straight") == "straight":
                yield from _paths(entry, rest, (*before, key))


def _moved(data, check, path, dice) -> dict:
    """Return the data with the number at `path` on one side of where the verdicts of `check` turn; where they never
    do, right where the description is just valid, or as it was."""
    start, low, high = _number(data, path)
    if start is None:
        return data
    here = _verdicts(_put(data, path, start), check)
    if not here:
        return data
    tries = [(value, _verdicts(_put(data, path, value), check))
             for value in (min(max(start + step * (abs(start) or 1.0), low), high) for step in STEPS)]
    beyond = [value for value, found in tries if found not in (here, None)]
    beyond = beyond or [value for value, found in tries if found is None]
    if not beyond:
        return data
    one, other = start, min(beyond, key=lambda value: abs(value - start))
    for _ in range(ROUNDS):
        middle = round((one + other) / 2, 6)
        one, other = (middle, other) if _verdicts(_put(data, path, middle), check) == here else (one, middle)
        if abs(one - other) < NEAR * abs(one + other):
            break
    found = _put(data, path, dice.random.choice((one, other)))
    return found if _verdicts(found, check) is not None else _put(data, path, one)


def _number(data, path):
    """Return the number at `path` as it holds now, and its ends; None where it has no value."""
    kind, *_, name = path
    model = KINDS[kind]
    if path[:2] in (("train", "locomotive"), ("track", "clearance"), ("track", "plan"), ("track", "obstacle")):
        model = _inner(model.model_fields[path[1]].annotation)
    field, table = model.model_fields[name], data
    for step in path[:-1]:
        table = table.get(step, {}) if isinstance(table, dict) else table[step]
    now = filled(kind, table).get(name, field.default if isinstance(field.default, (int, float)) else None)
    if now is None and kind == "wagon" and name in ("length", "width"):
        now = getattr(next(plan for plan in resolved(toml(data)).wagons if plan.name == table["name"]), name)
    if now is None and name == "coupler_height":
        now = data["coupler"]["height"]
    return now, limits(field, "ge"), limits(field, "le")


def _inner(annotation):
    return getattr(annotation, "__args__", (annotation,))[0]


def _put(data, path, value) -> dict:
    """Return a copy of the data with `value` at `path`."""
    changed = deepcopy(data)
    table = changed
    for step in path[:-1]:
        table = table.setdefault(step, {}) if isinstance(table, dict) else table[step]
    table[path[-1]] = value
    return changed


def _verdicts(data, check):
    """Return the verdicts of a check by subject; None for data with faults. A train that the program stumbles over
    counts as one that turns: whoever tests the program with it is to see it stumble."""
    try:
        return {finding.subject: finding.verdict for finding in checked(toml(data), only={check})
                if finding.check == check}
    except DescriptionError:
        return None
    except Exception as error:
        return {"stumbles": str(error)}
