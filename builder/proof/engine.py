"""A UCI engine at work: one process, one thread, a fixed amount of search for each position.

In: the author's command and questions. Out: answers that repeat, because every position is a
game of its own with an empty hash table. Whatever goes wrong (no such program, no answer, an end,
nonsense) is an `EngineFault`; after it the engine is gone. No shell sees the command.
"""

from __future__ import annotations

import asyncio
import logging
import os
import shlex
import shutil
import signal
from collections.abc import Coroutine
from dataclasses import dataclass
from pathlib import Path
from typing import Any, TypeVar

import chess
import chess.engine

from builder.faults import why
from builder.proof.engine_answers import Answer, EngineFault, Question
from builder.proof.engine_uci import Heard, Nonsense, UciEars, plain

# UCI has `go nodes`, but some engines search on for ever after it, and some stop at once. A trial
# tells; those are asked for a depth instead, which repeats as well.
TRIAL_NODES = 2_000
DEPTH = 12
HASH_MIB = 16  # plenty for that many nodes, and always the same, so that a verdict repeats
MOST_LINES = 8
# Debian keeps its games there, and root has not that on the PATH.
MORE_FOLDERS = ("/usr/games", "/usr/local/games")
T = TypeVar("T")


@dataclass(frozen=True, slots=True)
class Limits:
    """How long an engine thinks, and how long (in seconds) it is waited for.

    An engine of 10,000 nodes a second, which is slow, has three times what it needs.
    """

    nodes: int
    handshake: float = 20.0
    trial: float = 4.0
    base: float = 30.0
    nodes_a_second: float = 3_000.0

    @property
    def position(self) -> float:
        return self.base + self.nodes / self.nodes_a_second


def split_command(command: str) -> list[str]:
    """The command's words. Raises EngineFault for a quotation that is not closed."""
    try:
        words = shlex.split(command)
    except ValueError as error:
        raise EngineFault("engine-command", f"the engine's command can't be read: {error}",
                          "write a program and its arguments") from None  # fmt: skip
    if not words:
        raise EngineFault("engine-missing", "the booklet names no engine",
                          'write engine = "stockfish" under [proof]')  # fmt: skip
    return words


class Engine:
    """A running engine. Use it as a context; `name` and `options` say whose answers these are."""

    def __init__(self, command: str, folder: Path, limits: Limits) -> None:
        """Starts the engine in `folder`. Raises EngineFault when it can't be had."""
        self._limits = limits
        self._words = split_command(command)
        self._runner = asyncio.Runner()
        self._reason = ""
        self._task: asyncio.Task[Any] | None = None
        self._protocol: UciEars | None = None
        self._hush = logging.NullHandler()
        logging.getLogger("chess.engine").addHandler(self._hush)
        try:
            self._runner.get_loop().set_exception_handler(self._surprised)
            self._run(self._start(_program(self._words, folder), folder), limits.handshake)
            self._go = chess.engine.Limit(nodes=limits.nodes)
            if not self._run(self._knows_nodes(), limits.trial * 3):
                self._go = chess.engine.Limit(depth=DEPTH)
        except BaseException:
            self.close()
            raise

    def __enter__(self) -> Engine:
        return self

    def __exit__(self, *_: object) -> None:
        self.close()

    @property
    def name(self) -> str:
        """What the engine calls itself."""
        assert self._protocol is not None
        return plain(self._protocol.id.get("name", ""))[:80] or Path(self._words[0]).name

    @property
    def options(self) -> str:
        """The options that its answers depend on, in one form: `Hash=16 Threads=1`."""
        assert self._protocol is not None
        found = [f"{name}={value}" for name, value in sorted(_options(self._protocol).items())]
        return " ".join(found + ([f"depth={DEPTH}"] if self._go.depth else []))

    def answer(self, question: Question) -> Answer:
        """The engine's answer. Raises EngineFault."""
        board = question.board()
        assert any(board.legal_moves), "nobody asks about a game that is over"
        return self._run(self._search(board, question.lines), self._limits.position, question.epd)

    def close(self) -> None:
        """Ends the engine, if need be by force, and all that it started."""
        try:
            if self._protocol is not None and not self._protocol.returncode.done():
                self._runner.run(self._quit(self._protocol))
        finally:
            self._protocol = None
            self._runner.close()
            logging.getLogger("chess.engine").removeHandler(self._hush)

    # --- talking -----------------------------------------------------------------------------

    async def _start(self, program: str, folder: Path) -> None:
        words = [program, *self._words[1:]]
        try:
            _, self._protocol = await UciEars.popen(words, setpgrp=True, cwd=folder)
        except (OSError, ValueError) as error:
            reason = why(error) if isinstance(error, OSError) else str(error)
            raise EngineFault("engine-missing", f"the engine {self._words[0]} can't be started: "
                              f"{reason}", "check the command") from None  # fmt: skip
        await self._protocol.initialize()
        await self._protocol.configure(_options(self._protocol))
        await self._protocol.ping()

    async def _knows_nodes(self) -> bool:
        """Whether the engine ends a search after some nodes, and not before it has looked."""
        assert self._protocol is not None
        depth = 0
        analysis = await self._protocol.analysis(
            chess.Board(), chess.engine.Limit(nodes=TRIAL_NODES), game=object(),
            info=chess.engine.INFO_BASIC,
        )  # fmt: skip
        with analysis:
            try:
                async with asyncio.timeout(self._limits.trial):
                    async for info in analysis:
                        depth = max(depth, info.get("depth", 0))
            except TimeoutError:
                depth = 0
        async with asyncio.timeout(self._limits.trial):
            await analysis.wait()
        return depth > 1

    async def _search(self, board: chess.Board, lines: int) -> Answer:
        protocol = self._protocol
        assert protocol is not None
        lines = min(lines, MOST_LINES) if "MultiPV" in protocol.options else 1
        options = {"Clear Hash": None} if "Clear Hash" in protocol.options else {}
        found = Heard(board)
        analysis = await protocol.analysis(
            board, self._go, multipv=lines, game=object(),
            info=chess.engine.INFO_SCORE | chess.engine.INFO_PV, options=options,
        )  # fmt: skip
        with analysis:
            async for info in analysis:
                found.take(info)
            best = await analysis.wait()
        return found.answer(best.move, lines)

    async def _quit(self, protocol: UciEars) -> None:
        try:
            protocol.send_line("quit")
            await asyncio.wait_for(asyncio.shield(protocol.returncode), 1)
        except (TimeoutError, chess.engine.EngineError, OSError, RuntimeError):
            assert protocol.transport is not None
            # It has a group of its own, and hasn't ended, so the number is still its own.
            os.killpg(protocol.transport.get_pid(), signal.SIGKILL)
            await asyncio.wait_for(asyncio.shield(protocol.returncode), 10)

    # --- what goes wrong ---------------------------------------------------------------------

    def _run(self, work: Coroutine[Any, Any, T], patience: float, at: str = "") -> T:
        """Waits for the work. Every failure becomes an EngineFault and ends the engine."""
        try:
            return self._runner.run(self._guarded(work, patience))
        except EngineFault as fault:
            if at and fault.code == "engine-nonsense":
                fault.hint = f"the position: {at}"
            self.close()
            raise
        except BaseException:
            self.close()
            raise

    async def _guarded(self, work: Coroutine[Any, Any, T], patience: float) -> T:
        self._task = asyncio.current_task()
        try:
            return await asyncio.wait_for(work, patience)
        except TimeoutError:
            raise self._silent(patience) from None
        except chess.engine.EngineTerminatedError:
            raise self._ended() from None
        except (chess.engine.EngineError, Nonsense) as error:
            raise self._nonsense(str(error)) from None
        except asyncio.CancelledError:
            if not self._reason:
                raise
            raise self._nonsense(self._reason) from None
        finally:
            self._task = None

    def _surprised(self, _: object, context: dict[str, Any]) -> None:
        """An error outside any call: what the engine said made no sense."""
        self._reason = str(context.get("exception") or context["message"])
        if self._task is not None:
            self._task.cancel()

    def _silent(self, patience: float) -> EngineFault:
        protocol = self._protocol
        if protocol is not None and not protocol.initialized and protocol.heard:
            return self._nonsense(f"it never said uciok, but {protocol.heard!r}")
        return EngineFault("engine-hangs", f"the engine gave no answer within {patience:.0f} s",
                           "is it a UCI engine? fewer --nodes may help a slow one")  # fmt: skip

    def _ended(self) -> EngineFault:
        protocol = self._protocol
        assert protocol is not None
        code = protocol.returncode.result() if protocol.returncode.done() else None
        how = f" by signal {-code}" if code and code < 0 else f" with status {code}" if code else ""
        words = f"; its last words: {protocol.last_words!r}" if protocol.last_words else ""
        return EngineFault("engine-died", f"the engine ended{how} before it had answered{words}",
                           "start it by hand to see why")  # fmt: skip

    def _nonsense(self, reason: str) -> EngineFault:
        return EngineFault("engine-nonsense", f"the engine talks nonsense: {plain(reason)}",
                           "is it a UCI engine?")  # fmt: skip


def _program(words: list[str], folder: Path) -> str:
    """The program's path. A relative one with a slash counts from the booklet's folder."""
    if os.sep in words[0]:
        path = folder / words[0]
        found = str(path) if os.path.isfile(path) and os.access(path, os.X_OK) else None
    else:
        folders = os.environ.get("PATH", os.defpath).split(os.pathsep)
        found = shutil.which(words[0], path=os.pathsep.join((*folders, *MORE_FOLDERS)))
    if found is None:
        raise EngineFault("engine-missing", f"there is no engine {words[0]} on this machine",
                          "install it, or write its whole path")  # fmt: skip
    return found


def _options(protocol: chess.engine.UciProtocol) -> dict[str, int | bool]:
    """What is set so that answers repeat, of the options that the engine has."""
    wanted: dict[str, int | bool] = {
        "Threads": 1, "Number of Threads": 1, "Hash": HASH_MIB, "OwnBook": False,
    }  # fmt: skip
    found: dict[str, int | bool] = {}
    for name, value in wanted.items():
        option = protocol.options.get(name)
        if option is None or option.type != ("check" if isinstance(value, bool) else "spin"):
            continue
        if not isinstance(value, bool):
            value = max(value, option.min) if option.min is not None else value
            value = min(value, option.max) if option.max is not None else value
        found[option.name] = value
    return found
