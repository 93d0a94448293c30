"""Reading transcripts: the forms, what can't be read, what is hostile; and the files written."""

from __future__ import annotations

import random
import time

import pytest
from speech.listening import heard, lines

from builder.__main__ import main
from builder.faults import Faults
from builder.pgn.tell import Teller
from builder.place import Source
from builder.speech.lexicon import load_lexicon
from builder.speech.transcripts import read_transcript
from builder.speech.utterance import words_of

VTT = """WEBVTT

NOTE not spoken

1
00:00:01.000 --> 00:00:03.000 align:start
<v Coach>E4, e5, <i>knight</i> f3

00:00:04.000 --> 00:00:06.500
[Music] knight c6 &amp; bishop b5
"""
SRT = """1
00:00:01,000 --> 00:00:03,000
E4, e5, knight f3

2
00:00:04,000 --> 00:00:06,500
knight c6 bishop b5
"""
ROLLING = """WEBVTT

00:00:01.000 --> 00:00:03.000
e4 e5<00:00:02.000><c> knight f3</c>

00:00:03.000 --> 00:00:05.000
e4 e5 knight f3
knight c6 bishop b5
"""
TIMED = "[00:01] E4, e5, knight f3\n00:04 knight c6\nbishop b5\n"
FORMS = {"vtt": VTT, "srt": SRT, "rolling": ROLLING, "timed": TIMED}


def read(text):
    faults = Faults()
    source = Source("talk.vtt", text)
    faults.add_source(source)
    tell = Teller("talk.vtt", faults)
    words = list(words_of(read_transcript(source, tell), load_lexicon("en")))
    tell.finish()
    return words, faults


@pytest.mark.parametrize("text", FORMS.values(), ids=FORMS)
def test_forms(text):
    words, faults = read(text)
    assert [word.text for word in words] == "e4 e5 knight f3 knight c6 bishop b5".split()
    assert not faults.sorted()
    assert words[0].time == 1.0 and 3.0 <= words[4].time <= 4.0


@pytest.mark.parametrize("text", FORMS.values(), ids=FORMS)
def test_places(text):
    """A word's place is where it stands in the file."""
    rows = text.split("\n")
    for word in read(text)[0]:
        stretch = rows[word.place.line - 1][word.place.column - 1 : word.place.end_column - 1]
        assert stretch.lower() == word.text


def test_read_as_another_library_reads():
    """pysubs2 (PyPI) reads the same times and, tags aside, the same words."""
    import pysubs2
    for text, form in ((VTT, "vtt"), (SRT, "srt")):
        faults = Faults()
        source = Source("talk", text)
        cues = read_transcript(source, Teller("talk", faults))
        theirs = pysubs2.SSAFile.from_string(text, format_=form)
        assert [(cue.start, cue.end) for cue in cues] == [
            (event.start / 1000, event.end / 1000) for event in theirs
        ]


BROKEN = {
    "times": ("WEBVTT\n\n00:00:01.000 --> 00:00:02.000\ne4\n\n00:0x:01 --> later\ne5\n", "talk-time", 6),
    "no words": ("", "talk-empty", 1),
    "no moves": ("[00:01] good evening everybody\n", "talk-moves", 1),
}  # fmt: skip


@pytest.mark.parametrize(("text", "code", "line"), BROKEN.values(), ids=BROKEN)
def test_faults_have_places(text, code, line, tmp_path, capsys):
    talk = tmp_path / "talk.vtt"
    talk.write_text(text)
    main(["draft", str(talk), "--into", str(tmp_path / "b"), "--format", "json"])
    told = capsys.readouterr().out
    assert f'"code": "{code}"' in told and f'"line": {line}' in told


HOSTILE = {
    "articles": "a " * 400,
    "captures": "takes " * 400,
    "halves": "knight night b " * 150,
    "ways back": "going back to " * 150,
    "moves at random": " ".join(
        random.Random(1).choices(
            ["knight f3", "takes", "e4", "e5", "castles", "what if instead", "no sorry"], k=120
        )
    ),
}


@pytest.mark.parametrize("speech", HOSTILE.values(), ids=HOSTILE)
def test_hostile_speech_ends(speech):
    before = time.process_time()
    heard(speech)
    assert time.process_time() - before < 60


def test_markup_in_speech_stays_words(tmp_path, capsys):
    talk = tmp_path / "talk.txt"
    talk.write_text(
        "[00:01] e4 e5 this position called [x](javascript:y) --> {% material even %} `code` @name"
        " <b>bold</b> }} (D) every one of these words is harmless. knight f3\n"
    )
    assert main(["draft", str(talk), "--into", str(tmp_path / "b")]) == 0
    assert main(["check", str(tmp_path / "b")]) == 0


def test_files_are_new_and_check_is_well(tmp_path, capsys):
    """The chapter holds the tree that was heard; a second draft replaces nothing."""
    talk = tmp_path / "talk.txt"
    talk.write_text(
        "[00:01] e4 e5 knight f3 knight c6 and this knight defends the pawn quite well.\n"
        "[00:09] what if instead black plays d6, which is called the Philidor by everybody. d4\n"
    )
    folder = tmp_path / "b"
    assert main(["draft", str(talk), "--into", str(folder)]) == 0
    first = {path: path.read_bytes() for path in folder.rglob("*") if path.is_file()}
    chapter = next(folder.glob("chapters/*.md")).read_text()
    assert "draft = true" in chapter and "<!--0:0" in chapter
    assert "2... d6" in chapter.replace("\n", " ")
    report = (folder / "talk.heard.tsv").read_text()
    rows = [line.split("\t") for line in report.strip().split("\n")]
    assert {len(row) for row in rows} == {len(rows[0])}
    assert [row[4] for row in rows if row[3] in ("move", "unsure")] == [
        "1.e4", "1...e5", "2.Nf3", "2...Nc6", "2...d6", "3.d4",
    ]  # fmt: skip
    assert main(["draft", str(talk), "--into", str(folder)]) == 0
    assert {path: path.read_bytes() for path in first} == first
    assert main(["check", str(folder)]) == 0


def test_the_same_bytes_every_time(tmp_path, capsys):
    talk = tmp_path / "talk.txt"
    talk.write_text("[00:01] d4 d5 knight f3 knight f6 e3 e6 knight d2 is a move of ours\n")
    made = []
    for name in ("a", "b"):
        main(["draft", str(talk), "--into", str(tmp_path / name)])
        made.append([path.read_bytes() for path in sorted((tmp_path / name).rglob("*.*"))])
    assert made[0] == made[1]


def test_doubts_are_told(tmp_path, capsys):
    """Two knights can go there, and neither what follows nor what is played in games decides."""
    talk = tmp_path / "talk.txt"
    talk.write_text("[00:01] d4 d5 a3 a6 h3 h6 knight f3 knight f6 e3 e6 knight d2\n")
    main(["draft", str(talk), "--into", str(tmp_path / "b")])
    chapter = " ".join(next((tmp_path / "b").glob("chapters/*.md")).read_text().split())
    assert "**TODO** 0:01 heard “knight d2”: 6.Nbd2, or 6.Nfd2" in chapter


def test_claims_are_told(tmp_path, capsys):
    talk = tmp_path / "talk.txt"
    talk.write_text(
        "[00:01] e4 e5 knight f3 and so we count two attackers on e5 in this very moment. d6\n"
    )
    main(["draft", str(talk), "--into", str(tmp_path / "b")])
    chapter = " ".join(next((tmp_path / "b").glob("chapters/*.md")).read_text().split())
    assert "heard “two attackers on e5”" in chapter and "{attackers" not in chapter


def test_lines_of_a_start_position():
    assert lines(heard("e4 e5")) == ["1.e4 e5"]
