"""The set-up that demo/run and tests/run share, on machines that lack something.

Each case runs demo/setup.sh with a PATH of its own making, so it sees no more than the programs
named there; nothing is installed and no network is used.
"""

import os
import shutil
import subprocess
from dataclasses import dataclass
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
BASICS = (
    "bash", "cat", "chmod", "cp", "cut", "dirname", "env", "grep", "mkdir", "mktemp", "rm",
    "sha256sum", "sort", "tail",
)  # fmt: skip


@dataclass(frozen=True)
class Machine:
    """A made-up machine: its programs as shell text, and what set_up must say and return there."""

    programs: dict[str, str]
    part: str
    says: tuple[str, ...]
    says_not: tuple[str, ...] = ()
    status: int = 0


OLD_PYTHON = 'case $1 in --version) echo "Python 3.9.2";; *) exit 1;; esac'
NEW_PYTHON = 'case $1 in --version) echo "Python 3.12.1";; *) exit 0;; esac'
NO_VENV = 'case "$*" in *ensurepip*|"-m venv"*) exit 1;; *) exit 0;; esac'
ALL_LIBRARIES = (
    "printf '\\t%s (libc6,x86-64) => /x\\n' "
    "libpango-1.0.so.0 libpangoft2-1.0.so.0 libharfbuzz-subset.so.0"
)
# A pip that works, so that the virtual environment counts as complete.
VENV_MAKER = '''
case "$*" in
    "-m venv --clear "*) mkdir -p "$4/bin"; printf '#!/bin/sh\\nexit 0\\n' > "$4/bin/python"
        chmod +x "$4/bin/python"; cp "$4/bin/python" "$4/bin/pip";;
    *) exit 0;;
esac'''

MACHINES = {
    "no Python": Machine(
        programs={},
        part="demo",
        says=("Python 3.11 or newer (no python3 on the PATH), so nothing can be built.",),
        status=1,
    ),
    "an old Python": Machine(
        programs={"python3": OLD_PYTHON},
        part="demo",
        says=("Python 3.11 or newer (Python 3.9.2), so nothing can be built.",),
        status=1,
    ),
    "an old Python beside a new one": Machine(
        programs={"python3": OLD_PYTHON, "python3.12": VENV_MAKER, "ldconfig": ALL_LIBRARIES},
        part="demo",
        says=("Installing Python packages into .venv",),
        says_not=("Lacking",),
    ),
    "no venv, no way to install it": Machine(
        programs={"python3": NO_VENV, "ldconfig": ALL_LIBRARIES},
        part="demo",
        says=("from Debian: python3-venv (no apt-get here): nothing can be built.",),
        status=1,
    ),
    "a venv that stops half-way": Machine(
        programs={
            "python3": 'case "$*" in "-m venv"*) mkdir -p "$4/bin"; echo no room; exit 1;; esac',
            "ldconfig": ALL_LIBRARIES,
        },
        part="demo",
        says=("a virtual environment (python3 -m venv: no room), so nothing can be built.",),
        status=1,
    ),
    "no Pango, not root": Machine(
        programs={"python3": VENV_MAKER, "apt-get": "exit 1", "sudo": "exit 1", "id": "echo 1000"},
        part="demo",
        says=(
            "from Debian: libharfbuzz-subset0 libpango-1.0-0 libpangoft2-1.0-0 (neither root nor"
            " sudo without a password): the PDF will not be built.",
        ),
    ),
    "no Pango, root, no network": Machine(
        programs={
            "python3": VENV_MAKER,
            "apt-get": "echo 'E: Unable to locate package' >&2; exit 100",
            "id": "echo 0",
        },
        part="demo",
        says=(
            "Installing from Debian: libharfbuzz-subset0 libpango-1.0-0 libpangoft2-1.0-0",
            "(apt-get: E: Unable to locate package): the PDF will not be built",
        ),
    ),
    "a whole demo machine without the tests' programs": Machine(
        programs={"python3": VENV_MAKER, "ldconfig": ALL_LIBRARIES},
        part="test",
        says=(
            "from Debian: qpdf (no apt-get here): the outside check of the PDF will be skipped.",
            "from Debian: stockfish (no apt-get here): tests with a real engine will be skipped.",
        ),
        says_not=("python3-venv", "libpango"),
    ),
}


def checkout(folder: Path) -> Path:
    """A copy of what set_up reads, so that its .venv is made there."""
    for name in ("demo/setup.sh", "pyproject.toml", "tests/setup/package.json"):
        (folder / name).parent.mkdir(parents=True, exist_ok=True)
        shutil.copy(ROOT / name, folder / name)
    return folder


def run_set_up(root: Path, programs: dict[str, str], part: str) -> subprocess.CompletedProcess:
    """Runs set_up with these programs, and the plain ones it always has, on the PATH alone."""
    path = root / "path"
    path.mkdir()
    for name in BASICS:
        (path / name).symlink_to(shutil.which(name))
    for name, text in programs.items():
        (path / name).write_text(f"#!{shutil.which('bash')}\n{text}\n")
        (path / name).chmod(0o755)
    # setup.sh adds Debian's other program folders to the PATH; here they must not be seen.
    script = (root / "demo/setup.sh").read_text()
    assert script.count("\nPATH=$PATH:") == 1
    (root / "demo/setup.sh").write_text(script.replace("\nPATH=$PATH:", "\nELSEWHERE=", 1))
    return subprocess.run(
        [path / "bash", "-c", f'. "$0"; set_up {part}', root / "demo/setup.sh"],
        env={"PATH": str(path), "TMPDIR": os.environ.get("TMPDIR", "/tmp")},
        cwd="/",
        stdin=subprocess.DEVNULL,
        capture_output=True,
        text=True,
    )


@pytest.mark.parametrize("name", MACHINES)
def test_what_a_machine_lacks_is_said_in_one_line_each(name, tmp_path):
    machine = MACHINES[name]
    done = run_set_up(checkout(tmp_path), machine.programs, machine.part)
    printed = done.stdout + done.stderr
    assert done.returncode == machine.status, printed
    for words in machine.says:
        assert sum(words in line for line in printed.splitlines()) == 1, printed
    for words in machine.says_not:
        assert words not in printed
    assert all(line.startswith(("Lacking: ", "Install")) for line in printed.splitlines()), printed


def test_a_complete_machine_is_told_nothing_the_second_time(tmp_path):
    root = checkout(tmp_path)
    programs = {"python3": VENV_MAKER, "ldconfig": ALL_LIBRARIES}
    assert run_set_up(root, programs, "demo").stdout == "Installing Python packages into .venv\n"
    shutil.rmtree(root / "path")
    shutil.copy(ROOT / "demo/setup.sh", root / "demo/setup.sh")
    again = run_set_up(root, programs, "demo")
    assert (again.returncode, again.stdout, again.stderr) == (0, "", "")


def test_a_half_made_venv_is_made_anew(tmp_path):
    root = checkout(tmp_path)
    (root / ".venv/bin").mkdir(parents=True)
    (root / ".venv/bin/python").symlink_to(shutil.which("true"))  # and no pip
    done = run_set_up(root, {"python3": VENV_MAKER, "ldconfig": ALL_LIBRARIES}, "demo")
    assert (done.returncode, done.stderr) == (0, "")
    assert (root / ".venv/bin/pip").exists()


def test_a_changed_list_of_packages_is_installed_anew(tmp_path):
    root = checkout(tmp_path)
    programs = {"python3": VENV_MAKER, "ldconfig": ALL_LIBRARIES}
    run_set_up(root, programs, "demo")
    (root / "pyproject.toml").write_text("# other\n")
    shutil.rmtree(root / "path")
    shutil.copy(ROOT / "demo/setup.sh", root / "demo/setup.sh")
    assert "Installing Python packages" in run_set_up(root, programs, "demo").stdout
