"""The PDF from parts: side by side or one by one, from what was kept or from nothing.

A booklet whose chapters refer to each other both ways, and whose pages reach 10, so that numbers
of one and of two digits are printed.
"""

from __future__ import annotations

import os
import re
import shutil
import signal
import subprocess
import sys
import time
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from pathlib import Path

import pypdf
import pytest
from tiny import read_and_make, write_booklet

from builder.press import kept, workers
from builder.press.kept import Kept
from builder.press.means import Means
from builder.press.numbers import Digits, Hole, fill, find, hole, named, tidy
from builder.press.parts import Role, split
from builder.press.pdf import write_pdf
from builder.press.workers import Helpers, Workers

ROOT = Path(__file__).parents[2]
SETTINGS = 'title = "Parts"\ndate = 2026-01-02\n'


def chapter(number: int, words: int = 40) -> str:
    """A chapter of about two pages that refers to the next one, the first to the last too."""
    there = number % 4 + 1
    first = "[@place-4] and [@place-3]." if number == 1 else "[@place-1]."
    return f"""\
# Chapter {number}

See [@place-{there}], {first} {"Some words go here. " * words}

```line main{number}
1. e4 e5 2. Nf3 Nc6 3. {("Bc4", "Bb5", "d4", "Nc3")[number - 1]} @place-{number} (D "Here")
```

{"More words go there. " * words}

```exercise e{number} from @place-{number}
task: What is natural?
solution: {("3... Bc5", "3... a6", "3... exd4", "3... Nf6")[number - 1]}
```
"""


CHAPTERS = tuple(chapter(number) for number in range(1, 5))


@dataclass(frozen=True)
class Built:
    path: Path
    page_of: dict[str, int]
    front: int

    @property
    def data(self) -> bytes:
        return self.path.read_bytes()

    def reader(self) -> pypdf.PdfReader:
        return pypdf.PdfReader(self.path)

    def text(self) -> list[str]:
        out = subprocess.run(["pdftotext", "-layout", self.path, "-"], check=True,
                             capture_output=True, encoding="utf-8").stdout  # fmt: skip
        return [" ".join(page.split()) for page in out.split("\f")[:-1]]


def build(folder: Path, name: str = "out.pdf", fresh: bool = False, means: Means | None = None) -> Built:
    source, booklet, faults = read_and_make(folder)
    facts = write_pdf(booklet, source.settings, folder, folder.parent / name, faults, means or Means(fresh))
    assert [fault.as_text() for fault in faults.sorted()] == []
    return Built(folder.parent / name, dict(facts.page_of), facts.front_pages)


@pytest.fixture
def laid(monkeypatch) -> list[int]:
    """How many parts each round of a build lays out."""
    counts: list[int] = []
    lay_out = Workers.lay_out

    def counting(self, sheaves):
        counts.append(len(sheaves))
        return lay_out(self, sheaves)

    monkeypatch.setattr(Workers, "lay_out", counting)
    return counts


@pytest.fixture(scope="module")
def folder(tmp_path_factory) -> Path:
    return write_booklet(tmp_path_factory.mktemp("parts") / "booklet", *CHAPTERS, settings=SETTINGS)


@pytest.fixture(scope="module")
def built(folder) -> Built:
    return build(folder)


def copied(folder: Path, tmp_path: Path) -> Path:
    return Path(shutil.copytree(folder, tmp_path / "booklet"))


def change(folder: Path, number: int, text: str) -> None:
    (file,) = (path for path in folder.rglob("*.md") if f"# Chapter {number}\n" in path.read_text())
    file.write_text(text)


# --- one document -----------------------------------------------------------------------------


def test_references_both_ways_tell_the_right_pages(built, program):
    program("pdftotext")
    pages = built.text()
    assert {len(str(page)) for page in built.page_of.values()} == {1, 2}
    for number in range(1, 5):
        page = built.page_of[f"diagram-{number}"]
        assert re.search(rf"Diagram {number}\b", pages[built.front + page - 1])
        told = re.findall(rf"Diagram {number}, page (\d+)", " ".join(pages))
        assert len(told) >= (2 if number != 2 else 1) and set(told) == {str(page)}


def test_every_page_has_its_number(built, program):
    program("pdftotext")
    for label, text in zip(built.reader().page_labels, built.text(), strict=True):
        assert not text or label in ("i", "ii") or text.split()[-1] == label, (label, text)


def test_links_lead_where_the_anchors_are(built):
    reader = built.reader()
    known = reader.named_destinations
    goals = [str(link.get_object()["/Dest"]) for page in reader.pages
             for link in page.get("/Annots", [])]  # fmt: skip
    assert {"diagram-1", "diagram-4", "solution-1", "exercise-4", "chapter.2"} <= set(goals)
    for goal in set(goals):
        page = reader.get_destination_page_number(known[goal])
        assert page == built.front + built.page_of[goal] - 1


def test_the_structure_is_one_tree(built):
    """ISO 32000-1, 14.7: elements lead to their parents, marked content and links to elements."""
    reader = built.reader()
    root = reader.root_object["/StructTreeRoot"]
    (document,) = root["/K"]
    waiting, elements = [document], {}
    while waiting:
        reference = waiting.pop()
        element = reference.get_object()
        assert reference.idnum not in elements
        elements[reference.idnum] = element
        for kid in element.get("/K", []):
            if not isinstance(kid, int) and kid.get_object().get("/Type") == "/StructElem":
                assert kid.get_object()["/P"] == element
                waiting.append(pypdf.generic.IndirectObject(kid.idnum, 0, reader))
    assert len(elements) > 100
    parents = {}
    for node in root["/ParentTree"]["/Kids"]:
        nums = node["/Nums"]
        assert node["/Limits"] == [nums[0], nums[-2]]
        assert not set(nums[::2]) & set(parents)
        parents.update(zip(nums[::2], nums[1::2], strict=True))
    assert list(parents) == list(range(root["/ParentTreeNextKey"]))
    for page in reader.pages:
        marked = {int(found) for found in re.findall(rb"/MCID (\d+)", page.get_contents().get_data())}
        row = enumerate(parents[page["/StructParents"]])
        assert marked == {at for at, one in row if not isinstance(one, pypdf.generic.NullObject)}
        for link in page.get("/Annots", []):
            element = parents[link.get_object()["/StructParent"]].get_object()
            kids = [kid.get_object() for kid in element["/K"] if not isinstance(kid, int)]
            assert link.get_object() in [kid["/Obj"].get_object() for kid in kids if "/Obj" in kid]


def test_each_font_is_there_once(built, program):
    done = subprocess.run([program("pdffonts"), built.path], check=True, capture_output=True,
                          text=True)  # fmt: skip
    names = [row.split()[0] for row in done.stdout.splitlines()[2:]]
    assert names and len(names) == len(set(names))


def test_qpdf_finds_nothing(built, program):
    done = subprocess.run([program("qpdf"), "--check", built.path], capture_output=True, text=True)
    assert (done.returncode, done.stderr) == (0, ""), done.stdout


def test_side_by_side_is_one_by_one(folder, built, tmp_path, monkeypatch):
    monkeypatch.setattr(workers, "_processors", lambda: 3)
    monkeypatch.setattr(workers, "_WORTH", 1)
    helpers = []
    helper = workers._Helper

    def started():
        helpers.append(helper())
        return helpers[-1]

    monkeypatch.setattr(workers, "_Helper", started)
    again = build(copied(folder, tmp_path), fresh=True)
    assert helpers and all(one._process.poll() is not None for one in helpers)
    assert again.data == built.data


@pytest.mark.parametrize("lent", [False, True])
def test_a_helper_that_dies_is_done_without(folder, built, tmp_path, monkeypatch, lent):
    monkeypatch.setattr(workers, "_processors", lambda: 2)
    monkeypatch.setattr(workers, "_WORTH", 1)
    monkeypatch.setattr(workers, "_START", "import os; os._exit(1)  # {path}")
    with Helpers() as helpers:
        helpers.prepare()
        helpers.check()
        means = Means(True, helpers if lent else None)
        assert build(copied(folder, tmp_path), means=means).data == built.data


def test_lent_helpers_do_all_of_it(folder, built, tmp_path, monkeypatch):
    def nothing(setting):
        raise AssertionError("this process lays out")

    monkeypatch.setattr(workers, "_Bench", nothing)
    monkeypatch.setattr(workers, "pango_version", nothing)
    with Helpers() as helpers:
        assert build(copied(folder, tmp_path), means=Means(True, helpers)).data == built.data


def test_helpers_that_end_stop_whoever_waits_for_them(folder, tmp_path):
    """A build that is stopped: the thread which lays out ends at once, and doesn't go on by itself."""
    source, booklet, faults = read_and_make(copied(folder, tmp_path))
    with ThreadPoolExecutor(1) as thread, Helpers() as helpers:
        helpers.prepare()
        laid = thread.submit(write_pdf, booklet, source.settings, source.files.folder,
                             tmp_path / "x.pdf", faults, Means(True, helpers))  # fmt: skip
        helpers.check()
    assert laid.result(0) is None
    assert "it was stopped" in [fault.message for fault in faults.sorted()][0]


# --- what is kept -----------------------------------------------------------------------------


def test_a_build_lays_out_what_was_changed(folder, built, tmp_path, laid):
    changed = copied(folder, tmp_path)
    build(changed)
    assert sum(laid) == 0
    change(changed, 2, CHAPTERS[1].replace("Some words", "Many words"))
    warm = build(changed, "warm.pdf")
    assert sum(laid) <= 2  # twice where the numbers had more digits than was guessed
    cold = build(changed, "cold.pdf", fresh=True)
    assert warm.data == cold.data != built.data


def test_a_chapter_that_grows_moves_all_later_pages(tmp_path, laid, program):
    """Chapters of four pages, so that most numbers have two digits before and after."""
    program("pdftotext")
    chapters = (chapter(number, words=140) for number in range(1, 5))
    changed = write_booklet(tmp_path / "booklet", *chapters, settings=SETTINGS)
    built = build(changed)
    laid.clear()
    change(changed, 1, chapter(1, words=400))
    warm = build(changed, "warm.pdf")
    saved = sum(laid)
    assert warm.page_of["chapter.4"] > built.page_of["chapter.4"]
    assert warm.data == build(changed, "cold.pdf", fresh=True).data
    assert saved < sum(laid) - saved  # others only where their numbers have more digits now
    text = " ".join(warm.text())
    for number in range(1, 5):
        told = set(re.findall(rf"Diagram {number}, page (\d+)", text))
        assert told == {str(warm.page_of[f"diagram-{number}"])}


@pytest.mark.parametrize("damage", ["cut", "turned", "emptied", "renamed", "pipe"])
def test_what_is_kept_is_not_believed_when_it_was_touched(folder, built, tmp_path, damage):
    changed = copied(folder, tmp_path)
    files = sorted((changed / kept.FOLDER).iterdir())
    assert len(files) > 10
    for file in files:
        data = file.read_bytes()
        if damage == "cut":
            file.write_bytes(data[: len(data) // 2])
        elif damage == "turned":
            file.write_bytes(data[:-1] + bytes([data[-1] ^ 1]))
        elif damage == "emptied":
            file.write_bytes(b"")
        elif damage == "pipe":
            file.unlink()
            os.mkfifo(file)
    if damage == "renamed":
        parts = [file for file in files if file.suffix == ".part"]
        contents = [file.read_bytes() for file in parts]
        for file, other in zip(parts, [*contents[1:], contents[0]], strict=True):
            file.write_bytes(other)
    assert build(changed).data == built.data


def test_what_another_user_kept_is_not_read(folder, built, tmp_path, monkeypatch, laid):
    changed = copied(folder, tmp_path)
    monkeypatch.setenv("XDG_STATE_HOME", str(tmp_path / "other"))
    assert build(changed).data == built.data
    assert sum(laid) > 0


def test_without_a_place_to_keep_things(folder, built, tmp_path, monkeypatch):
    """A file in the folder's stead fails as a folder does that can't be written."""
    changed = copied(folder, tmp_path)
    shutil.rmtree(changed / ".plyleaf")
    (changed / ".plyleaf").write_text("")
    (tmp_path / "state").write_text("")
    assert build(changed).data == built.data
    monkeypatch.setenv("XDG_STATE_HOME", str(tmp_path / "state"))
    (changed / ".plyleaf").unlink()
    assert build(changed).data == built.data
    assert not (changed / ".plyleaf").exists()


def test_a_link_in_the_folders_stead_is_left_alone(folder, built, tmp_path):
    changed = copied(folder, tmp_path)
    shutil.rmtree(changed / ".plyleaf")
    elsewhere = tmp_path / "elsewhere"
    elsewhere.mkdir()
    (changed / ".plyleaf").symlink_to(elsewhere)
    assert build(changed).data == built.data
    assert list(elsewhere.iterdir()) == []


def test_old_files_go_and_others_stay(tmp_path, monkeypatch):
    store = Kept(tmp_path)
    names = [f"{number:064x}.part" for number in range(4)]
    for age, name in enumerate(names):
        store.keep(name, bytes(1000))
        os.utime(tmp_path / kept.FOLDER / name, (age, age))
    foreign = tmp_path / kept.FOLDER / "notes.txt"
    foreign.write_text("mine")
    monkeypatch.setattr(kept, "MOST", 2500)
    later = Kept(tmp_path)
    assert later.read(names[0]) == bytes(1000)
    os.utime(tmp_path / kept.FOLDER / names[0], (0, 0))
    later.tidy()
    assert sorted(path.name for path in foreign.parent.iterdir()) == sorted(
        [names[0], names[2], names[3], "notes.txt"]
    )


def test_killed_in_the_middle(folder, built, tmp_path):
    """No helper is left behind, and what was kept so far serves the next build."""
    changed = copied(folder, tmp_path)
    shutil.rmtree(changed / ".plyleaf")
    script = (
        "import sys; sys.path[:0] = ['tests', '.']\n"
        "from pathlib import Path\n"
        "from press.test_parts import build\n"
        "from builder.press import workers\n"
        "workers._processors, workers._WORTH = lambda: 2, 1\n"
        "build(Path(sys.argv[1]))\n"
    )
    process = subprocess.Popen([sys.executable, "-c", script, changed], cwd=ROOT,
                               stdout=subprocess.PIPE, start_new_session=True)  # fmt: skip
    kept_files = changed / kept.FOLDER
    for _ in range(600):
        if kept_files.is_dir() and any(kept_files.glob("*.part")):
            break
        time.sleep(0.1)
    process.send_signal(signal.SIGKILL)
    process.wait()
    for _ in range(300):
        if not _group(process.pid):
            break
        time.sleep(0.1)
    assert _group(process.pid) == []
    assert build(changed).data == built.data


def _group(leader: int) -> list[int]:
    """The processes of a session."""
    found = []
    for path in Path("/proc").glob("[0-9]*"):
        try:
            state, _, _, session = path.joinpath("stat").read_text().rpartition(")")[2].split()[:4]
        except OSError:
            continue
        if int(session) == leader and state != "Z":
            found.append(int(path.name))
    return found


# --- numbers and parts --------------------------------------------------------------------------

TABULAR = Digits(tuple(range(16, 26)), (500,) * 10)


def test_holes_are_named_and_found():
    text = f"see {hole(5, 2)} and {hole(None, 3)}"
    assert named(text) == [(5, 2), (None, 3)]
    shown = tidy(b"[<0001>0<>0.0<>0.0<>0.0<>0.0<>0.0<0010>0<0010>0<>0.0<0002>-3<>0.0<>0.0"
                 b"<0010>0<0010>0<0010>0<>0.0<0003>0] TJ")  # fmt: skip
    content = find(shown, text, ["a", "b", "c", "d", "e", "f"], 7, lambda: TABULAR)
    assert [piece for piece in content if isinstance(piece, Hole)] == [
        Hole("f", 2, TABULAR), Hole(7, 3, TABULAR),
    ]  # fmt: skip
    filled = fill(content, lambda page: {"f": 64, 7: 107}[page])
    assert re.sub(rb"\s", b"", filled) == b"[<0001><00160014><0002>-3<001100100017><0003>]TJ"


@pytest.mark.parametrize(
    ("number", "places", "shown"),
    [
        ("7", 1, b"<0017>"),
        ("10", 2, b"-30<0011>-30<0010>"),  # a one that is narrower stands in a zero's room
        ("7", 3, b"-1000<0017>"),  # room that is left over stays empty in front
    ],
)
def test_digits_are_set_in_the_room_of_zeros(number, places, shown):
    digits = Digits(tuple(range(16, 26)), (500, 440, *[500] * 8))
    assert digits.show(number, places) == shown


PAGE = "<html><body>\n{}<!-- end of parts -->\n</body></html>\n"


def test_parts_stand_in_the_order_of_the_book():
    main = PAGE.format('<!-- part main recto --><a id="a" href="#b">x</a>'
                       '<!-- part main recto --><i id="b"></i>')  # fmt: skip
    frame = PAGE.format('<!-- part front recto --><p>front</p>'
                        '<!-- part back next --><a href="#a">\u2063a\u2063</a>')  # fmt: skip
    parts = split(main, frame)
    assert [(part.role, part.recto, part.closes) for part in parts] == [
        (Role.FRONT, True, True), (Role.MAIN, True, True), (Role.MAIN, True, False),
        (Role.BACK, False, False),
    ]  # fmt: skip
    assert 'href="elsewhere:b" data-at="\u2063b\u2063"' in parts[1].html
    assert parts[3].refers_to == ("a",)
    assert all(part.html.startswith("<html>") and part.html.endswith("</html>\n") for part in parts)


def test_an_authors_marks_are_no_page_numbers():
    main = '<body><p id="a">\u2063a\u2063 \u2062 \u2063</p></body>'
    frame = '<body><p>\u2063nowhere\u2063 \u2061</p></body>'
    (front, text) = split(main, frame)
    assert front.refers_to == text.refers_to == ()
    assert not re.search("[\u2061-\u2063]", front.html + text.html)


def test_what_was_told_is_told_again(tmp_path, laid):
    """A letter that no font of the theme has: the part is kept, and so is the warning."""
    text = CHAPTERS[0].replace("[@place-2], [@place-4] and [@place-3].", "\u0e01")
    folder = write_booklet(tmp_path / "booklet", text, settings=SETTINGS)
    told = []
    for _ in range(2):
        source, booklet, faults = read_and_make(folder)
        write_pdf(booklet, source.settings, folder, tmp_path / "x.pdf", faults)
        told.append([fault.as_text() for fault in faults.sorted()])
        count = sum(laid)
    assert told[0] == told[1] and len(told[0]) == 1
    assert sum(laid[len(laid) // 2 :]) == 0 < count
