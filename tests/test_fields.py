"""Every field's default, range and unit, stated a second time with what it rests on.

A default must be safe to leave (design: what a maker may not know has a safe default); a range must hold whatever may
lie on the bench and refuse what can only be a slip of the pen. A new field gets its row here.
"""

import ast
import re
from pathlib import Path

import pytest
from test_clashes import all_tables

from partgen.describe.coupon_form import MeasuredLadder
from partgen.describe.description import Description
from partgen.describe.field import counts, extra, inner_table, limits, words

ROOT = Path(__file__).parents[1]

NUMBERS = """
Track.gauge              -       6      130  mm       N and Z scale downwards, 5 inch garden track upwards
Track.gauge_tolerance    0.2     0        2  mm       two hairs; a flange is 2 mm deep
Track.rail_head          2.5   0.4       12  mm       code 40 to the head of a garden rail
Track.rail_height        4     0.5       40  mm       a flange must find room under the rail's top
Track.twist              4       0       20  mm/m     railways' worst class, 3 in within 62 ft: 49 CFR 213.63
Track.joint_spacing      200     0     5000  mm       a short piece of sectional track
Track.min_radius         -      60    10000  mm       a dinner plate to a straight
Track.spacing            none   20     1000  mm       nobody lays a second track by itself
ClearanceBand.low        0    -100     2000  mm       from under the table to the ceiling
ClearanceBand.high       -       0     2000  mm       the same
ClearanceBand.half_width -       5     2000  mm       no train is narrower than its rails
PlanPiece.length         none    1    20000  mm       a curve has none
PlanPiece.radius         none   60   100000  mm       a straight has none
PlanPiece.angle          none    1      360  deg      once round at most
PlanPiece.gap            none  0.3       40  mm       from a flange of the smallest gauge to a wheel's width
PlanPiece.flangeway      none  0.3       20  mm       the longest flange
PlanPiece.times          1       1      500  pieces   what is listed is there
Obstacle.station         -       0   200000  mm       200 m of track
Obstacle.length          0       0   200000  mm       a post
Obstacle.distance        -       1     2000  mm       an arm's length and more
Obstacle.low             -50  -100     2000  mm       from below the rails: the safe side
Obstacle.high            500   -50     2000  mm       to over any train: the safe side
Stop.station             -       0   200000  mm       200 m of track
Locomotive.length        120    20      800  mm       a shunter
Locomotive.width         50      8      300  mm       as the wagons
Locomotive.mass          400    10    10000  g        a toy with its cells
Locomotive.wheelbase     60      5      400  mm       half its length
Locomotive.bogie_wheelbase 0     0      200  mm       none
Locomotive.low           5       0      100  mm       over the rails
Locomotive.high          70     10      400  mm       under a table's rim
Locomotive.adhesion      0.3  0.05        1  N/N      steel on steel, dry
Locomotive.adhesive_share 1    0.1        1  g/g      all wheels driven
Locomotive.coupler_height none   3      120  mm       as the train's
Locomotive.coupler_inset 6       0      200  mm       a pivot just under the body's end
Adaptor.under            -       5      150  mm       from under a low shunter to under a garden engine
Adaptor.length           -       8      150  mm       a pivot's boss and more
Adaptor.width            -       8      150  mm       the same
Coupler.height           13      3      120  mm       between rails and frame
Coupler.magnet_diameter  6       2       15  mm       the size of magnet-6x3
Coupler.magnet_length    3       1       10  mm       the size of magnet-6x3
Coupler.remanence        1.2   0.2      1.5  T        grade N35, the weakest sold
Coupler.gap              22      4       80  mm       a finger's breadth
Coupler.swing            35     10       42  deg      an S of curves of 320 mm asks for 28
Ride.speed               250    10     3000  mm/s     walking pace of a toy: a metre in four seconds
Ride.stop_time           1     0.1       20  s        stops happen within about a second
Ride.start_time          2     0.1       20  s        twice as gentle as a stop
Ride.sample_time         0.02 0.0005      1  s        fifty looks a second
Ride.speed_scatter       5       0       20  %        no motor holds one per cent
Ride.floor_tilt          1       0       10  deg      17 mm over a metre, an old house
Ride.gradient            0       0       15  %        laid level
Ride.joint_step          0.3     0        3  mm       three sheets of paper
Ride.rolling             0.04 0.001     0.3  N/N      dry plain bearings
Ride.breakaway           none 0.001     0.5  N/N      half as much again
Ride.wheel_friction      0.3  0.05        1  N/N      dry: wheels climb by it, so the high side is the safe one
Ride.reserve             3       0       30  mm       a drop that leaps
Ride.tip_safety          1.5     1        5  times    half as much again
Ride.pull_safety         1.2     1        5  times    a fifth more
Supply.capacity          2000   10   100000  mAh      a small power bank
Supply.cells             1       1       24  cells    a power bank counts as one
Supply.cell_voltage      3.7   0.8      4.5  V        lithium, as power banks are counted
Supply.efficiency        0.8   0.3        1  Wh/Wh    a fifth turns to heat
Supply.load_voltage      5       1       60  V        what every charger gives
Supply.load_current      1    0.01       20  A        a motor and its lights
Printer.bed_x            180    60     1000  mm       the smallest bed that is common
Printer.bed_y            180    60     1000  mm       the same
Printer.bed_z            160    40     1000  mm       the same
Printer.nozzle           0.4   0.2        1  mm       every printer's first nozzle
Printer.layer            0.2  0.06      0.6  mm       half the nozzle
Printer.line_width       0.45  0.2        1  mm       a little over the nozzle
Printer.bore_offset      0.15 -0.5      0.8  mm       bores print 0.1 to 0.2 mm small
Printer.peg_offset       0.05 -0.5      0.8  mm       pegs print slightly large
Printer.shrink           0       0        3  %        the slicing program scales for it
Printer.bridge           10      5       50  mm       reference 7.7: 10 to 15 by one source, 50 to 80 by another
Printer.snap_share       0.9   0.8     0.98  1        a tenth to press aside
Printer.spools           4       1        4  colours  what a train has: grey, wood, cream, green
Slicing.perimeters       3       1       10  1        three lines round
Slicing.skins            4       0       20  1        0.8 mm of 0.2 mm layers
Slicing.infill           20      0      100  %        a fifth
Slicing.outline_speed    45      5      500  mm/s     calm
Slicing.fill_speed       70      5      800  mm/s     calm
Slicing.first_speed      20      5      200  mm/s     so that it sticks
Slicing.travel_speed     130     10    1000  mm/s     faster than it prints
Slicing.acceleration     1000    50   50000  mm/s2    a tenth of g
Slicing.corner_speed     8       0.1    100  mm/s     walking round a corner
Slicing.retraction       0.1     0        2  s        4 mm at 40 mm/s
Slicing.least_layer_time 5       0      120  s        a breath
Slicing.heating          240     0     3600  s        four minutes
Slicing.filament         1.75  1.5      3.1  mm       the thinner of the two that are sold
Wheelset.tread_diameter  -       4      120  mm       a lentil to a saucer
Wheelset.flange_diameter -     4.4      130  mm       0.2 mm of flange at least
Wheelset.flange_thickness -    0.3        8  mm       sheet to a garden wheel
Wheelset.flange_angle    none   45       90  deg      each question its safe side
Wheelset.back_to_back    -       3      128  mm       inside the gauges of Track.gauge
Wheelset.width           -     0.8       25  mm       as thick as its flange and more
Wheelset.axle_diameter   -     0.8       12  mm       a needle to a pencil and a half
Wheelset.tube_diameter   4       1       16  mm       over an axle of 3 mm
Wheelset.over_points     none    5      160  mm       a small wheelset to a garden one
Wheelset.bearing_outer   7       3       30  mm       sold for axles of 1 to 15 mm
Wheelset.bearing_width   3       1        9  mm       the same
Wheelset.ring            none  0.5        4  mm       a thread of rubber to a hose
Wheelset.mass            12    0.1      500  g        two wheels on a nail
Module.length            -       2      400  mm       a switch to a long power bank
Module.width             -       2      200  mm       the same
Module.height            -       1      150  mm       a board to a lantern
Module.mass              -     0.1     3000  g        a chip to a brick
Module.plug_room         12      0       80  mm       a small plug and its bend
Module.heat              0       0       20  W        it stays cool
Module.current           none    0    20000  mA       the supply's load counts for all
Module.hole              3       1        6  mm       an M3
Module.board             1.6     0.4     10  mm       a common board
Module.standoff          0       0       20  mm       as its screws ask
LooksOut.width           -       1      200  mm       a lamp to a display
LooksOut.height          -       1      200  mm       the same
LooksOut.aside           0    -200      200  mm       in the middle
LooksOut.rise            0    -200      200  mm       in the middle
LooksOut.panel           0       0        4  mm       as the wall is, up to the thickest
Cup.mass                 -       1     2000  g        paper to a jug
Cup.wall                 3     0.1       12  mm       porcelain
Cup.inner_floor          none  0.1      200  mm       as the wall is thick
Cup.fill                 35      0      300  mm       an espresso
Cup.volume               none    0     2000  ml       the ruler tells it
Cup.full_mass            none    1     4000  g        the ruler tells it
Cup.handle_length        25      3       80  mm       a finger's room and the bow
Cup.density              1     0.6      1.6  g/cm3    water
Cup.viscosity            0.3     0     1000  mm2/s    water just off the boil, thinner than any drink: the safe side
Cup.friction             0.2  0.02      1.5  N/N      damp glass on plastic: slides early, the safe side
Wagon.wheelbase          -      12      600  mm       two lentils to a metre of wagon
Wagon.pivot_spacing      none   30      600  mm       two axles
Wagon.travel             4       0       40  mm       one step of wheelbase each way
Wagon.length             none   30      700  mm       as the load asks
Wagon.width              none   16      250  mm       as the load asks
Wagon.height             none    8      200  mm       as the load asks
Wagon.wall               2     0.8        4  mm       four lines and a bit
Wagon.levels             1       1        2  levels   a low wagon
Wagon.sensor_station     none -350      350  mm       half the longest body
Wagon.sensor_gap         4       1       30  mm       over a marker
Wagon.ballast            0       0     3000  g        none is needed; a brick
Wagon.columns            0       0        6  columns  as many as there is room for
MeasuredLadder.gauge               0       0       60  mm       not tried
MeasuredLadder.fits                0       0       60  mm       not tried
Cable.cores              2       1       12  cores    a pair, as lamps and motors have
Cable.section            0.25 0.05      2.5  mm2      AWG 30 to what feeds a lamp in a house
Cable.gauge              0       0       30  AWG      none: metric, by its section
Cable.current            none 0.001      20  A        all that the train takes: the safe side
Supply.most_current      1.5  0.05       30  A        a charging port, IEC 63002 cl. 4.4
Supply.least_current     0       0        2  A        a holder of cells never switches off
Supply.motor_current     none 0.01       20  A        all of it: the safe side
Supply.current_limit     none 0.05       30  A        none: ten times the running current, the safe side
"""

CHOICES = """
Track.closed           no
Track.spacing_side     left: right
PlanPiece.go           -: straight left right crossing
Obstacle.side          -: left right
Train.gauges           yes
Coupler.layout         pair: single
Adaptor.mount          tape: glue screws
Locomotive.adaptor     left out
Ride.ramp              even: shaped
Printer.material       PLA: PETG ABS ASA
Wheelset.ends          plain: tube bearing pin
Wheelset.printed       no
Module.mount           lip: bosses strap tape panel
Module.at              anywhere: front middle back left right
Module.carries         no
Module.lies_on_top     no
Module.battery         no
Module.charges         no
Module.dry             no
LooksOut.side          -: front back left right top bottom
LooksOut.shape         rectangle: round slot grille
Cup.hot                no
Cup.handle             no
Wagon.lights           none: lamps strip
Wagon.coupler_on       body: bogie
Wagon.ballast_of       nuts: shot
Wagon.sides            planked: panelled plain
Wagon.plate_print      on-wall: apart
Wagon.screw            M3: M2 M2.5
Description.invented   no
"""

COUNTS = """
Track.clearance        0   20
Track.plan             0 2000
Track.obstacle         0  200
Track.stop             0  100
Obstacle.name          1   40
Stop.name              1   40
Train.order            0   60
Train.maker_note       1  200
Module.label           1   40
Module.turns           0    4
Module.plugs           0    6
Module.plug_rooms      0    6
Module.looks_out       0    6
Module.holes           0   12
Module.head            0    3
Cup.label              1   40
Cup.profile            2   24
Cup.inner              0   24
Cable.from             1   90
Cable.to               1   90
Cable.plug             0    2
Wagon.name             1   30
Wagon.wheelset         1   40
Wagon.plate            0   24
Wagon.modules          0   12
Wagon.wires            0   40
Wagon.at               0   12
Wagon.cups             0   40
Wagon.inserts          0    6
MeasuredLadder.drawn             1   12
MeasuredLadder.measured          0   12
Description.title      1   60
Description.wheelset   1  100
Description.module     0  100
Description.cup        0  100
Description.wagon      1   60
Description.cable      0   60
"""

MODELS = {model.__name__: model for model in (*(model for _, model in all_tables()), MeasuredLadder, Description)}
FIELDS = {f"{model}.{name}": field for model, fields in MODELS.items() for name, field in fields.model_fields.items()}


def rows(table):
    return [row.split(None, 1) for row in table.strip().splitlines()]


@pytest.mark.parametrize("name, row", rows(NUMBERS))
def test_number_is_as_stated(name, row):
    default, low, high, unit, why = row.split(None, 4)
    field = FIELDS[name]
    assert (*limits(field), extra(field, "unit")) == (float(low), float(high), unit) and why
    assert field.is_required() if default == "-" else field.default == (None if default == "none" else float(default))


@pytest.mark.parametrize("name, row", rows(CHOICES))
def test_choice_is_as_stated(name, row):
    field, (default, _, others) = FIELDS[name], row.partition(": ")
    if row == "left out":
        assert field.default is None and inner_table(field)
    elif row in ("yes", "no"):
        assert field.annotation is bool and field.default is (row == "yes")
    elif default == "-":
        assert field.is_required() and set(words(field)) == set(others.split())
    else:
        assert field.default == default and set(words(field)) == {default, *others.split()}


@pytest.mark.parametrize("name, row", rows(COUNTS))
def test_count_is_as_stated(name, row):
    assert counts(FIELDS[name]) == tuple(map(int, row.split()))


def test_every_field_has_its_row_and_every_table_within_another_needs_none():
    stated = [name for table in (NUMBERS, CHOICES, COUNTS) for name, _ in rows(table)]
    assert len(set(stated)) == len(stated)
    assert {name for name, field in FIELDS.items() if inner_table(field) is not field.annotation} - {
        "Description.track"} == set(stated)


def test_every_field_is_read_by_somebody():
    """What a maker fills in does something."""
    read = {node.attr for path in (ROOT / "partgen").rglob("*.py") for node in ast.walk(ast.parse(path.read_text()))
            if isinstance(node, ast.Attribute)}
    read |= {node.slice.value for path in (ROOT / "partgen/describe").rglob("*.py")
             for node in ast.walk(ast.parse(path.read_text()))
             if isinstance(node, ast.Subscript) and isinstance(node.slice, ast.Constant)}      # `from` is no attribute
    read |= {word for path in (ROOT / "partgen").rglob("*.html") for word in re.findall(r"\w+", path.read_text())}
    assert [name for name in FIELDS if name.split(".")[1] not in read] == []


def test_units_are_said_where_a_number_stands():
    known = set("mm g s mm/m mm/s mm/s2 deg % N/N g/g T mAh V A Wh/Wh g/cm3 mm2/s ml W mA 1 times pieces cells levels "
                "cores mm2 AWG columns colours".split())
    assert {extra(field, "unit") for field in FIELDS.values() if limits(field)[0] is not None} == known
    assert all(re.fullmatch(r"[A-Za-z].*[^.]", field.description or "x.x") for field in FIELDS.values())
