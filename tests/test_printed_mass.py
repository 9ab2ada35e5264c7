"""What a part weighs as printed: from its plan by arithmetic, against its layers' paths once it is built."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import box
from shapely.ops import unary_union
from solids import as_mesh, block
from trains import random_description

from partgen import parts
from partgen.describe.load import loads
from partgen.describe.printer_tables import Printer, Slicing
from partgen.plan.item import BlockPlan
from partgen.plan.mass import centre
from partgen.plan.mass import loads as masses
from partgen.plan.outline import uncovered
from partgen.plan.printed import print_time, printed_mass, set_for
from partgen.plan.train import resolve
from partgen.printing.estimate import NOTHING, estimate
from partgen.solids.built import lay
from partgen.solids.mesh import mesh_of

TIME = 0.33
WAGON = 0.04
PART = 0.08
LIGHT = 0.1             # g: clamp bars of a gram, whose small hollows come and go with the nuts' pockets
SPAN = st.tuples(st.integers(-30, 30), st.integers(1, 20)).map(lambda span: (float(span[0]), float(sum(span))))


class Thick(BlockPlan, frozen=True):
    """A plain block."""

    @property
    def volume(self):
        return self.length * self.width * self.height

    def cores(self, wall):
        yield (self.length - 2 * wall) * (self.width - 2 * wall), self.height


@given(st.lists(st.tuples(SPAN, SPAN), max_size=6))
def test_what_no_rectangle_covers(others):
    """shapely's union of the same rectangles."""
    rectangles = [box(x0, y0, x1, y1) for (x0, x1), (y0, y1) in others]
    free = box(-20, -10, 20, 10) - unary_union(rectangles)
    assert uncovered(((-20.0, 20.0), (-10.0, 10.0)), others) == pytest.approx(free.area)
    assert uncovered(((5.0, -5.0), (-10.0, 10.0)), others) == 0.0


def test_a_block_by_hand():
    """40 x 30 x 10 mm: two lines and four layers round it are solid, four fifths of the rest are air. Along its edge
    turns of lines at 45 degrees add to both, one for every sqrt(8) of their distance; the outermost strand is round.
    """
    printer = Printer(slicing=Slicing(perimeters=2, skins=4, infill=20))
    spacing = 0.45 - 0.2 * (1 - 3.14159265 / 4)
    wall, turn = 0.225 + 1.5 * spacing, spacing / 8**0.5
    long, wide = 40 - 2 * wall, 30 - 2 * wall
    edge, corner = 2 * (long + wide) * turn, (0.45 - spacing) / 2

    def weighs(block, plastic):
        assert printed_mass(Thick(*block), printer) == pytest.approx(plastic * 1.24e-3, rel=1e-3)

    weighs((40.0, 30.0, 10.0), 12000 - 1400 * corner + 1.6 * 0.8 * edge - 8.4 * (0.8 * long * wide - 1.2 * edge))
    weighs((9.0, 9.0, 10.0), 810 - 360 * corner + 8 * 4 * (9 - 2 * wall) * turn)    # small: filled whole
    weighs((40.0, 30.0, 1.6), 1920 - 1.6 * (140 * corner - 0.8 * edge))             # all skins
    weighs((40.0, 30.0, 0.65), 720 - 0.6 * (140 * corner - 0.8 * edge))             # three layers


@settings(max_examples=20)
@given(perimeters=st.integers(1, 5), skins=st.integers(0, 6), infill=st.integers(5, 60), width=st.integers(14, 60),
       height=st.integers(2, 15))
def test_a_block_weighs_what_its_paths_do(perimeters, skins, infill, width, height):
    printer = Printer(slicing=Slicing(perimeters=perimeters, skins=skins, infill=infill))
    built = estimate(as_mesh(block(40, width, height)), printer).mass
    assert printed_mass(Thick(40.0, float(width), float(height)), printer) == pytest.approx(built, rel=0.03)


@pytest.mark.slow
@pytest.mark.parametrize("seed", [5])
def test_random_wagons_weigh_what_is_printed(seed):
    """As their plan says, within 8 % for a part and 4 % for a wagon, however the slicing program is set; and they take
    as long within a third. Of fifteen random wagons, and eight in lines of 0.3 to 0.8 mm, the worst was 3.2 % off and
    the time -11 to +29 %. Of their parts three kinds were further off than 8 %: drawbars and clamp bars whose hollow is
    just large enough not to be filled whole up to 15 %, 0.6 g, and one cradle 10 %, whose planned volume is low."""
    train = resolve(loads(random_description(seed, wagons=1)))
    plan, given_by = train.wagons[0], train.description.printer
    meshes = {item.name: lay(item, mesh_of(parts.build(item.part, item.plan)), given_by) for item in plan.items}
    quick = Slicing(perimeters=2, skins=3, infill=40, outline_speed=120, fill_speed=200, acceleration=5000)
    for slicing in (Slicing(), Slicing(perimeters=2, skins=3, infill=40), quick):
        printer = given_by.model_copy(update={"slicing": slicing})
        each = {item.name: estimate(meshes[item.name], set_for(item.plan, printer)) for item in plan.items}
        built = {name: one.mass for name, one in each.items()}
        for item in plan.items:
            assert printed_mass(item.plan, printer) == pytest.approx(built[item.name], rel=PART, abs=LIGHT), item.name
        printed = [load for load in masses(plan, printer) if load.kind == "printed"]
        whole = sum(built[item.name] * item.count for item in plan.items if not item.loose)
        assert centre(printed)[0] == pytest.approx(whole, rel=WAGON)
        side_by_side = sum((each[item.name] * item.count for item in plan.items), NOTHING)
        hours = sum(print_time(item.plan, printer) * item.count for item in plan.items)
        assert hours == pytest.approx(side_by_side.time, rel=TIME)
