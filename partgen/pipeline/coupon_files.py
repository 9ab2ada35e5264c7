"""The coupon drawn, checked as every part is, and written with its picture and the form to fill in."""

from pathlib import Path

from trimesh import Trimesh

from partgen.checks.bed import fit
from partgen.checks.meshes import open_edges
from partgen.checks.printed import PRINT_CHECKS
from partgen.describe.coupon_form import form
from partgen.describe.description import Description
from partgen.export import threemf
from partgen.export.manifest import Record, record
from partgen.export.stl import stl_bytes
from partgen.export.thumbnail import thumbnail
from partgen.files import put
from partgen.finding import Finding, judge
from partgen.identity import CouponId, title_stem
from partgen.paper.filaments import FILAMENTS, filament_for
from partgen.paper.plates import Batch, arrange
from partgen.pipeline import Progress
from partgen.printing.coupon import resolve
from partgen.printing.coupon_mesh import coupon_mesh
from partgen.printing.posed import Posed
from partgen.report.pictures import render
from partgen.report.scene import Prop, Scene
from partgen.solids.built import on_bed

COLOUR = FILAMENTS["cream"]
VIEW = (-0.05, -0.62, 1.2)
SIZE = (1280, 1000)


def draw(description: Description, progress: Progress) -> tuple[Trimesh, tuple[Finding, ...]]:
    """Return the coupon's mesh [mm], standing on the bed about the origin, and every finding on it."""
    progress("drawing the coupon", 0.0)
    who, printer, mesh = CouponId(), description.printer, on_bed(coupon_mesh(resolve(description)))
    progress("checking it", 0.3)
    posed, (x, y, z) = Posed(who, mesh, printer), mesh.extents
    return mesh, (judge("closed-mesh", who, open_edges(mesh), 0, "max", "1", "report it with the description"),
                  judge("one-body", who, mesh.body_count, 1, "max", "1", "report it with the description"),
                  fit(who, (x, y, z), printer), *(check(posed) for check in PRINT_CHECKS.values()))


def write(description: Description, mesh: Trimesh, out: Path, file: str,
          progress: Progress) -> tuple[Path, tuple[Record, ...], tuple[str, ...]]:
    """Write the coupon's files into its folder under `out`; return folder, their records and notes.

    A form that somebody has filled in stays as it is.
    """
    progress("writing files", 0.5)
    folder, plated = out / f"{title_stem(description.title)}-coupon", threemf.library() is not None
    put(folder / "coupon.stl", stl_bytes(mesh, "coupon"))
    if plated:
        put(folder / "coupon.3mf", _plate(description, mesh))
    notes = [*([] if plated else [threemf.WITHOUT]), *_form(description, folder / "measured.toml", file)]
    progress("taking its picture", 0.7)
    scene = Scene((Prop.of("coupon", mesh, COLOUR),), VIEW, SIZE, ground=0.0)
    untaken = render(scene, folder / "coupon.png")
    notes += [untaken] if untaken else []
    names = ["coupon.stl", *(["coupon.3mf"] if plated else []), "measured.toml", *([] if untaken else ["coupon.png"])]
    progress("done", 1.0)
    return folder, tuple(record(folder, folder / name, part=None) for name in names), tuple(notes)


def _plate(description: Description, mesh: Trimesh) -> bytes:
    printer, title = description.printer, f"{description.title}: coupon"
    bed, filament = (printer.bed_x, printer.bed_y), filament_for(COLOUR, printer.spools)
    (plate,), _ = arrange([Batch("coupon", mesh, 1, filament)], bed)
    about = "Print it as every part, measure it, and fill in measured.toml"
    return threemf.plate_3mf(plate, title, about, printer.material, thumbnail(plate.copies(), bed, FILAMENTS[filament]))


def _form(description: Description, path: Path, file: str) -> list[str]:
    """Write the form to fill in; return a note where another one is there already."""
    plan = resolve(description)
    ladders = [(ladder.name, ladder.drawn, ladder.gauge) for ladder in plan.ladders]
    text = form([*ladders, ("length", (plan.length,), 0.0)], description.title, file, plan.snapped)
    if path.exists() and path.read_text(encoding="utf-8", errors="replace") != text:
        return [f"{path} stays as you filled it in: delete it to get a fresh form"]
    put(path, text.encode())
    return []
