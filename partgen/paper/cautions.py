"""The usual cautions, each only where it applies and with its figures; local codes come first."""

from partgen.describe.description import Description
from partgen.dynamics.cables import guard
from partgen.dynamics.ride import CupRide, RidePlan
from partgen.finding import down, up
from partgen.formulas.magnet import FLUX_INDEX_LIMIT, flux_index

Caution = tuple[str, str]       # title and text

SOFTENS = {"PLA": 60, "PETG": 80, "ABS": 100, "ASA": 100}
"""Where printed plastic begins to soften [degrees C], from memory."""

ROUND, WORN = 0.2, 0.3
"""Out of round, and worn off, at most [mm] (common practice, no source)."""

STRIP_VOLTS = "5, 12 or 24"
"""What bought light strips run on (common practice, no source): all extra-low voltage, which IEC 61140 ends at 120 V DC
(from memory)."""

MOST_TOLD = 6       # hot drinks; of more the ride card's table tells

LAW = ("Before guests come",
       "Local rules and licensed practice come first where mains supply, serving alcohol or a public event is "
       "concerned. These notes are no certificate.")


def cautions(ride: RidePlan) -> tuple[Caution, ...]:
    """Return (title, text) of every caution that a train on this ride calls for."""
    description = ride.train.description
    modules = dict.fromkeys(name for wagon in description.wagon for name in wagon.modules)
    names = dict.fromkeys(name for wagon in description.wagon for name in (*wagon.cups, *wagon.inserts))
    hot = [cup for cup in ride.cups if description.cup[cup.liquid.name].hot]
    chosen = [_magnets(description)]
    dry = {description.module[name].dry for name in modules if description.module[name].battery}
    chosen += [_lithium(description)] if False in dry else []
    chosen += [_dry_cells(description)] if True in dry else []
    chosen += [_ballast()] if any(wagon.ballast for wagon in description.wagon) else []
    lights = {wagon.lights for wagon in description.wagon}
    chosen += [_strips()] if "strip" in lights else []
    chosen += [_lamps()] if "lamps" in lights else []
    chosen += [_hot(ride, hot)] if hot else []
    chosen += [_cups(description.printer.material)] if names else []
    chosen += [_wheels()] if any(description.wheelset[wagon.wheelset].printed for wagon in description.wagon) else []
    return *chosen, LAW


def _magnets(description: Description) -> Caution:
    coupler = description.coupler
    index = flux_index(coupler.remanence, coupler.magnet_diameter / 2, coupler.magnet_length)
    return ("Small strong magnets",
            f"Each magnet has a flux index of about {index:.0f} kG2 mm2; from {FLUX_INDEX_LIMIT:g} on "
            "a loose magnet counts as a hazard (16 CFR 1262). Dangerous if swallowed: two of them pinch the gut. Keep "
            "them captive (pocket, cover and glue), check the covers before every run, and keep loose ones and broken "
            "couplers away from children.")


def _lithium(description: Description) -> Caution:
    supply = description.supply
    energy = supply.capacity * supply.cells * supply.cell_voltage / 1000
    return ("Batteries",
            f"{energy:.1f} Wh travel with the train. Use only a protected commercial power bank or holder, never bare "
            f"lithium cells. Keep the box vented and away from drips, {_fuse(description)}, and never "
            "charge it unattended.")


def _dry_cells(description: Description) -> Caution:
    return ("Dry cells",
            "Put every cell into its holder the right way round, as marked there, all of one kind and age: none mixed, "
            "no new one beside a used one. Never charge them, unless they are called rechargeable, and then out of the "
            f"train, in a charger made for them. Keep the box vented and away from drips, {_fuse(description)}: a "
            "short circuit heats cells and wires. Take the cells out after the evening, for old ones leak.")


def _fuse(description: Description) -> str:
    if description.cable:
        rated = guard(description)
        return f"fuse the supply with {rated:g} A, time-lag" if rated else "run nothing until a fuse guards its cables"
    return f"fuse the supply at {2 * description.load_current:.2g} A or what its wires carry, whichever is less"


def _ballast() -> Caution:
    return ("Ballast",
            "Steel only, never lead: its dust is poison on hands and cups, and shot or weights from an old drawer are "
            "often of lead. Glue it in: small loose pieces are dangerous if swallowed, and they jam the axles.")


def _strips() -> Caution:
    return ("Light strips",
            f"Low voltage only: a strip for {STRIP_VOLTS} V as printed on it, fed from the train's own fused supply, "
            "never from the mains. Insulate every joint, keep it where no drip runs, and feel after ten minutes: what "
            "is too warm to touch softens the lid.")


def _lamps() -> Caution:
    return ("Lamps",
            "Low voltage only: lamps for the voltage that feeds them, an LED with its resistor, fed from the train's "
            "own fused supply, never from the mains. Insulate every joint, and feel after ten minutes: what is too "
            "warm to touch softens the wall.")


def _hot(ride: RidePlan, hot: list[CupRide]) -> Caution:
    material = ride.train.description.printer.material
    fills = "; ".join(map(_filled, hot)) if len(hot) <= MOST_TOLD else f"the marks of all {len(hot)} on the ride card"
    slow = min(((curve.speed, curve.radius) for curve in ride.curves if curve.speed < ride.speed), default=())
    curves = f", {down(slow[0], 0)} mm/s on radius {slow[1]:.0f}" if slow else ""
    return ("Hot drinks",
            f"Fill no more than this ({fills}), run at {down(ride.speed, 0)} mm/s at most{curves}, and where small "
            f"children cannot reach the train. Printed {material} softens near {SOFTENS[material]} degrees C: let a "
            "drink stand before it rides.")


def _filled(cup: CupRide) -> str:
    """Say how full a cup may ride."""
    said = f"{cup.level:g} mm deep, {up(cup.level_mark)} mm below the rim" if cup.level else "no drink at all"
    return f"{cup.liquid.label} {said}" + (f", not {cup.liquid.depth:g} mm as described" if cup.too_full else "")


def _wheels() -> Caution:
    return ("Printed wheels",
            f"Print them solid. Spin every wheel before it runs: what is out of round by more than {ROUND:g} mm shakes "
            "the cups. Let the slicing program scatter the seam, or it knocks once a turn. Plastic wears on metal "
            "rails and lays dust on them: wipe both, measure treads and flanges after each evening, and print new "
            f"wheels once {WORN:g} mm are gone or a flange has an edge. A wheel that has slipped on its rod is done "
            "with.")


def _cups(material: str) -> Caution:
    return ("Cups and glass",
            f"Printed {material} is not food-safe: the cradle holds the cup, never the drink, and a fill gauge "
            "touches water only, to mark the cup. Glass near guests breaks; put felt under it and a tray under the "
            "line.")
