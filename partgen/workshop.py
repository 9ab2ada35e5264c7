"""From a plan to solids, meshes and files: the half of the pipeline that needs the CAD kernel."""

import warnings as python_warnings
from pathlib import Path

from partgen import parts
from partgen.checks import solid
from partgen.checks.built import Built, lay
from partgen.describe.description import Description
from partgen.describe.load import digest
from partgen.export.folder import replaced, slug
from partgen.export.manifest import manifest, record
from partgen.export.stl import stl_bytes
from partgen.mesh import mesh_of
from partgen.plan.hardware import DENSITY
from partgen.plan.train import TrainPlan
from partgen.report import album, page

__all__ = ["make", "solid", "write"]

SOLIDS_SHARE, PICTURES_SHARE = 0.6, 0.75


def make(train: TrainPlan, progress) -> tuple[Built, tuple[str, ...]]:
    """Build and mesh every part once, however many wagons use it; return meshes and the builders' warnings."""
    wanted = {(item.part, item.plan): None for plan in train.wagons for item in plan.items}
    done = {}
    with python_warnings.catch_warnings(record=True) as caught:
        python_warnings.simplefilter("always", parts.PartWarning)
        for number, (part, plan) in enumerate(wanted):
            progress(f"shaping {part}", SOLIDS_SHARE * number / len(wanted))
            shape = parts.build(part, plan)
            done[part, plan] = mesh_of(shape), shape.Volume()
    keys = [(wagon.name, item.name, done[item.part, item.plan]) for wagon in train.wagons for item in wagon.items]
    built = Built(train, {(wagon, name): mesh for wagon, name, (mesh, _) in keys},
                  {(wagon, name): volume for wagon, name, (_, volume) in keys})
    said = (str(entry.message) for entry in caught if issubclass(entry.category, parts.PartWarning))
    return built, tuple(dict.fromkeys(said))


def write(description: Description, built: Built, findings, out: Path, anyway: bool, pictures: bool, progress):
    """Write the train's folder under `out`; return its path, the files' records and what is missing."""
    title = built.train.title
    target = out / slug(title)
    with replaced(target) as fresh:
        progress("writing parts", SOLIDS_SHARE)
        records = [_part(fresh, built, *entry) for entry in files_of(built).items()]
        progress("taking pictures", PICTURES_SHARE)
        taken, missing = album.take(fresh / "pictures", built) if pictures else ((), ())
        records += [record(fresh, path, part=None, caption=caption) for path, caption in taken]
        text = page.page(built, description, findings, records, missing)
        (fresh / "report.html").write_text(text, encoding="utf-8")
        records.append(record(fresh, fresh / "report.html", part=None))
        whole = manifest(title, digest(description), findings, records, despite_failures=anyway)
        (fresh / "manifest.json").write_text(whole, encoding="utf-8")
    progress("done", 1.0)
    return target, tuple(records), missing


def files_of(built: Built) -> dict[str, list]:
    """Return file stem to its (wagon plan, item) users: one file for all wagons where the part is the same."""
    by_name: dict[str, dict] = {}
    for plan, item, _ in built.parts():
        by_name.setdefault(item.name, {}).setdefault(item.plan, []).append((plan, item))
    stems = {}
    for name, plans in by_name.items():
        for users in plans.values():
            stem = name if len(plans) == 1 else f"{'-'.join(slug(plan.name) for plan, _ in users)}-{name}"
            stems[stem] = users
    return stems


def _part(folder: Path, built: Built, stem: str, users) -> dict:
    """Write one part's STL in its print pose and return its record."""
    plan, item = users[0]
    mesh = lay(item, built.meshes[plan.name, item.name])
    path = folder / "parts" / f"{stem}.stl"
    path.parent.mkdir(exist_ok=True)
    path.write_bytes(stl_bytes(mesh, stem))
    mass = mesh.volume * DENSITY[built.train.description.printer.material]
    return record(folder, path, part=item.name, wagons=[user.name for user, _ in users],
                  count=sum(item.count for _, item in users), pose=item.pose, mass_g=round(mass, 2),
                  size_mm=[round(float(side), 2) for side in mesh.extents])
