"""One draw of a train: track and wheels, what pulls and couples it, printer and ride; its wagons are in `wagons`."""

from itertools import pairwise
from math import atan2, ceil, degrees, sqrt

from partgen.describe.load import OF_CABLES
from partgen.describe.train_tables import Adaptor
from trains.dice import Dice
from trains.edge import KINDS
from trains.layout import laid
from trains.presets import filled, names
from trains.wagons import cupboard, shaped, shelf, wagons_of, widest

SMALL = 28.0                                    # mm of gauge: on less, few wagons stand with cups on top
G = 9810.0                                      # mm/s2


def draft(dice: Dice, wagons: int | None = None, gauge=None, modules=None, cups=None, bogies=None, closed=None,
          second=None, obstacles=None, crossing=False, cables=False) -> dict:
    """Return the data of one draw, which may yet have faults; wishes as for `random_description`."""
    way = _way(dice, gauge)
    track = filled("track", way)
    size = track["gauge"]
    wheels = _wheels(dice, track)
    printer, coupler = _printer(dice), _coupler(dice, size)
    boxes = shelf(dice, size) if modules or (modules is None and dice.chance(0.6)) else {}
    served = 0.7 if size > SMALL or not dice.careful() else 0.15
    drinks = cupboard(dice, size) if cups or (cups is None and dice.chance(served)) else {}
    line = wagons_of(dice, track, wheels, printer, boxes, drinks, wagons or dice.random.randint(1, 4), bogies)
    for wish, field, known in ((modules, "modules", boxes), (cups, "cups", drinks)):
        if wish and not any(field in wagon for wagon in line):
            line[0][field] = [dice.random.choice(list(known))]
    way |= _clearance(dice, size, line, drinks, boxes)
    way |= laid(dice, track["min_radius"], size, closed, second, obstacles, crossing)
    order = dice.random.sample([wagon["name"] for wagon in line], len(line)) if dice.chance(0.2) else None
    locomotive = _locomotive(dice, size, line, drinks, coupler["height"])
    data = {"title": dice.words(60), "invented": True, "track": way, "wheelset": wheels,
            "train": dice.drawn(KINDS["train"], order=order, locomotive=locomotive), "coupler": coupler,
            "ride": _ride(dice, track["min_radius"]), "supply": dice.drawn(KINDS["supply"], **dict.fromkeys(OF_CABLES)),
            "printer": printer, "module": boxes, "cup": drinks, "wagon": line}
    if dice.chance(0.3):
        way["twist"] = dice.between(0, 5 if dice.careful() else 20, 1)
    boxes.update({name: shaped(dice, box) for name, box in boxes.items()})
    if cables:
        data["cable"] = _cables(dice, line)
        data["supply"] = dice.drawn(KINDS["supply"])
    return {key: value for key, value in data.items() if value not in ({}, [])}


def _cables(dice, line) -> list:
    """Return one to three cables, each from a module to another, to the motor or to a rail."""
    ends = [f"{wagon['name']}.{name}" + (f"[{wagon['modules'][:k].count(name) + 1}]" if
            wagon["modules"].count(name) > 1 else "") for wagon in line
            for k, name in enumerate(wagon.get("modules", ()))]
    drawn = []
    for _ in range(dice.random.randint(1, 3) if ends else 0):
        start, goal = dice.random.choice(ends), dice.random.choice([*ends, "locomotive.motor", "track.left"])
        gauge = {"gauge": dice.random.choice((22, 24, 26)), "section": None} if dice.chance(0.3) else {
            "gauge": None, "section": dice.random.choice((0.14, 0.25, 0.5))}
        plug = [dice.between(3, 12), dice.between(2, 8)] if dice.chance(0.5) else None
        if start != goal:
            drawn.append(dice.drawn(KINDS["cable"], **{"from": start}, to=goal, plug=plug, cores=dice.random.choice(
                (None, 1, 2, 3, 4)), current=dice.random.choice((None, 0.02, 0.3)), **gauge))
    return drawn


# ---- track and wheels -------------------------------------------------------------------------------------------

def _way(dice, gauge) -> dict:
    """Return the track itself, without its plan: a preset, or made to measure."""
    if gauge is None:
        gauge = dice.random.choice(names("track")) if dice.chance(0.6) else dice.spread(14, 110)
    table: dict = {"use": gauge}
    if not isinstance(gauge, str):
        table = {"gauge": gauge, "rail_head": dice.between(max(0.4, gauge / 25), min(12, gauge / 10)),
                 "rail_height": dice.between(max(2.0, gauge / 9), min(40, gauge / 3)),
                 "min_radius": dice.spread(max(60, (8 if dice.careful() else 4) * gauge), min(10000, 40 * gauge), 0)}
    if dice.chance(0.2):
        table["joint_spacing"] = dice.between(100, 400, 0) if dice.chance(0.7) else 0.0
    if dice.chance(0.3):
        table["gauge_tolerance"] = dice.between(0, min(2, filled("track", table)["gauge"] / 60))
    return table


def _wheels(dice, track) -> dict:
    """Return one kind of wheelset, seldom two."""
    kinds = {"standard": _wheelset(dice, track)}
    if dice.chance(0.15):
        kinds[dice.words(20, plain=True)] = _wheelset(dice, track)
    return kinds


def _wheelset(dice, track) -> dict:
    """Return a wheelset for a track: a preset that runs on it, or one made to measure."""
    gauge = track["gauge"]
    ready = [name for name in names("wheelset") if 0.2 < gauge - _over_flanges(filled("wheelset", {"use": name})) < 1.5]
    if ready and dice.chance(0.6):
        return {"use": dice.random.choice(ready)}
    thick = dice.between(max(0.3, gauge / 40), gauge / 14)
    apart = round(gauge - 2 * thick - max(0.25, gauge * dice.between(0.012, 0.03, 4)), 2)
    tread = dice.between(max(6, 0.35 * gauge), min(115, 0.75 * gauge))
    depth = dice.between(max(0.2, gauge / 50), min(gauge / 18, 0.7 * track["rail_height"]))
    axle = dice.between(max(0.8, tread / 10), min(12, tread / 4))
    narrowest = gauge + track.get("gauge_tolerance", 0.2) - apart - thick + 0.25
    table = {"tread_diameter": tread, "flange_diameter": round(tread + 2 * depth, 2), "flange_thickness": thick,
             "back_to_back": apart, "axle_diameter": axle, "mass": dice.spread(gauge / 8 + 1, gauge + 2, 1),
             "width": ceil(100 * max(narrowest, thick * dice.between(1.8, 3))) / 100}
    if dice.chance(0.5):
        table["flange_angle"] = dice.between(max(60, ceil(degrees(atan2(depth, thick)))), 90, 1)
    if dice.chance(0.2):
        table["printed"] = True
        table |= {"ring": dice.between(0.8, 2)} if dice.chance(0.5) else {}
    if tread > 14 and axle < 0.3 * tread and dice.chance(0.2):
        table |= {"ends": "bearing", "bearing_outer": dice.between(max(3, axle + 2), max(3, axle + 2, 0.58 * tread)),
                  "bearing_width": dice.between(1, min(9, (apart - 4) / 2))}
    elif dice.chance(0.1):
        table |= {"ends": "pin", "over_points": round(apart + 2 * table["width"] + dice.between(3.4, 6), 2)}
    elif dice.chance(0.4):
        table |= {"ends": "tube", "tube_diameter": round(min(axle + dice.between(0.4, 2), 0.55 * tread), 2)}
    return table


def _over_flanges(wheelset) -> float:
    return wheelset["back_to_back"] + 2 * wheelset["flange_thickness"]


def _clearance(dice, size, line, drinks, boxes) -> dict:
    """Return bands of free room that most of these wagons keep to."""
    half = 1.3 * max(_half_width(size, wagon, drinks, boxes) for wagon in line) + size / 2 + 10
    cuts = sorted(dice.random.sample(range(5, 190, 5), dice.random.randint(0, 3)))
    edges = [dice.one_of(-20, 0), *cuts, dice.one_of(200, 400, 2000)]
    return {"clearance": [{"low": low, "high": high, "half_width": dice.between(half, min(1.6 * half, 2000), 1)}
                          for low, high in pairwise(edges)]}


def _half_width(size, wagon, drinks, boxes) -> float:
    """Return about half the width [mm] of a wagon's body."""
    broadest = max((widest(drinks[name]) for name in wagon.get("cups", ())), default=0.0)
    inside = [filled("module", boxes[name]) for name in wagon.get("modules", ())]
    narrow = max((min(box["length"], box["width"]) for box in inside), default=0.0)
    return max(1.5 * size, wagon.get("width", 0.0), max(1, wagon.get("columns", 1)) * broadest + 20, narrow + 30) / 2


# ---- what pulls, couples, prints and drives ---------------------------------------------------------------------

def _coupler(dice, size) -> dict:
    """Return a coupler whose drawbar hangs clear of the rails."""
    wished = min(max(1 + 0.12 * size, 3), 12)       # strong enough for the train, too weak to lift a wagon's rear
    ready = [name for name in names("coupler")
             if abs(filled("coupler", {"use": name})["magnet_diameter"] - wished) < 1.5]
    given = {"use": dice.random.choice(ready)} if ready and dice.chance(0.6) else {
        "magnet_diameter": dice.between(0.85 * wished, 1.15 * wished, 1) if dice.careful() else dice.between(2, 15, 1),
        "magnet_length": dice.between(1.5, 4, 1), "remanence": dice.between(1.0, 1.4)}
    across = filled("coupler", given)["magnet_diameter"]
    given |= {"height": round(across / 2 + 6.5 + dice.between(0, max(2, size / 10)), 1),
              "gap": dice.between(18, 34, 1) if dice.careful() else dice.between(4, 80, 1)}
    return dice.drawn(KINDS["coupler"], **dict.fromkeys(filled("coupler", given)) | given)


def _printer(dice) -> dict:
    if dice.chance(0.4):
        return {"use": dice.random.choice(names("printer"))}
    nozzle = dice.one_of(0.25, 0.3, 0.4, 0.4, 0.4, 0.5, 0.6) if dice.careful() else dice.spread(0.2, 1.0, 1)
    bed = {f"bed_{axis}": dice.spread(200, 400, 0) if dice.careful() else dice.spread(60, 1000, 0) for axis in "xyz"}
    return dice.drawn(KINDS["printer"], nozzle=nozzle, **bed, line_width=dice.between(nozzle, min(1.0, 1.25 * nozzle)),
                      layer=dice.between(max(0.06, nozzle / 4), min(0.6, 0.7 * nozzle)))


def _ride(dice, radius) -> dict:
    """Return speeds by what the sharpest curve asks of a cup, ramps by what a stop does."""
    if dice.chance(0.1):
        return {"use": dice.random.choice(names("ride"))}
    speed = min(max(sqrt(dice.spread(0.001, 0.02, 5) * G * radius), 30.0), 1200.0)
    return dice.drawn(KINDS["ride"], speed=float(round(speed)),
                      stop_time=round(max(speed / (dice.between(0.01, 0.04, 4) * G), 0.5), 2),
                      start_time=round(max(speed / (dice.between(0.005, 0.025, 4) * G), 0.8), 2))


def _locomotive(dice, size, line, drinks, couples_at) -> dict:
    """Return a locomotive about as large as its track, and heavy enough for what is behind it."""
    length = dice.between(max(40, 2.5 * size), max(60, min(800, 5 * size)), 0)
    base = dice.between(0.35 * length, 0.6 * length, 0)
    cups = sum(filled("cup", drinks[name])["mass"] + 100 for wagon in line for name in wagon.get("cups", ()))
    behind = cups + len(line) * (100 + 4 * size)
    width = dice.between(1.2 * size, 1.7 * size, 0)
    adaptor = dice.drawn(Adaptor, under=dice.between(couples_at + 8, couples_at + 20, 1),
                         length=dice.between(14, 0.4 * length, 0), width=dice.between(min(14, width), width, 0)) if (
                             dice.chance(0.15)) else None
    own = adaptor is None
    return dice.drawn(
        KINDS["train"].model_fields["locomotive"].annotation, length=length, width=width, wheelbase=base,
        adaptor=adaptor,
        mass=float(min(10000, round(behind * dice.between(0.5, 1.2)))), adhesion=dice.between(0.3, 0.7),
        low=dice.between(0, 8, 1), high=dice.between(50, 150, 0),
        coupler_height=dice.between(couples_at - 1, couples_at + 1) if own and dice.chance(0.2) else None,
        coupler_inset=dice.between(0, 12, 1) if own and dice.chance(0.3) else None,
        bogie_wheelbase=dice.between(0.2 * base, 0.6 * base, 0) if dice.chance(0.3) else None)
