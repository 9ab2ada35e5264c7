"""The same train on the mirrored track, and turned round on the same track."""

import tomllib
from itertools import groupby
from math import degrees

from trains.dice import toml
from trains.edge import laid, resolved
from trains.presets import filled

OTHER = {"left": "right", "right": "left"}
TURNED = {"front": "back", "back": "front", **OTHER}


def mirrored(text: str, way: str = "left-right") -> str:
    """Return the description `text` mirrored, as TOML.

    way: "left-right", all that lies on one side is moved to the other: curves, obstacles, the second track, faces
        and holes of modules, cups side by side.
        "front-back", the wagons stay where they stand on the track as it is laid, and a locomotive pulls them off
        at the other end: every wagon is turned end for end, their order reversed, and the track run the other way.

    A plan that is made up where none is given is written down. Modules come to lie in the mirror, and cups side by
    side, only where no other arrangement is as good: the plan of the wagon tells. Inserts show their ears to the left
    in any case.
    """
    data, sides = tomllib.loads(spelt_out(text)), way == "left-right"
    length = sum(length for length, _ in laid(text))
    data["track"] = _across(data["track"]) if sides else _backwards(data["track"], length)
    for name, module in data.get("module", {}).items():
        data["module"][name] = _flipped(filled("module", module)) if sides else _turned(filled("module", module))
    for wagon, plan in zip(data["wagon"], _plans(data, text), strict=True):
        if wagon.get("cups"):
            wagon["cups"] = _served(plan, sides)
        if "at" in wagon:
            wagon["at"] = [[name, (OTHER if sides else TURNED).get(where, where)] for name, where in wagon["at"]]
        if not sides and "sensor_station" in wagon:
            wagon["sensor_station"] = -wagon["sensor_station"]
    if not sides:
        order = data.get("train", {}).get("order") or [wagon["name"] for wagon in data["wagon"]]
        data["train"] = {**data.get("train", {}), "order": order[::-1]}
    return toml(data)


def _plans(data, text):
    """Return the wagons' plans in the order of the description."""
    plans = {plan.name: plan for plan in resolved(text).wagons}
    return [plans[wagon["name"]] for wagon in data["wagon"]]


def _served(plan, sides) -> list[str]:
    """Return a wagon's cups as they are named after mirroring: front one first, left before right in each row."""
    rows = [[seat.cup for seat in row] for _, row in groupby((seat for seat, _ in plan.cups), lambda seat: seat.x)]
    return [cup for row in rows for cup in row[::-1]] if sides else [cup for row in rows[::-1] for cup in row[::-1]]


# ---- the track --------------------------------------------------------------------------------------------------

def _across(track) -> dict:
    """Return the track with left and right exchanged."""
    sides = {"plan": "go", "obstacle": "side"}
    return {**track, **{name: [{**one, key: OTHER.get(one[key], one[key])} for one in track[name]]
                        for name, key in sides.items() if name in track},
            **({"spacing_side": OTHER[track.get("spacing_side", "left")]} if "spacing" in track else {})}


def _backwards(track, length) -> dict:
    """Return the same track, `length` [mm] long, run the other way: last piece first, left now right."""
    listed = ("plan", "obstacle", "stop")
    track = {name: value[::-1] if name in listed else value for name, value in _across(track).items()}
    for name in ("obstacle", "stop"):
        if name in track:
            track[name] = [{**one, "station": max(length - one["station"] - one.get("length", 0.0), 0.0)}
                           for one in track[name]]
    return track


def spelt_out(text: str) -> str:
    """Return the description with the plan that is made up where it has none."""
    data = tomllib.loads(text)
    data["track"].setdefault("plan", [_piece(length, bend) for length, bend in laid(text)])
    return toml(data)


def _piece(length, bend) -> dict:
    if not bend:
        return {"go": "straight", "length": length}
    return {"go": "left" if bend > 0 else "right", "radius": abs(1 / bend), "angle": degrees(length * abs(bend))}


# ---- modules ----------------------------------------------------------------------------------------------------

def _flipped(module) -> dict:
    """Return a module in the mirror: left and right exchanged."""
    return _faces(module, OTHER, lambda side: side not in OTHER, lambda side: False) | _holes(module, 1, -1) | _lies(
        module, OTHER)


def _turned(module) -> dict:
    """Return a module turned half round about the upright."""
    return _faces(module, TURNED, lambda side: True, lambda side: side in ("top", "bottom")) | _holes(
        module, -1, -1) | _lies(module, TURNED)


def _faces(module, other, aside, rise) -> dict:
    """Return the module with its faces exchanged; on which of them `aside` and `rise` change their sign."""
    looks = [{**one, "side": other.get(one["side"], one["side"]),
              "aside": -one.get("aside", 0.0) if aside(one["side"]) else one.get("aside", 0.0),
              "rise": -one.get("rise", 0.0) if rise(one["side"]) else one.get("rise", 0.0)}
             for one in module.get("looks_out", ())]
    return {**module, "looks_out": looks, "plugs": [other.get(side, side) for side in module.get("plugs", ())]}


def _holes(module, along, across) -> dict:
    return {"holes": [[along * x, across * y] for x, y in module["holes"]]} if "holes" in module else {}


def _lies(module, other) -> dict:
    return {"at": other.get(module["at"], module["at"])} if "at" in module else {}
