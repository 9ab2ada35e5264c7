"""Random wagons, modules and cups; sizes go by the gauge of the track, so that most of them run and stand on it."""

from itertools import pairwise
from math import pi

from trains.edge import KINDS, cut_off, turned_moments
from trains.presets import filled, names

SIDES = ("front", "back", "left", "right", "top", "bottom")
OPPOSITE = {"front": "back", "back": "front", "left": "right", "right": "left"}
PLACES = ("anywhere", "front", "middle", "back", "left", "right")
NOT_IN_NAMES = '/\\[]"'
PLATE_LETTERS = "ABCDEFGHIJKLMNOPQRSTUVWXYZÄÅÈÉÖØÜabcxyzäåéöøüß0123456789-.&'+ "
LOW_LETTERS = "ABCDEFHILMNOPRSTUVXZabcdefhilmnoprstuvxz"
SCREWS = {"M2": (3.5, 0.48), "M2.5": (4.0, 0.59), "M3": (4.5, 0.74)}
"""What screws take between the wheels, walls not counted, and the broadest lines [mm] they are printed round with."""

LONGEST = 50.0          # mm of level or round top that any printer bridges


# ---- wagons -----------------------------------------------------------------------------------------------------

def wagons_of(dice, track, wheels, printer, shelf, cupboard, count, bogies) -> list[dict]:
    """Return `count` wagons with names of their own, carrying what is on the shelf and in the cupboard."""
    found: dict[str, dict] = {}
    while len(found) < count:
        name = dice.words(30, never=NOT_IN_NAMES)
        name = f"{name[:27]} {len(found)}" if dice.chance(0.5) else name
        found.setdefault(name.lower(), _wagon(dice, name, track, wheels, printer, shelf, cupboard, bogies))
    return list(found.values())


def _wagon(dice, name, track, wheels, printer, shelf, cupboard, bogies):
    wheelset, lines = dice.random.choice(list(wheels)), filled("printer", printer).get("line_width", 0.45)
    wheel, load = filled("wheelset", wheels[wheelset]), _load(dice, shelf, cupboard)
    held, by_chance = dice.careful(), dice.chance(0.25) and wheel.get("ends") != "pin"     # no bogie takes points
    screws = [screw for screw, (room, widest) in SCREWS.items() if not held or
              (wheel["back_to_back"] > room + 2 * max(1.6, 2 * lines) and lines <= widest)] or ["M3"]
    wall = dice.between(max(1.2, 2 * lines + 0.35), max(2.4, 3 * lines)) if held else \
        dice.between(max(0.8, 2 * lines), 4)
    given = {"name": name, "wheelset": wheelset if len(wheels) > 1 else None, "screw": dice.random.choice(screws),
             "wall": wall, "height": None, "sensor_gap": None, "sensor_station": None, "plate": None, "lights": None,
             "ballast": dice.between(1, 60 if held else 400, 0) if dice.chance(0.15) else None,
             **_gear(dice, wheel, track["min_radius"], by_chance if bogies is None else bogies), **load}
    given |= _size(dice, given, track["gauge"], cupboard)
    if dice.chance(0.4):
        given["sensor_gap"] = dice.between(2, 12, 1)
    if _down(shelf, given["modules"] or ()) == 1 and dice.chance(0.3):
        given["sensor_station"] = dice.between(-20, 20, 1)
    if dice.chance(0.3):
        letters = LOW_LETTERS if held else PLATE_LETTERS
        plate = dice.random.choices(letters, k=dice.random.randint(1, 5 if held else 20))
        given["plate"] = "".join(plate).strip() or None
    if not given["plate"]:
        given["plate_print"] = None
    if given["modules"] and dice.chance(0.4):
        given["lights"] = dice.one_of("none", "lamps", "strip")
    return dice.drawn(KINDS["wagon"], **given)


def _size(dice, given, gauge, cupboard) -> dict:
    """Return sizes of the body where a maker wishes any: mostly none, so that the load decides."""
    across = max((widest(cupboard[name]) for name in given["cups"] or ()), default=0.0) * max(1, given["columns"] or 1)
    along = 1.1 * (given["wheelbase"] + (given["pivot_spacing"] or 0)) + 65
    along = max(along, 1.25 * sum(widest(cupboard[name]) for name in given["cups"] or ()))
    return {"width": dice.between(max(1.5 * gauge, across + 25), 2 * gauge + across, 0) if dice.chance(0.1) else None,
            "length": dice.between(along, 1.3 * along, 0) if dice.chance(0.1) and along < 250 else None,
            "height": dice.between(20, 70, 0) if dice.chance(0.1) else None}


def _gear(dice, wheel, radius, on_bogies) -> dict:
    """Return wheelbase, travel and pivot spacing that most curves of the track take."""
    flange, travel = wheel["flange_diameter"], dice.between(0, 6, 1) if dice.careful() else dice.between(0, 40, 1)
    if on_bogies:
        base = dice.between(max(flange + 2, 22), max(flange * 1.6, 30), 1)
        least = 1.3 * base + 2 * flange + 8
        return {"wheelbase": base, "travel": None, "coupler_on": "bogie" if dice.chance(0.4) else None,
                "pivot_spacing": dice.between(least, max(1.2 * least, min(0.45 * radius, 160)), 1)}
    least = max(flange + 2 * travel + 1.5, 24)
    most = max(least + 2, min(0.18 * radius, 5 * flange, 130))
    return {"wheelbase": dice.between(least + (0.5 * (most - least) if dice.careful() else 0), most, 1),
            "travel": travel if dice.chance(0.7) else 0.0, "pivot_spacing": None, "coupler_on": None}


def _load(dice, shelf, cupboard) -> dict:
    """Return modules with their cables, and cups with what else stands in their seats."""
    load = dict.fromkeys(("modules", "wires", "at", "levels", "cups", "columns", "inserts"))
    if shelf and dice.chance(0.65):
        most = dice.one_of(1, 1, 2, 2, 3, 4) if dice.careful() else dice.random.randint(1, 8)
        load["modules"] = dice.random.choices(list(shelf), k=most)
        once = [name for name in dict.fromkeys(load["modules"]) if load["modules"].count(name) == 1]
        load["wires"] = [[one, other] for one, other in pairwise(once) if dice.chance(0.6)] or None
        if dice.chance(0.15):
            load["at"] = [[dice.random.choice(load["modules"]), dice.one_of(*PLACES)]]
        load["levels"] = 2 if dice.chance(0.3) else None
    if cupboard and dice.chance(0.75):
        rows = dice.one_of(0, 0, 0, 1, 2, 3)
        most = dice.one_of(1, 1, 2, 2, 3) if dice.careful() else dice.random.randint(3, 8)
        load["cups"] = dice.random.choices(list(cupboard), k=most * (rows if dice.chance(0.5) and rows > 1 else 1))
        load["columns"] = rows or None
        load["inserts"] = [dice.random.choice(list(cupboard))] if dice.chance(0.2) else None
    return load


def _down(shelf, modules) -> int:
    return sum(any(one["side"] == "bottom" for one in filled("module", shelf[name]).get("looks_out", ()))
               for name in modules)


# ---- modules ----------------------------------------------------------------------------------------------------

def shelf(dice, size) -> dict:
    """Return a handful of modules by name: presets, and boxes made up for a track of gauge `size` [mm]."""
    found = {}
    for number in range(dice.random.randint(1, 5)):
        name = f"{dice.words(20, plain=True)} {number}"
        if dice.chance(0.55):
            ready = [one for one in names("module") if filled("module", {"use": one})["width"] < 1.6 * size + 20]
            found[name] = {"use": dice.random.choice(ready)}
        else:
            found[name] = _module(dice, size)
    return found


def _module(dice, size) -> dict:
    length = dice.spread(6, min(110, 2 * size + 20), 1)
    width = dice.spread(5, min(60, size + 8), 1)
    height = dice.spread(3, min(45, 0.6 * size + 6), 1)
    box = {"length": length, "width": width, "height": height,
           "mass": dice.between(max(0.1, 0.0004 * length * width * height), max(0.2, 0.0022 * length * width * height))}
    box["looks_out"] = [_opening(dice, box, side) for side in _sides(dice)] if dice.chance(0.4) else []
    box["head"] = None
    if below := any(one["side"] == "bottom" for one in box["looks_out"]):
        box |= _looking_down(dice, box, size)
    seen = {one["side"] for one in box["looks_out"]}
    free = [side for side in SIDES if side not in seen] if box["head"] or not below else ["top"]
    box["plugs"] = dice.random.sample(free, dice.random.randint(0, min(2, len(free))))
    box["plug_room"] = dice.between(0, 20, 1)
    if box["plugs"] and dice.chance(0.2):
        box["plug_rooms"] = [dice.between(0, 25, 1) for _ in box["plugs"]]
    box["turns"] = dice.random.sample(("round", "side", "end", "over"), dice.one_of(0, 1, 1, 2, 4))
    box["mount"] = dice.one_of("lip", "bosses", "strap", "tape")
    if box["mount"] == "bosses":
        box["hole"] = dice.between(1, min(3.4, box["length"] / 4, box["width"] / 4), 1)
        inset = box["hole"] / 2 + 0.4
        x, y = round(box["length"] / 2 - inset, 2), round(box["width"] / 2 - inset, 2)
        box["holes"] = [[x, y], [-x, -y]] if dice.chance(0.5) else [[x, y], [x, -y], [-x, y], [-x, -y]]
    box["heat"] = 1.0 if dice.chance(0.2) else 0.0
    hung = below and not box["head"]
    box["carries"] = dice.chance(0.3) and not (box["heat"] or hung or "top" in seen or "top" in box["plugs"])
    box["at"] = dice.one_of(*PLACES) if dice.chance(0.15) else None
    box["lies_on_top"] = dice.chance(0.3) and box["mount"] != "bosses" and "bottom" not in {*seen, *box["plugs"]}
    return dice.drawn(KINDS["module"], **{"hole": None, "plug_rooms": None, "holes": None, "dry": None} | box)


def _looking_down(dice, box, size) -> dict:
    """Return what makes a box a track sensor: a small board, or a board with a small head on a lead."""
    head = {"length": dice.between(5, 18, 1), "width": dice.between(4, 0.3 * size, 1), "height": dice.between(3, 12, 1)}
    below = _opening(dice, head, "bottom")
    if dice.chance(0.5):
        return {**head, "mass": 3.0, "looks_out": [below]}
    return {"head": list(head.values()),
            "looks_out": [below, *(one for one in box["looks_out"] if one["side"] != "bottom")]}


def _sides(dice) -> list[str]:
    """Return one face or two that are not opposite."""
    sides = [dice.one_of("front", "back", "left", "right", "left", "right", "bottom", "top")]
    if dice.chance(0.2):
        sides.append(dice.random.choice([side for side in SIDES[:4] if side not in (sides[0], OPPOSITE.get(sides[0]))]))
    return sides


def _opening(dice, box, side) -> dict:
    """Return an opening within a face."""
    wide = box["width"] if side in ("front", "back", "top", "bottom") else box["length"]
    high = box["length"] if side in ("top", "bottom") else box["height"]
    width, rise = dice.between(1, max(1, 0.8 * wide), 1), dice.between(1, max(1, 0.8 * high), 1)
    return {"side": side, "width": width, "height": rise,
            "aside": dice.between(-(wide - width) / 2.1, (wide - width) / 2.1, 1),
            "rise": dice.between(-(high - rise) / 2.1, (high - rise) / 2.1, 1)}


def shaped(dice, box) -> dict:
    """Return a module with some of its holes in walls round, slotted or barred, or for what snaps into a panel."""
    if not box.get("looks_out"):
        return box
    seen = [_shaped(dice, one) if one["side"] in SIDES[:4] and dice.chance(0.5) else one for one in box["looks_out"]]
    hung = any("panel" in one for one in seen) and dice.chance(0.5)
    return {**box, "looks_out": seen, **({"mount": "panel", "carries": False, "lies_on_top": False} if hung else {})}


def _shaped(dice, opening) -> dict:
    opening = {**opening, "shape": dice.one_of("rectangle", "round", "slot", "grille")}
    if opening["shape"] == "round":
        opening["width"] = opening["height"] = min(opening["width"], opening["height"])
    if max(opening["width"], opening["height"]) > LONGEST:
        opening["shape"] = dice.one_of("rectangle", "grille")
    elif dice.chance(0.4):
        opening["panel"] = dice.between(0.8, 3)
    return opening


# ---- cups -------------------------------------------------------------------------------------------------------

def cupboard(dice, size) -> dict:
    """Return a few cups by name: presets, and shapes turned up for a track of gauge `size` [mm]."""
    found = {}
    for number in range(dice.random.randint(1, 3)):
        ready = dice.chance(0.4) and size > 30
        found[f"{dice.words(20, plain=True)} {number}"] = \
            {"use": dice.random.choice(names("cup"))} if ready else _cup(dice, size)
    return found


def _cup(dice, size) -> dict:
    """Return a cup: tapered, straight or drawn in, at times with a bulge or a lip, its wall thin or thick."""
    foot = dice.between(max(10, 0.7 * size), min(90, 1.3 * size + 8), 1)
    height = dice.between(max(10, 0.4 * foot), min(120, foot), 1) if dice.careful() else dice.spread(8, 250, 1)
    rim = round(min(max(foot * dice.one_of(1.0, dice.between(0.85, 1.5)), 9), 150), 1)
    profile = [[0, foot], [height, rim]]
    if dice.chance(0.5):
        at = round(height * dice.between(0.1, 0.6), 1)
        profile.insert(1, [at, round(foot + (rim - foot) * at / height + dice.between(-1, 6, 1), 1)])
    if dice.chance(0.25):
        profile[-1:] = [[round(0.93 * height, 1), rim], [height, round(rim + dice.between(1, 5, 1), 1)]]
    narrowest = min(diameter for _, diameter in profile)
    wall = dice.spread(0.2, min(8, 0.2 * narrowest))
    glass = pi / 4 * rim**2 * wall + pi * (foot + rim) / 2 * height * wall
    cup = {"profile": profile, "wall": wall, "mass": round(max(1, glass * dice.between(0.0009, 0.0025, 5)), 1)}
    cup |= _inside(dice, profile, wall)
    return dice.drawn(KINDS["cup"], **cup, viscosity=dice.one_of(None, None, 0.5, 1.0, 1.2), **_filled(dice, cup))


def _inside(dice, profile, wall) -> dict:
    """Return what tells a cup's inside, where its wall alone does not: a thick bottom, or a shape of its own."""
    height, thick = profile[-1][0], dice.between(wall, max(wall, 0.15 * profile[-1][0]), 1)
    kind = dice.random.random()
    if kind < 0.8 or thick >= height / 2:
        return {"inner_floor": None, "inner": None}
    if kind < 0.9:
        return {"inner_floor": thick, "inner": None}
    least = min(diameter for _, diameter in profile)
    rim = round(profile[-1][1] - 2 * wall, 2)
    return {"inner_floor": None, "inner": [[thick, round(0.6 * least, 1)], [height, rim]]}


def _filled(dice, cup) -> dict:
    """Return what tells how much is in a cup, its depth in most."""
    shape = KINDS["cup"].model_validate({name: one for name, one in cup.items() if one}, strict=False)
    fill = round((shape.height - shape.floor) * dice.between(0.2, 0.7), 1)
    ml = turned_moments(cut_off(shape.inside, shape.floor + fill))[0] / 1000
    given = dict.fromkeys(("fill", "volume", "full_mass"))
    kind = dice.one_of("fill", "fill", "fill", "volume", "full_mass")
    density = dice.between(0.9, 1.1) if dice.chance(0.2) else 1.0
    value = {"fill": fill, "volume": round(ml, 1), "full_mass": round(cup["mass"] + density * ml, 1)}[kind]
    return given | {kind: value, "density": density}


def widest(cup) -> float:
    """Return a cup's largest diameter [mm]."""
    return max(diameter for _, diameter in filled("cup", cup)["profile"])
