"""The usual cautions, each only where it applies; local codes and licensed practice come first."""

from partgen.describe.description import Description

MAGNETS = ("Small strong magnets",
           "Dangerous if swallowed: two of them pinch the gut. Keep them captive (pocket, cover and glue), check the "
           "covers before every run, and keep loose ones and broken couplers away from children.")
LITHIUM = ("Batteries",
           "Use only a protected commercial power bank or holder, never bare lithium cells. Keep the box vented and "
           "away from drips, fuse the supply, and never charge it unattended.")
HOT = ("Hot drinks",
       "Fill only as far as the description says, keep the speed it was checked for, and run where small children "
       "cannot reach the train. Printed plastic softens near 60 degrees C.")
CUPS = ("Cups and glass",
        "Printed plastic is not food-safe: the cradle holds the cup, never the drink. Glass near guests breaks; "
        "put felt under it and a tray under the line.")
LAW = ("Before guests come",
       "Local rules and licensed practice come first where mains supply, serving alcohol or a public event is "
       "concerned. These notes are no certificate.")


def cautions(description: Description) -> tuple[tuple[str, str], ...]:
    """Return (title, text) of every caution that this train calls for."""
    used_modules = {name for wagon in description.wagon for name in wagon.modules}
    used_cups = {name for wagon in description.wagon for name in wagon.cups}
    battery = any(description.module[name].battery for name in used_modules)
    hot = any(description.cup[name].hot for name in used_cups)
    chosen = [MAGNETS, *([LITHIUM] if battery else []), *([HOT] if hot else []), *([CUPS] if used_cups else []), LAW]
    return tuple(chosen)
