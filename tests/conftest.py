"""Outside programs for the tests: found where tests/run puts them.

Without such a program its tests are skipped, each saying what is lacking. In CI nothing may be
lacking, so there they fail.
"""

import os
import shutil
import signal
from collections.abc import Callable
from pathlib import Path

import pytest

NODE_MODULES = Path(__file__).parent / ".tools" / "node_modules"


def pytest_configure() -> None:
    """A job in a shell's background ignores Ctrl-C, and so would every command that it starts;
    tests of what Ctrl-C does need it to come through."""
    if signal.getsignal(signal.SIGINT) is signal.SIG_IGN:
        signal.signal(signal.SIGINT, signal.default_int_handler)


@pytest.fixture(autouse=True, scope="session")
def state_home(tmp_path_factory) -> None:
    """What is this computer's user's own, as the key of what a build keeps, is the tests' own."""
    os.environ["XDG_STATE_HOME"] = str(tmp_path_factory.mktemp("state"))


@pytest.fixture(scope="session")
def program() -> Callable[[str], str]:
    """program(NAME) is the path of an installed program, as `program("qpdf")`."""

    def find(name: str) -> str:
        # Debian keeps its engines in /usr/games, which root has not on the PATH.
        path = shutil.which(name, path=f"{os.environ.get('PATH', os.defpath)}:/usr/games")
        return path or _lacking(name)

    return find


@pytest.fixture(scope="session")
def node_package() -> Callable[[str], Path]:
    """node_package(NAME) is the folder of an npm package listed in tests/setup/package.json."""

    def find(name: str) -> Path:
        folder = NODE_MODULES / name
        return folder if folder.is_dir() else _lacking(f"npm package {name}")

    return find


def _lacking(what: str):
    reason = f"{what} is lacking: tests/run installs it"
    pytest.fail(reason) if os.environ.get("CI") else pytest.skip(reason)
