"""Files that stand alone: whole or not at all, and never over somebody else's."""

from __future__ import annotations

import os
from pathlib import Path

import pytest

from builder.faults import Faults
from builder.own_file import Kind, OwnFile, beginning, write_new_files, write_own_files

LETTER = Kind(beginning(lambda head: head.startswith(b"ours")), "this is no letter of ours")


def written(faults: Faults, *files: tuple) -> bool:
    return write_own_files([OwnFile(LETTER, path, body) for path, body in files], faults)


def test_ours_is_replaced_and_nothing_is_left_behind(tmp_path):
    target = tmp_path / "new" / "letter"
    for body in (b"ours 1", b"ours 2"):
        assert written(Faults(), (target, body))
        assert target.read_bytes() == body
    assert os.listdir(target.parent) == ["letter"]


def stranger(path):
    path.write_bytes(b"mine")


def pipe(path):
    os.mkfifo(path)


def loose_link(path):
    path.symlink_to("nowhere")


def link_to_a_stranger(path):
    stranger(path.with_name("mine"))
    path.symlink_to("mine")


def folder(path):
    path.mkdir()


@pytest.mark.parametrize("there, code", [(stranger, "out-stranger"), (pipe, "out-stranger"),
                                         (loose_link, "out-stranger"), (folder, "out-place"),
                                         (link_to_a_stranger, "out-stranger")])  # fmt: skip
def test_of_several_none_is_written_where_one_can_not(there, code, tmp_path):
    """A pipe is not waited for."""
    there(tmp_path / "b")
    before = sorted(os.listdir(tmp_path))
    faults = Faults()
    assert not written(faults, (tmp_path / "a", b"ours"), (tmp_path / "b", b"ours"))
    assert [(fault.code, fault.place.file) for fault in faults.sorted()] == [(code, str(tmp_path / "b"))]
    assert sorted(os.listdir(tmp_path)) == before


@pytest.mark.parametrize("step", ["fsync", "replace"])
def test_a_failure_leaves_what_was_there(step, tmp_path, monkeypatch):
    target = tmp_path / "letter"
    target.write_bytes(b"ours, the old one")

    def full(*_):
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, step, full)
    faults = Faults()
    assert not written(faults, (target, b"ours"))
    (fault,) = faults.sorted()
    assert (fault.code, fault.message) == ("out-write", "this can't be written: no space left on device")
    assert target.read_bytes() == b"ours, the old one" and os.listdir(tmp_path) == ["letter"]


def test_its_mode_is_that_of_any_new_file(tmp_path):
    assert written(Faults(), (tmp_path / "letter", b"ours"))
    (tmp_path / "plain").touch()
    assert (tmp_path / "letter").stat().st_mode == (tmp_path / "plain").stat().st_mode


class Full:
    """A file on a disk that has room for one file more."""

    def __init__(self, handle) -> None:
        self.handle = handle

    def __enter__(self):
        return self

    def __exit__(self, *_) -> None:
        self.handle.close()

    def write(self, content: bytes) -> None:
        if content == b"two":
            raise OSError(28, "No space left on device")
        self.handle.write(content)


def test_new_files_are_all_there_or_none(tmp_path, monkeypatch):
    files = [(tmp_path / "a" / "1", b"one"), (tmp_path / "a" / "b" / "2", b"two")]
    real = Path.open
    with monkeypatch.context() as patch:
        patch.setattr(Path, "open", lambda path, mode: Full(real(path, mode)))
        with pytest.raises(OSError) as caught:
            write_new_files(files)
    assert caught.value.filename == str(files[1][0]) and not os.listdir(tmp_path)
    assert write_new_files(files) == [path for path, _ in files]
    with pytest.raises(FileExistsError):
        write_new_files([(tmp_path / "c", b"one"), files[0]])
    assert os.listdir(tmp_path) == ["a"] and files[0][0].read_bytes() == b"one"
