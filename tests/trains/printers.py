"""Random trains of one wagon over what printers there are: nozzles, lines, layers, filaments; mounts and lights."""

import tomllib
from random import Random

from trains import random_description
from trains.dice import toml
from trains.edge import DescriptionError, findings, resolved

NOZZLES = (0.25, 0.3, 0.4, 0.4, 0.5, 0.6, 0.8)
MOUNTS = ("lip", "strap", "tape")


def printed_description(seed: int) -> str:
    """Return a random one-wagon train, any seed in four near its limits, for a printer drawn for it, as TOML."""
    random = Random(seed)
    data = tomllib.loads(random_description(seed, ("middle", "limits")[seed % 4 == 3], wagons=1,
                                            modules=random.random() < 0.7 or None))
    nozzle = random.choice(NOZZLES)
    data["printer"] = {
        "nozzle": nozzle, "line_width": round(min(nozzle * random.uniform(0.95, 1.4), 1.0), 2),
        "layer": round(max(0.06, nozzle * random.uniform(0.3, 0.7)), 2),
        "material": random.choice(("PLA", "PETG", "ABS", "ASA")), **dict.fromkeys(("bed_x", "bed_y", "bed_z"), 250.0)}
    for module in data.get("module", {}).values():
        if "use" not in module and random.random() < 0.5:
            module["mount"] = random.choice((*MOUNTS, "bosses") if "holes" in module else MOUNTS)
    for wagon in data["wagon"]:
        if wagon.get("modules") and random.random() < 0.5:
            wagon["lights"] = random.choice(("lamps", "strip"))
    return toml(data)


def accepted(text: str):
    """Return the train of a description that `check` accepts; None of another."""
    try:
        train = resolved(text)
    except DescriptionError:
        return None
    return None if any(found.verdict == "fail" for found in findings(train)) else train
