"""A description watched: every save is noticed, and what it changed is told and nothing else."""

import json
import os
from time import localtime, strftime

import pytest
from conftest import bare
from msgspec.structs import replace

from partgen import pipeline
from partgen.checks.on_plan import run as checked
from partgen.cli import watching
from partgen.describe.load import digest, loads
from partgen.finding import figure
from partgen.plan.train import resolve


def found(wheelbase):
    return checked(resolve(loads(bare().replace("wheelbase = 64", f"wheelbase = {wheelbase}"))))


def test_what_a_longer_wheelbase_changes_is_told_and_nothing_else():
    before, after = found(64), found(90)
    told = watching.changes(before, after)
    turned = [one.here.check for one in told if one.turned]
    assert "wheelbase" in turned and turned == [one.here.check for one in told[:len(turned)]], "and first"
    assert "wheel-play" not in {one.here.check for one in told}
    assert watching.changes(before, before) == []
    assert [one.after for one in watching.changes(before, ())] == [None] * len(before)


def test_a_limit_that_moves_is_told_too():
    """A longer wheelbase binds more in curves, so that the locomotive has more to pull: it pulls what it did."""
    pull = next(one for one in watching.changes(found(64), found(90)) if one.here.check == "adhesion")
    assert pull.before.value == pull.after.value and pull.before.limit < pull.after.limit
    *_, sense, limit, unit, _ = pull.cells
    assert limit == f"{figure(pull.before.limit)} -> {figure(pull.after.limit)}" and (sense, unit) == (">=", "N")


def test_every_save_is_looked_at(tmp_path, run, monkeypatch):
    """First, after a change, and while it cannot be read; then the next one is held against the last that could."""
    file = tmp_path / "line.toml"
    file.touch()
    texts = iter([bare(), bare().replace("wheelbase = 64", "wheelbase = 90"), "title =", bare()])

    def saved(_):
        for text in texts:
            file.write_text(text, encoding="utf-8")
            yield

    monkeypatch.setattr(watching, "saves", saved)
    said = run("watch", file, "-o", tmp_path / "out", "--no-build")
    assert said.exit_code == 0, said.output
    first, longer, back = said.stdout.split("drawn: ")[:3]
    assert "0 fail" in first and "what the save changed" in longer and "wheelbase of one" in longer
    assert "cannot be used" in said.stderr and "holds" in back and (tmp_path / "out").is_dir()


def test_a_save_amid_a_round_waits_for_the_next(tmp_path, run, monkeypatch):
    """All that a round does, it does of the text that it checked; and built is only what was written."""
    file = tmp_path / "line.toml"
    file.write_text(bare(), encoding="utf-8")
    real, asked = pipeline.check, []

    def saved_at_once(path):
        found = real(path)
        file.write_text(bare().replace("wheelbase = 64", "wheelbase = 90"), encoding="utf-8")
        return found

    def refused(_path, _out, *, checked, **_):
        asked.append(checked.description.wagon[0].wheelbase)
        return replace(checked, findings=(replace(checked.findings[0], verdict="fail", reason="too thin"),))

    monkeypatch.setattr(watching, "saves", lambda _: [None])
    monkeypatch.setattr(pipeline, "check", saved_at_once)
    monkeypatch.setattr(pipeline, "build", refused)
    said = run("watch", file, "-o", tmp_path / "out").stdout
    drawn = json.loads((tmp_path / "out/test-line/drawings/manifest.json").read_text(encoding="utf-8"))
    assert asked == [64] and drawn["description_sha256"] == digest(loads(bare()))
    assert "too thin" in said and "nothing written" in said and "\nbuilt" not in said


def test_of_when_the_parts_are_is_told_where_a_save_is_not_built(tmp_path, run, monkeypatch):
    """While a check fails, and where Ctrl-C comes amid a build, which ends the watch; cautions come once."""
    file = tmp_path / "line.toml"
    file.touch()
    texts = iter([bare(), bare(), bare().replace("wheelbase = 64", "wheelbase = 90"), bare()])

    def saved(_):
        for text in texts:
            file.write_text(text, encoding="utf-8")
            yield

    def build(_path, out, *, checked, **_):
        record = out / "test-line" / "manifest.json"
        if record.is_file() and not next(builds):
            raise KeyboardInterrupt
        record.write_text("{}")
        os.utime(record, (0, 12 * 3600))
        return replace(checked, folder=record.parent, cautions=(("Glass", "Mind it."),))

    builds = iter([True, False])
    monkeypatch.setattr(watching, "saves", saved)
    monkeypatch.setattr(pipeline, "build", build)
    said = run("watch", file, "-o", tmp_path / "out")
    assert said.exit_code == 0 and said.stdout.endswith("ended\n"), said.output
    when = f"the parts in {tmp_path}/out/test-line were built at {strftime('%Y-%m-%d %H:%M:%S', localtime(12 * 3600))}"
    assert f"not built: {when}; `partgen mend {file}`" in said.stdout and f"build not finished: {when}" in said.stdout
    assert said.stdout.count("Mind it.") == 1 and said.stdout.count("\nbuilt (") == 2


def test_what_is_no_file_is_not_waited_for(tmp_path, run):
    for path in (tmp_path, tmp_path / "none.toml"):
        assert run("watch", path).exit_code == 2


@pytest.fixture
def meanwhile(monkeypatch):
    """What is done by others while a watch sleeps, an act each time."""
    acts = []
    monkeypatch.setattr(watching, "sleep", lambda _: acts.pop(0)())
    return acts


def test_a_save_is_noticed_however_it_is_written_and_of_the_files_used_alone(tmp_path, meanwhile):
    file, mine, other = (tmp_path / name for name in ("line.toml", "sub/mine.toml", "other.toml"))
    mine.parent.mkdir()
    file.write_text('[printer]\nuse = "sub/mine.toml"')
    fresh = tmp_path / ".line.new"

    def idle():
        pass

    meanwhile += [idle]
    seen = watching.saves(file)
    next(seen)
    meanwhile += [lambda: other.write_text("not used"), idle, idle, lambda: mine.write_text("a"), idle]
    next(seen)
    assert mine.exists() and not meanwhile, "a preset in a folder of its own, that was not there before"
    fresh.write_text('[printer]\nuse = "other.toml"')
    meanwhile += [lambda: fresh.replace(file), idle]         # as many editors do
    next(seen)
    meanwhile += [lambda: mine.write_text("b"), idle, lambda: other.write_text("used now"), idle]
    next(seen)
    assert other.read_text() == "used now", "what is used is other after a save"


def test_a_save_while_a_round_lasts_and_one_written_in_pieces_are_noticed_once(tmp_path, meanwhile):
    file = tmp_path / "line.toml"
    file.write_text("a = 1")
    seen = watching.saves(file)
    meanwhile += [lambda: None]
    next(seen)
    file.write_text("a = 22")           # while the round lasts
    meanwhile += [lambda: None, lambda: file.write_text("a = 333"), lambda: None, lambda: None]
    next(seen)
    assert file.read_text() == "a = 333" and not meanwhile
    meanwhile += [file.unlink, lambda: None]
    next(seen)
    assert not file.exists()
