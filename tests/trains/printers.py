"""Random trains of one wagon over what printers there are: nozzles, lines, layers, filaments and how true they print;
and over all that is drawn by them: mounts, lights, walls, name plates, inserts, printed wheels."""

import tomllib
from random import Random

from trains import random_description
from trains.dice import toml
from trains.edge import DescriptionError, findings, resolved
from trains.wagons import LOW_LETTERS

NOZZLES = (0.25, 0.3, 0.4, 0.4, 0.5, 0.6, 0.8)
MOUNTS = ("lip", "strap", "tape")


def printed_description(seed: int) -> str:
    """Return a random one-wagon train, any seed in four near its limits, for a printer drawn for it, as TOML."""
    random = Random(seed)
    data = tomllib.loads(random_description(seed, ("middle", "limits")[seed % 4 == 3], wagons=1,
                                            modules=random.random() < 0.7 or None))
    data["printer"] = _printer(random)
    for module in data.get("module", {}).values():
        if random.random() < 0.5 and module.get("mount") != "panel":
            module["mount"] = random.choice((*MOUNTS, "bosses") if "holes" in module else MOUNTS)
    for wheelset in data["wheelset"].values():
        if random.random() < 0.15:
            wheelset["printed"] = True
            wheelset |= {"ring": round(random.uniform(0.8, 2.0), 1)} if random.random() < 0.5 else {}
    for wagon in data["wagon"]:
        _dressed(wagon, random)
    return toml(data)


def _printer(random: Random) -> dict:
    """Return a printer's table: lines and layers by the nozzle, and what a coupon on it says."""
    nozzle = random.choice(NOZZLES)
    true = {"bore_offset": round(random.uniform(0, 0.4), 2), "peg_offset": round(random.uniform(-0.05, 0.2), 2),
            "shrink": round(random.uniform(0, 0.8), 2), "bridge": round(random.uniform(5, 20), 1)}
    return {"nozzle": nozzle, "line_width": round(min(nozzle * random.uniform(0.95, 1.4), 1.0), 2),
            "layer": round(max(0.06, nozzle * random.uniform(0.3, 0.7)), 2),
            "material": random.choice(("PLA", "PETG", "ABS", "ASA")),
            **dict.fromkeys(("bed_x", "bed_y", "bed_z"), 250.0), **(true if random.random() < 0.4 else {})}


def _dressed(wagon: dict, random: Random) -> None:
    """Give a wagon lights, walls, a name plate and inserts by chance."""
    if wagon.get("modules") and random.random() < 0.5:
        wagon["lights"] = random.choice(("lamps", "strip"))
    if random.random() < 0.4:
        wagon["wall"] = round(random.uniform(0.8, 4.0), 1)
    if random.random() < 0.6:
        wagon["sides"] = random.choice(("planked", "panelled", "plain"))
    if random.random() < 0.3:
        wagon |= {"plate": "".join(random.choices(LOW_LETTERS, k=random.randint(1, 4))),
                  "plate_print": random.choice(("on-wall", "apart"))}
    if wagon.get("cups") and random.random() < 0.2:
        wagon["inserts"] = [random.choice(wagon["cups"])]


def accepted(text: str):
    """Return the train of a description that `check` accepts; None of another."""
    try:
        train = resolved(text)
    except DescriptionError:
        return None
    return None if any(found.verdict == "fail" for found in findings(train)) else train
