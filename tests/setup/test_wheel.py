"""What a plain `pip install .` brings: the code with its themes, fonts, licences and guide."""

import os
import subprocess
import sys
import zipfile
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]


@pytest.fixture(scope="module")
def unpacked(tmp_path_factory) -> Path:
    """The wheel's content, as pip would lay it into site-packages."""
    folder = tmp_path_factory.mktemp("wheel")
    command = [sys.executable, "-m", "hatchling", "build", "-t", "wheel", "-d", folder]
    subprocess.run(command, cwd=ROOT, check=True, capture_output=True)
    (path,) = folder.glob("*.whl")
    with zipfile.ZipFile(path) as archive:
        archive.extractall(folder / "unpacked")
    return folder / "unpacked"


@pytest.fixture(scope="module")
def wheel(unpacked) -> set[str]:
    files = (path for path in unpacked.rglob("*") if path.is_file())
    return {path.relative_to(unpacked).as_posix() for path in files}


def tracked(folder: str) -> list[str]:
    """The files of a folder that git knows, as paths from the root of the checkout."""
    done = subprocess.run(
        ["git", "ls-files", "-z", folder], cwd=ROOT, check=True, capture_output=True, text=True
    )
    return [name for name in done.stdout.split("\0") if name and (ROOT / name).exists()]


def test_every_tracked_file_of_the_code_is_in_the_wheel(wheel):
    assert [name for name in tracked("builder") if name not in wheel] == []


def test_every_theme_and_font_is_in_the_wheel_inside_the_package(wheel):
    themes = tracked("themes")
    assert themes
    assert [name for name in themes if f"builder/{name}" not in wheel] == []


def test_nothing_but_the_package_and_its_description_is_in_the_wheel(wheel):
    assert {name.split("/")[0] for name in wheel} == {"builder", "plyleaf-0.1.0.dist-info"}


def test_the_licence_is_in_the_wheel(wheel):
    assert "plyleaf-0.1.0.dist-info/licenses/LICENSE" in wheel


def test_the_command_works_away_from_the_checkout(unpacked, tmp_path):
    """A new booklet is begun and built by the wheel's code with the wheel's themes alone."""
    environment = {**os.environ, "PYTHONPATH": str(unpacked), "PYTHONDONTWRITEBYTECODE": "1"}

    def run(*command: str) -> str:
        done = subprocess.run(
            [sys.executable, *command], cwd=tmp_path, env=environment, capture_output=True, text=True
        )
        assert done.returncode == 0, done.stdout + done.stderr
        return done.stdout

    where = run("-c", "import builder; print(builder.__file__)")
    assert Path(where.strip()).is_relative_to(unpacked)
    assert "plyleaf COMMAND --help" in run("-m", "builder", "--help")
    run("-m", "builder", "new", "mine")
    run("-m", "builder", "build", "mine", "--out", "out")
    assert (tmp_path / "out" / "index.html").is_file()
    assert list((tmp_path / "out").glob("*.pdf"))
