"""Random trains: valid descriptions over the whole range of every field, for tests of what must hold for any train.

    text = random_description(7)                                mostly passing
    text = random_description(7, near="limits")                 values where checks turn
    text = random_description(7, wagons=1, modules=False)       with wishes
    other = mirrored(text)                                      the same train on the mirrored track

A seed gives the same train on every run. What a track, a wagon or a cup may be is drawn so that most of it holds;
any other field, and any that is added, is drawn from what it declares (`dice.Dice.drawn`).
"""

from random import Random

from trains.dice import Dice, toml
from trains.draft import draft
from trains.edge import DescriptionError, loads
from trains.mirror import mirrored
from trains.turning import turned

__all__ = ["mirrored", "random_description"]

TRIES = 200
NEAR = {"middle": (0.3, 0.95, 0.2), "limits": (0.8, 0.6, 0.35)}      # reach, care and share of the `Dice`


def random_description(seed: int | Random, near: str = "middle", **wishes) -> str:
    """Return a random description as TOML text that loads without a fault.

    seed: a number, or a Random that is gone on with
    near: "middle", where most checks pass, or "limits", where the values of some checks lie close to their limits
    wishes: any of wagons (how many), gauge (name of a track's preset, or mm), modules, cups, bogies, closed, second
        (a second track), obstacles (whether there are any), crossing (a figure of eight over a crossing; False unless
        it is wished, so that seeds go on giving the trains that they gave before there were any), cables (alike)
    What does not load is drawn again: of 1,000 drafts 99 % load at once in the middle, 98 % near the limits. In the
    middle 96 % of all findings pass, and all of them on one train in three.
    """
    dice = Dice(seed if isinstance(seed, Random) else Random(seed), *NEAR[near])
    for _ in range(TRIES):
        data = draft(dice, **wishes)
        try:
            loads(toml(data))
        except DescriptionError:
            continue
        return toml(turned(data, dice) if near == "limits" else data)
    raise AssertionError(f"{TRIES} drafts in a row did not load: {wishes}")
