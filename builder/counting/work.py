"""One file counted: in this process where it is small, in one for each processor where it is large."""

from __future__ import annotations

import os
import signal
from collections.abc import Callable, Iterator
from contextlib import ExitStack, contextmanager, suppress
from multiprocessing import get_context
from multiprocessing.connection import Connection, wait
from pathlib import Path
from typing import TypeAlias

from builder.counting.content import CountFault, opened
from builder.counting.follow import Follower, Found, Wanted
from builder.counting.text import MOST_GAME, Chunks
from builder.pgn.lines import Utf16

LARGE = 8 << 20  # bytes from which starting processes pays
MOST_PROCESSES = 8
_ZIPPED = (b"PK\x03\x04", b"\x1f\x8b", b"BZh", b"\xfd7zXZ", b"(\xb5/\xfd", b"7z\xbc\xaf")
# Called with the bytes that are behind.
Behind: TypeAlias = Callable[[int], None]


def count_file(path: Path, content: bytes, wanted: Wanted, behind: Behind = lambda done: None,
               processes: int = 0) -> Found:  # fmt: skip
    """Counts a file's games at the wanted positions. Raises CountFault, also where the bytes that
    were counted are not those of that `content`.

    `processes` is how many work on a large file, 0 for one for each processor.
    """
    with opened(path) as file:
        _check(file.read(4096))
        file.seek(0)
        chunks = Chunks(file)
        size = os.fstat(file.fileno()).st_size
        processes = processes or min(MOST_PROCESSES, len(os.sched_getaffinity(0)))
        if size < LARGE or processes == 1:
            found = _count_here(chunks, wanted, behind)
        else:
            found = _count_there(chunks, wanted, behind, processes)
    if chunks.hash.digest() != content:
        raise CountFault("file-changed", "it was written to while it was counted",
                         "count it when it is finished")  # fmt: skip
    for line in chunks.cut:
        found.slip(line, f"it is longer than {MOST_GAME >> 20} MB; what is behind is left out")
    return found


def _check(head: bytes) -> None:
    if (b"\0" in head and Utf16.of(head) is None) or head.startswith(_ZIPPED):
        raise CountFault("pgn-binary", "the file is not text",
                         "unpack it if it is an archive; PGN is plain text")  # fmt: skip


def _count_here(chunks: Chunks, wanted: Wanted, behind: Behind) -> Found:
    follower = Follower(wanted)
    for line, text in chunks:
        follower.read(line, text)
        behind(chunks.bytes)
    return follower.found


# --- several processes ----------------------------------------------------------------------------


def _count_there(chunks: Chunks, wanted: Wanted, behind: Behind, processes: int) -> Found:
    """A chunk at a time to whoever is free, so that no more than one for each is in memory."""
    found = Found()
    with ExitStack() as stack:
        pipes = [stack.enter_context(_worker(wanted)) for _ in range(processes)]
        try:
            idle = list(pipes)
            for chunk in chunks:
                if not idle:
                    for pipe in wait(pipes):
                        pipe.recv()
                        idle.append(pipe)
                idle.pop().send(chunk)
                behind(chunks.bytes)
            for pipe in pipes:
                if pipe not in idle:
                    pipe.recv()
                pipe.send(None)
            for pipe in pipes:
                found.add(pipe.recv())
        except (EOFError, OSError):
            raise CountFault("count-stopped", "a process that counted it ended too early",
                             "the machine may be short of memory") from None  # fmt: skip
    return found


@contextmanager
def _worker(wanted: Wanted) -> Iterator[Connection]:
    """A process that counts what it is sent. It starts afresh, since a copy of this one would copy
    a progress line's thread half."""
    context = get_context("spawn")
    ours, theirs = context.Pipe()
    process = context.Process(target=_work, args=(theirs, wanted), daemon=True)
    process.start()
    theirs.close()
    try:
        yield ours
    finally:
        ours.close()  # which ends it
        process.join(1)
        if process.is_alive():
            process.kill()
            process.join()


def _work(pipe: Connection, wanted: Wanted) -> None:
    """Counts chunks, answering each, until None comes; then sends what was found."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)  # whoever started it ends it
    follower = Follower(wanted)
    with suppress(EOFError, OSError):
        while (chunk := pipe.recv()) is not None:
            follower.read(*chunk)
            pipe.send(None)
        pipe.send(follower.found)
