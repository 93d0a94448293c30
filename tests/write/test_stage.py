"""Outputs reach their folder together or not at all; other people's files stay."""

from __future__ import annotations

import os
import signal
from pathlib import Path

import pytest

from builder.faults import Faults
from builder.write import moving
from builder.write.moving import Moves, Placed
from builder.write.stage import MANIFEST, read_manifest, staging, target_is_allowed


def files(folder: Path) -> dict[str, str]:
    """Every file under a folder and its text, the list of our files left out."""
    return {
        path.relative_to(folder).as_posix(): path.read_text()
        for path in sorted(folder.rglob("*"))
        if path.is_file() and path.name != MANIFEST
    }


def write(folder: Path, **texts: str) -> None:
    """Writes files; `__` in a name stands for a slash."""
    for name, text in texts.items():
        path = folder / name.replace("__", "/")
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(text)


def build(target: Path, faults: Faults | None = None, **parts: dict[str, str]) -> bool:
    faults = faults or Faults()
    with staging(target, faults) as stage:
        if stage is None:
            return False
        for part, texts in parts.items():
            write(stage.part(part), **texts)
        return stage.commit(faults)


def only_the_target(target: Path) -> bool:
    return [path.name for path in target.parent.iterdir()] == [target.name]


@pytest.fixture
def target(tmp_path):
    return tmp_path / "site"


# --- what a build does to the target ------------------------------------------------------------


def test_first_build(target):
    assert build(target, site={"index": "1", "assets__style": "1"}, pdf={"book": "1"})
    assert files(target) == {"index": "1", "assets/style": "1", "book": "1"}
    assert read_manifest(target) == {"index": "site", "assets/style": "site", "book": "pdf"}
    assert only_the_target(target)


REBUILDS = {
    "a file is replaced": ({"site": {"index": "2"}}, {"index": "2", "book": "1"}),
    "what is no longer made is removed": (
        {"site": {"other": "2"}}, {"other": "2", "book": "1"},
    ),
    "a part that isn't made stays": (
        {"pdf": {"book": "2"}}, {"index": "1", "old/page": "1", "book": "2"},
    ),
    "a part that is made and empty is removed": ({"pdf": {}}, {"index": "1", "old/page": "1"}),
    "a file becomes a folder": (
        {"site": {"index__page": "2"}}, {"index/page": "2", "book": "1"},
    ),
    "a folder becomes a file": ({"site": {"old": "2"}}, {"old": "2", "book": "1"}),
}  # fmt: skip


@pytest.mark.parametrize("parts, expected", REBUILDS.values(), ids=REBUILDS)
def test_rebuild(target, parts, expected):
    build(target, site={"index": "1", "old__page": "1"}, pdf={"book": "1"})
    assert build(target, **parts)
    assert files(target) == expected
    assert set(read_manifest(target)) == set(expected)
    assert not [path for path in target.rglob("*") if path.is_dir() and not any(path.iterdir())]
    assert only_the_target(target)


def test_strangers_files_stay(target):
    write(target, notes="mine", old__mine="mine", handout__index="another build's")
    assert build(target, site={"index": "1", "old__page": "1"})
    assert build(target, site={"index": "2"})
    assert files(target) == {"notes": "mine", "old/mine": "mine", "index": "2",
                             "handout/index": "another build's"}  # fmt: skip


COLLISIONS = {
    "a file": {"index": "mine"},
    "a file where a folder would be": {"assets": "mine"},
    "a folder where a file would be": {"index__mine": "mine"},
}


@pytest.mark.parametrize("there", COLLISIONS.values(), ids=COLLISIONS)
def test_a_strangers_file_is_never_replaced(target, there):
    write(target, **there)
    before = files(target)
    faults = Faults()
    assert not build(target, faults, site={"index": "1", "assets__style": "1", "free": "1"})
    assert [fault.code for fault in faults.sorted()] == ["out-stranger"]
    assert files(target) == before
    assert only_the_target(target)


def test_a_link_in_the_way_is_a_strangers(target, tmp_path):
    elsewhere = tmp_path / "elsewhere"
    write(elsewhere, style="mine")
    target.mkdir()
    (target / "assets").symlink_to(elsewhere)
    faults = Faults()
    assert not build(target, faults, site={"assets__style": "1"})
    assert [fault.code for fault in faults.sorted()] == ["out-stranger"]
    assert files(elsewhere) == {"style": "mine"}


def test_a_list_of_files_that_lies(target, tmp_path):
    """The list may come from somebody else: it can't reach out of the folder."""
    write(tmp_path, precious="mine", elsewhere__precious="mine")
    target.mkdir()
    (target / "link").symlink_to(tmp_path / "elsewhere")
    listed = ("../precious", "link/precious", f"{tmp_path}/precious", "..", "", "a/../../precious")
    (target / MANIFEST).write_text("".join(f"site {path}\n" for path in listed))
    assert build(target, site={"index": "1"})
    assert (tmp_path / "precious").read_text() == "mine"
    assert (tmp_path / "elsewhere" / "precious").read_text() == "mine"


# --- where outputs may go -----------------------------------------------------------------------

PLACES = {
    "its own site folder": ("book/site", True),
    "beside it": ("out", True),
    "below another folder": ("deep/er/out", True),
    "the booklet itself": ("book", False),
    "a folder that holds the booklet": (".", False),
    "the root": ("/", False),
    "among the chapters": ("book/chapters", False),
    "below the pictures": ("book/images/out", False),
    "a roundabout way to the chapters": ("out/../book/chapters/x", False),
    "a link to the chapters": ("link", False),
    "a file": ("book/booklet.toml", False),
    "a link in the booklet that leads out": ("book/away", False),
    "a link beside the booklet": ("there", True),
}


@pytest.mark.parametrize("place, allowed", PLACES.values(), ids=PLACES)
def test_target_is_allowed(tmp_path, place, allowed):
    write(tmp_path, **{"book__booklet.toml": "", "book__chapters__1.md": "", "out__x": ""})
    (tmp_path / "link").symlink_to(tmp_path / "book" / "chapters")
    (tmp_path / "book" / "away").symlink_to(tmp_path / "out")
    (tmp_path / "there").symlink_to(tmp_path / "out")
    faults = Faults()
    assert target_is_allowed(tmp_path / place, tmp_path / "book", faults) is allowed
    assert [fault.code for fault in faults.sorted()] == ([] if allowed else ["out-place"])


# --- failures and interruptions -----------------------------------------------------------------


def test_a_failure_before_the_end_changes_nothing(target):
    build(target, site={"index": "1"})
    with pytest.raises(RuntimeError), staging(target, Faults()) as stage:
        write(stage.part("site"), index="2")
        raise RuntimeError
    assert files(target) == {"index": "1"}
    assert only_the_target(target)


def test_a_failure_leaves_no_new_folder(tmp_path):
    with pytest.raises(KeyboardInterrupt), staging(tmp_path / "a" / "b", Faults()):
        raise KeyboardInterrupt
    assert list(tmp_path.iterdir()) == []


OLD = {"index": "1", "gone__page": "1", "same": "1"}
NEW = {"index": "2", "page": "2", "same": "2", "deep__er__page": "2"}


def flat(texts: dict[str, str]) -> dict[str, str]:
    return {name.replace("__", "/"): text for name, text in texts.items()}


@pytest.mark.parametrize("at", range(6))
@pytest.mark.parametrize("error", [OSError(28, "No space left on device"), KeyboardInterrupt()])
def test_a_failure_while_moving_is_taken_back(target, monkeypatch, at, error):
    build(target, site=OLD)
    write(target, mine="mine")
    real, calls = os.replace, []

    def failing(source, to):
        calls.append(to)
        if len(calls) == at + 2:  # the first one is the journal's
            raise error
        real(source, to)

    monkeypatch.setattr(moving.os, "replace", failing)
    faults = Faults()
    if isinstance(error, OSError):
        assert not build(target, faults, site=NEW)
        assert [fault.code for fault in faults.sorted()] == ["out-write"]
    else:
        with pytest.raises(KeyboardInterrupt):
            build(target, faults, site=NEW)
    assert files(target) == {**flat(OLD), "mine": "mine"}
    assert set(read_manifest(target)) == set(flat(OLD))
    assert only_the_target(target)


def killed_build(target: Path, at: int, links: bool = True) -> bool:
    """A build that is killed (SIGKILL) before its n-th change to the disk; whether it was."""
    child = os.fork()
    if child == 0:
        try:
            _make_deadly(at, links)
            build(target, site=NEW)
        finally:
            os._exit(0)
    return os.WIFSIGNALED(os.waitpid(child, 0)[1])


def _make_deadly(left: int, links: bool) -> None:
    """Lets the calls that change the disk count down to a kill."""
    count = iter(range(left, -1, -1))

    def deadly(name, real):
        def call(*arguments, **words):
            if next(count) == 0:
                os.kill(os.getpid(), signal.SIGKILL)
            if name == "link" and not links:
                raise OSError(1, "Operation not permitted")
            return real(*arguments, **words)

        setattr(os, name, call)

    for name in ("replace", "link", "unlink", "mkdir", "rmdir"):
        deadly(name, getattr(os, name))


def is_whole(target: Path) -> bool:
    """All old or all new, once the next build has put things right."""
    with staging(target, Faults()) as stage:
        assert stage is not None
        assert files(target) in (flat(OLD), flat(NEW))
        assert set(read_manifest(target)) == set(files(target))
    return only_the_target(target)


@pytest.mark.parametrize("at", range(50))
def test_killed_at_any_moment(target, at):
    build(target, site=OLD)
    killed_build(target, at)
    assert is_whole(target)
    assert build(target, site=NEW)
    assert files(target) == flat(NEW)


@pytest.mark.parametrize("at", range(0, 50, 3))
def test_killed_where_there_are_no_hard_links(target, at):
    build(target, site=OLD)
    killed_build(target, at, links=False)
    assert is_whole(target)


@pytest.mark.parametrize("again", range(25))
def test_killed_and_killed_again_while_taking_back(target, again):
    build(target, site=OLD)
    assert killed_build(target, 20)
    killed_build(target, again)
    assert is_whole(target)


def test_every_file_is_there_at_every_moment(target, monkeypatch):
    """A reader of the folder never finds a file missing that is there before and after."""
    build(target, site=OLD)
    real = os.replace

    def watching(source, to):
        real(source, to)
        assert (target / "index").is_file() and (target / "same").is_file()

    monkeypatch.setattr(moving.os, "replace", watching)
    assert build(target, site=NEW)


def test_two_builds_at_once(target):
    pytest.importorskip("fcntl")
    with staging(target, Faults()) as stage:
        write(stage.part("site"), index="1")
        faults = Faults()
        assert not build(target, faults, site={"index": "2"})
        (fault,) = faults.sorted()
        assert fault.code == "out-write" and "another build" in fault.message
        assert stage.commit(Faults())
    assert files(target) == {"index": "1"}


def test_a_journal_that_lies(target, tmp_path):
    """What is left beside the target may come from somebody else as well."""
    write(tmp_path, precious="mine")
    target.mkdir()
    folder = tmp_path / ".site.plyleaf"
    journal = '{"removed": ["../precious"], "placed": [["../precious", "x", true]]}'
    write(folder, **{"journal.json": journal})
    (folder / "old").symlink_to(tmp_path)
    assert build(target, site={"index": "1"})
    assert (tmp_path / "precious").read_text() == "mine"
    assert files(target) == {"index": "1"}


def test_taking_back_twice_does_no_harm(target, tmp_path):
    build(target, site=OLD)
    folder = tmp_path / "staging"
    write(folder / "new" / "site", **NEW)
    placed = tuple(Placed(name, "site", (target / name).exists()) for name in flat(NEW))
    moves = Moves(folder, target, ("gone/page",), placed)
    moves.make()
    assert files(target) == flat(NEW)
    moves.take_back()
    moves.take_back()
    assert files(target) == flat(OLD)
