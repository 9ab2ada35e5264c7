"""From a plan to solids, meshes and files: the half of the pipeline that needs the CAD kernel."""

from collections.abc import Collection
from concurrent.futures import Executor
from hashlib import sha256
from pathlib import Path
from typing import Any

from msgspec.structs import replace

from partgen import parts
from partgen.checks.pieces import piece_count
from partgen.describe.load import digest
from partgen.errors import OutputError
from partgen.export import threemf
from partgen.export.bodies import bodies
from partgen.export.firmware import figures
from partgen.export.gltf import train_glb
from partgen.export.hardware import hardware_bodies
from partgen.export.manifest import BLANK, NAME, Record, earlier, manifest, record, written
from partgen.export.reprint import with_changes
from partgen.export.step_assembly import wagon_step
from partgen.export.step_text import named
from partgen.export.stl import shape, stl_bytes
from partgen.export.thumbnail import thumbnail
from partgen.files import put, replaced
from partgen.finding import counted, worst
from partgen.kept import Store
from partgen.paper.assembly import told
from partgen.paper.bill import as_csv, bill
from partgen.paper.filaments import FILAMENTS, filament_for
from partgen.paper.filenames import User, part_files, wagon_stems
from partgen.paper.order import GAUGES_FOR, PrintJob, Run, print_job
from partgen.paper.plates import GAP
from partgen.pipeline import Outcome, Progress, silent
from partgen.pipeline.asked import EVERYTHING, Asked, sources, still_true
from partgen.pipeline.forms import form_of, shaped_by
from partgen.pipeline.hands import many
from partgen.pipeline.papers import Paper, Papers
from partgen.pipeline.places import Place, seen_from
from partgen.pipeline.tally import tallies
from partgen.plan.train import TrainPlan
from partgen.printing.estimate import NOTHING
from partgen.printing.pose import advise
from partgen.report.album import Album
from partgen.report.page import page
from partgen.solids.built import Made
from partgen.solids.mesh_key import digest as mesh_digest

REPORT = "report.html"
SOLIDS_SHARE, PLATES_SHARE, PICTURES_SHARE, RIDE_SHARE = 0.6, 0.68, 0.75, 0.93


class Lost(Exception):
    """Pieces of the plan are not where they have to be; `args` are the findings, which name them. What was written is
    thrown away."""


def in_time(found: Outcome, hours: float, kept: Store, hands: Executor | None, progress: Progress) -> Outcome:
    """Return what was `found`, of the train that rolls within so many hours of printing; all parts are shaped for it
    and `kept`. Raises TooSoon where no wagon rolls by then."""
    made, warnings = make(found.train, kept, hands, progress)
    cut = print_job(made, part_files(found.train)).by(hours)
    train = found.train.kept(cut.wagons)
    return replace(found, description=train.description, train=train, warnings=warnings, cut=cut)


def make(train: TrainPlan, kept: Store, hands: Executor | None = None, progress: Progress = silent,
         asked: Asked = EVERYTHING) -> tuple[Made, tuple[str, ...]]:
    """Return every part that has to be shaped for what is `asked`, once, however many wagons use it, and the builders'
    warnings.

    What was `kept` before is taken from there; much is shaped by `hands`, the rest here.
    """
    items = {(item.part, item.plan): item for item in asked.shaped(train)}

    def shaping(part: str, share: float) -> None:
        progress(f"shaping {counted(len(items), 'part')}: {part}", SOLIDS_SHARE * share)

    if hands and many(list(items.values()), kept):
        shaped_by(hands, list(items.values()), train.description.printer, kept, shaping)
    forms, meshes = {}, {}
    for number, (key, item) in enumerate(items.items()):
        shaping(item.part, number / len(items))
        forms[key] = form_of(item, kept)
        meshes[key] = forms[key].mesh
    places = {(plan.name, item.name): (item.part, item.plan) for plan in train.printed for item in plan.items
              if (plan.name, item.name) in asked.solid(train)}
    made = Made(train, {at: meshes[key] for at, key in places.items()},
                {at: forms[key].volume for at, key in places.items()}, kept,
                {at: forms[key].step for at, key in places.items()})
    return made, tuple(dict.fromkeys(said for form in forms.values() for said in form.warnings))


def write(built: Made, found: Outcome, place: Place, anyway: bool, asked: Asked, papers: Papers, album: Album | None,
          progress: Progress) -> Outcome:
    """Write the train's folder at its `place`; return what was `found` with all findings, its path, the files' records
    and what is missing.

    Where not all is `asked` for, files of an earlier build stay beside it that are as they would be, all others of it
    go. `papers` gives what was drawn without solids; `album` the pictures being taken, None where none are wanted.
    Where a piece is lost on the way nothing is written and there is no path, unless it is to be written `anyway`.
    """
    target, staying = place.folder, set[str]()
    before = earlier(target)

    def going() -> frozenset[str]:
        if staying and earlier(target) != before:
            raise OutputError(f"{target} was built anew meanwhile, so what was to stay of it is no longer there: build "
                              "once more")
        return place.giving_way() - staying

    try:
        with replaced(target, going) as fresh:
            done, stays = _filled(fresh, target, built, found, anyway, asked, papers, album, progress)
            staying |= stays
    except Lost as lost:
        return replace(found, findings=lost.args)
    progress("done", 1.0)
    return replace(done, folder=target)


def _filled(fresh: Path, target: Path, built: Made, found: Outcome, anyway: bool, asked: Asked, papers: Papers,
            album: Album | None, progress: Progress) -> tuple[Outcome, set[str]]:
    """Write all that is `asked` for into a `fresh` folder that takes the place of `target`; return what was found with
    all findings, records and what is missing, and the paths in `target` that stay."""
    train, kinds, bought = built.train, asked.kinds, bill(built.train)
    job = _job(built, asked)
    records, missing = _of_solids(fresh, built, job, kinds, progress)
    missing = (*([str(found.cut)] if found.cut else []), *missing)
    counted = tuple(piece_count(tallies(fresh, records, job, bought, asked)))
    found = replace(found, findings=(*found.findings, *counted))
    if worst(counted) == "fail" and not anyway:
        raise Lost(*found.findings)
    if album:
        progress("taking pictures", PICTURES_SHARE)
    taken, untaken = album(fresh / "pictures") if album else ({}, ())
    records += [record(fresh, path, kind="pictures", part=None, caption=caption) for path, caption in taken.items()]
    if "ride" in kinds:
        progress("writing the ride card", RIDE_SHARE)
    drawn = papers()
    records += [_file(fresh, paper.name, _filled_in(target, paper), **paper.about) for paper in drawn.papers]
    found = replace(found, warnings=(*found.warnings, *missing, *untaken), ridden=drawn.ride,
                    complete=not untaken and worst(counted) != "fail")
    printing = _printing(job, found) if {"plates", "report"} & set(kinds) and not asked.some else None
    if "bill" in kinds:
        records.append(_file(fresh, "bom.csv", as_csv(bought).encode(), kind="bill"))
    now = {one["path"] for one in records} | ({REPORT} if "report" in kinds else set())
    staying = [] if asked.everything else still_true(target, earlier(target), now, sources(train))
    if "report" in kinds and printing:
        text = page(built, drawn.ride, found.findings, [*records, *staying], (*missing, *untaken), printing, bought,
                    list(advise(built)))
        records.append(_file(fresh, REPORT, text.encode(), kind="report"))
    return _signed(fresh, target, train, found, records, staying, asked, printing, anyway)


def _of_solids(fresh: Path, built: Made, job: PrintJob, kinds: Collection[str], progress: Progress
               ) -> tuple[list[Record], tuple[str, ...]]:
    """Write what is made of solids, as far as those `kinds` are wanted; return the records and what is missing."""
    progress("writing parts", SOLIDS_SHARE)
    records = [_part(fresh, built, job, *entry) for entry in part_files(built.train).items()
               if "stl" in kinds and entry[0] in job.files]
    records += _assemblies(fresh, built, job, kinds)
    if "plates" not in kinds:
        return records, ()
    progress("filling plates", PLATES_SHARE)
    on_plates, missing = _plates(fresh, job, built.kept)
    return records + on_plates, missing


def _job(built: Made, asked: Asked) -> PrintJob:
    """Return how what is `asked` for is printed, estimated where that is told of anywhere."""
    files = asked.files(built.train)
    if {"stl", "plates", "report"} & set(asked.kinds):
        return print_job(built, files, asked.some)
    return PrintJob(built.train, files, {}, {}, NOTHING)


def _printing(job: PrintJob, found: Outcome) -> Record:
    """Return what the whole print takes, and its order."""
    return job.record() | (found.cut.record() if found.cut else {})


def _signed(fresh: Path, target: Path, train: TrainPlan, found: Outcome, records: list[Record], staying: list[Record],
            asked: Asked, printing: Record | None, anyway: bool) -> tuple[Outcome, set[str]]:
    """Write the manifest of what was written to `fresh` and of what is `staying` in `target` beside it; return what was
    found with the records of what was written, and the paths of what stays."""
    before, source = earlier(target), sources(train)
    records = [one | {"made_of": source(one["path"])} for one in records]
    if printing is None and {"plates", "report"} & {one["kind"] for one in staying}:
        printing = before["printing"]       # which they tell of
    gone = written(before) - {one["path"] for one in (*records, *staying)} - {NAME}
    text = manifest(train.description.title, digest(train.description), found.findings, [*records, *staying], printing,
                    bill(train), told(found.ride), figures(found.ride), despite_failures=anyway,
                    asked=None if asked.everything else asked.record(staying, gone),
                    kept_failed=before["failed"] if staying else ())
    put(fresh / NAME, with_changes(text, seen_from(target, found.file), before).encode())
    return replace(found, files=tuple(records)), {one["path"] for one in staying}


def _filled_in(target: Path, paper: Paper) -> bytes:
    """Return a paper's bytes; of a form in `target` that somebody has filled in since, what stands there."""
    blank = next((one.get(BLANK) for one in earlier(target).get("files", ()) if one["path"] == paper.name), None)
    if BLANK not in paper.about or not blank or not (target / paper.name).is_file():
        return paper.data
    there = (target / paper.name).read_bytes()
    return there if sha256(there).hexdigest() != blank else paper.data


def _part(folder: Path, built: Made, job: PrintJob, stem: str, users: list[User]) -> Record:
    """Write one part's STL in its print pose and return its record; it is of all its `users`, asked for or not."""
    plan, item = job.files[stem][0]
    mesh, printer, drawn = built.laid(plan, item), built.train.description.printer, parts.record_of(item.part)
    data = stl_bytes(mesh, stem)
    return _file(folder, f"parts/{stem}.stl", data, kind="stl", part=item.name, shape=shape(data),
                 material=printer.material, filament=filament_for(drawn.colour, printer.spools),
                 wagons=[user.name for user, _ in users], count=sum(item.count for _, item in users),
                 pose=drawn.pose, mass_g=round(job.each[stem].mass, 2),
                 size_mm=[round(float(side), 2) for side in mesh.extents], **job.each[stem].record())


def _assemblies(folder: Path, built: Made, job: PrintJob, kinds: Collection[str]) -> list[Record]:
    """Write as STEP every wagon whose parts were all made, and every part, the train as glTF, as far as those `kinds`
    are wanted; return their records."""
    train, stems, records = built.train, wagon_stems(built.train.origin), []
    if "step" in kinds:
        made = built.made
        files = {f"step/{stems[plan.name]}.step":
                 wagon_step(plan.name, (*bodies(plan, built.steps), *hardware_bodies(plan)))
                 for plan in train.wagons if plan in made}
        for stem, ((plan, item), *_) in job.files.items():
            files[f"step/parts/{stem}.step"] = named(built.steps[plan.name, item.name], stem)
        records = [_file(folder, name, data, kind="step") for name, data in files.items()]
    if "gltf" in kinds:
        scene = train_glb((stems[plan.name], x, bodies(plan, built.meshes))
                          for plan, x in zip(train.wagons, train.stations, strict=True))
        records.append(_file(folder, "train.glb", scene, kind="gltf"))
    return records


def _plates(folder: Path, job: PrintJob, kept: Store) -> tuple[list[Record], tuple[str, ...]]:
    """Write every plate of the train in the order of work; return their records and what is missing."""
    notes = [f"{name} is on no plate: it is larger than the bed, however turned" for name in job.too_large]
    if threemf.library() is None:
        notes.append(threemf.WITHOUT)
    return [_plate(folder, job, run, kept) for run in job.runs], tuple(notes)


def _plate(folder: Path, job: PrintJob, run: Run, kept: Store) -> Record:
    """Write one plate, as 3MF where that can be, and return its record."""
    train, printer, plate = job.train, job.train.description.printer, run.plate
    bed = printer.bed_x, printer.bed_y
    holds = ", ".join(f"{count} x {name}" for name, count in plate.counts.items())
    how = f"; {plate.how}" if plate.how else ""
    about = f"{holds}{how}; {GAP:g} mm apart on a bed of {bed[0]:g} x {bed[1]:g} mm"
    if threemf.library() is None:
        name, data = f"plates/{run.name}.stl", stl_bytes(plate.joined(), run.name)
    else:
        title = (f"{train.description.title}: plate {run.number} of {len(job.runs)}, {printer.material} "
                 f"{plate.filament}, for {run.wagon or GAUGES_FOR}")
        known = [(batch.name, mesh_digest(batch.mesh), [place.tolist() for place in places])
                 for batch, places in plate.stands]
        name = f"plates/{run.name}.3mf"
        data = kept.raw("plates", (title, about, printer.material, bed, plate.filament, known), lambda: (
            threemf.plate_3mf(plate, title, about, printer.material, thumbnail(plate.copies(), bed,
                                                                               FILAMENTS[plate.filament]))))
    changed = {"change_after_layer": plate.change[0], "change_at_mm": plate.change[1]} if plate.change else {}
    return _file(folder, name, data, kind="plates", filament=plate.filament, **changed, material=printer.material,
                 holds=plate.counts, plates_of_filament=plate.of_filament, at_least=plate.at_least, **job.of_run(run))


def _file(folder: Path, name: str, data: bytes, **about: Any) -> Record:
    """Write a file and return its record; `part` in it names the part that it is of, None where it is of no one."""
    put(folder / name, data)
    return record(folder, folder / name, **{"part": None} | about)
