"""Many trains in one call: one that cannot be built stops no other; any executor builds what one would build here."""

import json
import pickle
from concurrent.futures import Executor, Future
from threading import current_thread, main_thread

import pytest
from conftest import bare
from test_pieces import blocks

from partgen import pipeline
from partgen.checks import on_solids
from partgen.errors import DescriptionError, OutputError
from partgen.pipeline import forms, many
from partgen.pipeline.asked import Asked
from partgen.pipeline.many import Wished, build_all

TRAIN = bare(ride="[ride]\nstop_time = 1.2")
BARELY, STL = Wished(pictures=False), Wished(asked=Asked(kinds=("stl",)))


class Afar(Executor):
    """Runs what it is sent at once; all that goes there and comes home goes through bytes, as to another machine."""

    def __init__(self):
        self.sent = []

    def submit(self, function, /, *given, **named):
        done = Future()
        try:
            function, given = pickle.loads(pickle.dumps((function, given)))
            done.set_result(pickle.loads(pickle.dumps(function(*given, **named))))
        except Exception as error:
            done.set_exception(pickle.loads(pickle.dumps(error)))
        self.sent.append(done)
        return done


@pytest.fixture
def club(tmp_path, monkeypatch):
    """Two trains' files, one without a title, one of which a check fails, one called as the first; of plain blocks."""
    blocks(monkeypatch)
    monkeypatch.setattr(on_solids, "run", lambda built: ())         # blocks overlap
    texts = {"a": TRAIN, "bad": "title =", "tight": TRAIN.replace("Test line", "Tight").replace("= 64", "= 95"),
             "twin": TRAIN.replace("= 64", "= 65"), "z": TRAIN.replace("Test line", "Z")}
    for name, text in texts.items():
        (tmp_path / f"{name}.toml").write_text(text, encoding="utf-8")
    return [tmp_path / f"{name}.toml" for name in texts]


def files_in(folder):
    return {path.relative_to(folder).as_posix(): path.read_bytes() for path in folder.rglob("*") if path.is_file()}


@pytest.mark.slow
def test_one_that_cannot_be_built_stops_no_other(club, run, tmp_path):
    done = run("build", *club, "-o", tmp_path / "out", "--only", "bill")
    assert done.exit_code == 2, "the gravest of all"
    assert {path.name for path in (tmp_path / "out").iterdir()} == {"test-line", "z"}
    table = done.stdout.split("5 files;")[1].splitlines()[2:]
    assert [line.split()[0].split("/")[-1] for line in table] == [path.name for path in club]
    assert [line.count(" built ") for line in table] == [1, 0, 0, 0, 1]
    assert "not built" in table[2] and "fail" in table[2] and "tight.toml: wheelbase of one: " in done.stdout
    assert "bad.toml:\nthe description cannot be used" in done.stderr
    assert 'a.toml calls its train "Test line" too' in done.stderr
    assert json.loads((tmp_path / "out" / "test-line" / "manifest.json").read_text())["description_file"] == (
        "../../a.toml")
    assert run("build", club[2], club[2], club[4], "-o", tmp_path / "out", "--only", "bill").exit_code == 1
    one, other = json.loads(run("build", club[1], club[4], "-o", tmp_path / "out", "--only", "bill", "--json").stdout
                            )["trains"]
    assert one["faults"] and one["file"] == str(club[1]) and other["files"][0]["path"] == "bom.csv"


@pytest.mark.slow
def test_whole_trains_are_built_by_an_executor(club, tmp_path, monkeypatch):
    """Where nothing is made here: what comes home is what is built here, and a fault there is told here."""
    pipeline.build(club[0], tmp_path / "here", pictures=False)
    afar = Afar()
    found = build_all(club[:4], tmp_path / "there", BARELY, executor=afar)
    assert files_in(tmp_path / "here" / "test-line") == files_in(tmp_path / "there" / "test-line")
    assert [type(one) for one in found.values()] == [
        pipeline.Outcome, DescriptionError, pipeline.Outcome, OutputError]
    assert len(afar.sent) == 1, "none that cannot be built"
    assert found[club[0]].reused == {"builds": 1} and not found[club[0]].made.get("parts")
    monkeypatch.setattr(forms, "_shaped", lambda item: 1 / 0)
    found = build_all(club[:1], tmp_path / "there", Wished(pictures=False, anyway=True), executor=afar)
    assert isinstance(found[club[0]], ZeroDivisionError)


@pytest.mark.slow
def test_a_cluster_is_such_an_executor(club, tmp_path, monkeypatch):
    """A local one, its worker a thread of this process: that makes every part."""
    where, shape = set(), forms._shaped
    monkeypatch.setattr(forms, "_shaped", lambda item: where.add(current_thread()) or shape(item))
    distributed = pytest.importorskip("distributed", reason="the extra `cluster` is not installed")
    with distributed.Client(processes=False, n_workers=1, threads_per_worker=1, dashboard_address=None) as client:
        found = build_all([club[0]], tmp_path, STL, executor=client.get_executor(pure=False))
    assert found[club[0]].folder == tmp_path / "test-line" and where and main_thread() not in where


def test_of_links_to_one_file_the_first_is_built(tmp_path, monkeypatch):
    (tmp_path / "tea.toml").write_text(TRAIN, encoding="utf-8")
    (tmp_path / "link.toml").symlink_to("tea.toml")
    (tmp_path / "z.toml").write_text(TRAIN.replace("Test line", "Z"), encoding="utf-8")
    monkeypatch.setattr(many, "build", lambda path, out, **given: path.name)
    for names in (["link.toml", "z.toml", "tea.toml"], ["tea.toml", "link.toml", "z.toml"]):
        found = build_all([tmp_path / name for name in names], tmp_path)
        assert [path.name for path in found] == [found[path] for path in found]
        assert [path.name for path in found] == [names[0], "z.toml"]


def test_what_is_kept_is_not_sent(club, monkeypatch):
    monkeypatch.setattr(many.Store, "holds", lambda self, kind, things: kind == "builds")
    assert many._sent(club, BARELY, Afar()) == {}


def test_a_ctrl_c_calls_back_what_was_sent(club, tmp_path, monkeypatch):
    waiting = {path: Future() for path in club}
    monkeypatch.setattr(many, "_sent", lambda *given: waiting)
    with pytest.raises(KeyboardInterrupt):
        build_all(club, tmp_path, executor=Afar(), progress=lambda what, share: interrupt())
    assert all(one.cancelled() for one in waiting.values())


def interrupt():
    raise KeyboardInterrupt
