"""A wagon with two cups of tea, its tables changed as a test likes: for tests of tipping, slosh and pull."""

from conftest import described

from partgen.plan.train import resolve

TEAS = "cups = ['tea', 'tea']"


def teas(ride=None, cup=None, wagon=None, coupler=None, locomotive=None, track=None):
    """Return a train of one wagon with two cups of tea, its tables changed as told."""
    at = described(wagon=TEAS)
    changed = {name: getattr(at, name).model_copy(update=update)
               for name, update in (("ride", ride), ("coupler", coupler), ("track", track)) if update}
    if cup:
        changed["cup"] = {"tea": at.cup["tea"].model_copy(update=cup)}
    if wagon:
        changed["wagon"] = (at.wagon[0].model_copy(update=wagon),)
    if locomotive:
        changed["train"] = at.train.model_copy(update={"locomotive": at.train.locomotive.model_copy(update=locomotive)})
    return resolve(at.model_copy(update=changed))
