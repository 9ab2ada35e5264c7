"""The train resolved: its wagons in running order with the tables that the checks hold them to."""

from collections.abc import Collection

from msgspec import Struct

from partgen.describe.description import Description
from partgen.plan import trackside as tracksides
from partgen.plan import wagon as wagons
from partgen.plan.adaptor import Head, head_of
from partgen.plan.item import Beside
from partgen.plan.trackside import Trackside
from partgen.plan.wagon import WagonPlan


class TrainPlan(Struct, frozen=True):
    """A resolved train: the description it came from, its wagons, front to back, and what lies on the track.

    `only` names the wagons that checks are asked about, all when empty: who tries values of one wagon need not
    have the others judged again. A train that is cut short keeps the `whole` one, after which its pieces are called.
    """

    description: Description
    wagons: tuple[WagonPlan, ...]
    trackside: Trackside = Trackside()
    only: frozenset[str] = frozenset()
    whole: "TrainPlan | None" = None

    @property
    def asked(self) -> tuple[WagonPlan, ...]:
        """The wagons that are to be judged, front to back."""
        return tuple(plan for plan in self.wagons if not self.only or plan.name in self.only)

    @property
    def printed(self) -> tuple[WagonPlan | Beside, ...]:
        """Everything that has printed items: the wagons, then what belongs to none."""
        return (*self.wagons, *self.beside)

    @property
    def beside(self) -> tuple[Beside, ...]:
        """What has printed items and is no wagon: the track, and the locomotive where it gets an adaptor."""
        return (self.trackside, self.head) if self.head else (self.trackside,)

    @property
    def head(self) -> Head | None:
        """What is printed for the locomotive, the same for a train that is cut short."""
        whole, adaptor = self.whole or self, self.description.train.locomotive.adaptor
        return head_of(adaptor, whole.wagons[0], whole.description.printer,
                       tuple(plan.name for plan in whole.wagons)) if adaptor else None

    @property
    def hook(self) -> tuple[float, float]:
        """Height over rail top [mm] of the locomotive's coupler and how far its pivot lies inside the body's end: as
        measured, or its adaptor's."""
        loco, coupler = self.description.train.locomotive, self.description.coupler
        if self.head:
            return coupler.height, self.head.coupling.inset
        return loco.coupler_height or coupler.height, loco.coupler_inset

    @property
    def origin(self) -> Description:
        """The description of the whole train."""
        return (self.whole or self).description

    @property
    def left_out(self) -> tuple[WagonPlan, ...]:
        """The wagons of the whole train that this one lacks."""
        there = {plan.name for plan in self.wagons}
        return tuple(plan for plan in (self.whole or self).wagons if plan.name not in there)

    def kept(self, wagons: Collection[str]) -> "TrainPlan":
        """Return the train of those wagons alone, by name, and what they need beside the track: every piece as it is in
        this one."""
        return TrainPlan(self.description.with_only(wagons), tuple(plan for plan in self.wagons if plan.name in wagons),
                         self.trackside.serving(wagons), whole=self)

    @property
    def marker_top(self) -> float:
        """Upper face of the markers over rail top [mm]."""
        return tracksides.marker_top(self.description)

    @property
    def stations(self) -> tuple[float, ...]:
        """Where the wagons' middles stand along the track [mm], coupled, front one first; the train's middle is 0."""
        gap, here, places = self.description.coupler.gap, 0.0, []
        for plan in self.wagons:
            places.append(here - plan.length / 2)
            here -= plan.length + gap
        middle = (here + gap) / 2
        return tuple(place - middle for place in places)


def resolve(description: Description) -> TrainPlan:
    """Resolve every wagon of `description` in running order; pure arithmetic, no CAD."""
    by_name = {wagon.name: wagon for wagon in description.wagon}
    order = description.train.order or tuple(by_name)
    plans = tuple(wagons.resolve(by_name[name], description) for name in order)
    return TrainPlan(description, plans, trackside_of(description, plans))


def trackside_of(description: Description, plans: tuple[WagonPlan, ...]) -> Trackside:
    """Resolve what is printed for the track under a train of these wagons."""
    return tracksides.resolve(description, tuple(plan.name for plan in plans if plan.hung))
