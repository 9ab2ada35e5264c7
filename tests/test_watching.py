"""A description watched: every save is noticed, and what it changed is told and nothing else."""

from threading import Timer

from conftest import bare

from partgen.checks.on_plan import run as checked
from partgen.cli import watching
from partgen.describe.load import loads
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


def test_every_save_is_looked_at(tmp_path, run, monkeypatch):
    """First, after a change, and while it cannot be read; then the next one is held against the last that could."""
    file = tmp_path / "line.toml"
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


def test_a_save_is_noticed_however_it_is_written(tmp_path):
    file = tmp_path / "line.toml"
    file.write_text("one")
    seen = watching.saves(file)
    next(seen)

    def save():
        (tmp_path / "notes.txt").write_text("not watched")
        fresh = tmp_path / ".line.new"
        fresh.write_text("two")
        fresh.replace(file)         # as many editors do

    timer = Timer(0.4, save)
    timer.start()
    next(seen)
    assert file.read_text() == "two"
    timer.join()
