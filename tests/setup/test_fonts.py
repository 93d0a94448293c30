"""The fonts that are shipped: listed, licensed, and whole for what the pages print.

A glyph that no shipped face has would come from whatever fonts the machine has, or stay blank.
"""

from pathlib import Path

import pytest
from fontTools.ttLib import TTFont

from builder.render import notation
from builder.render.words import FOLDER

FONTS = Path(__file__).parents[2] / "themes" / "fonts"
TEXT_FACES = sorted(path.name for path in FONTS.glob("Source*.woff2"))
SITE_FACES = sorted(path.name for path in FONTS.glob("plyleaf-text*.woff2"))
FIGURINE = "plyleaf-figurine.woff2"
# Latin letters of the languages of Europe, and the marks of good typesetting.
LETTERS = "ÄäÉéÈèÊêËëÍíÎîÏïÑñÓóÔôÖöÜüßÇçÃãÕõŒœÆæØøÅåŁłŻżŹźĄąĘęĆćŃńŚśČčŘřŠšŽžĐđŐőŰűĞğİıŞşȚțÞþ"
MARKS = "…–—‘’“”„‚«»½¼¾×±≥≤≠∞→−·†‡§¶№\u00a0\u2009"
SIGNS = "".join(
    [
        *notation.MOVE_SIGNS.values(),
        *notation.POSITION_SIGNS.values(),
        *notation.RESULT_SIGNS.values(),
    ]
)


def characters(name: str) -> set[str]:
    return {chr(code) for code in TTFont(FONTS / name).getBestCmap()}


def lacking(name: str, wanted: str) -> str:
    return "".join(sorted(set(wanted) - characters(name)))


def test_there_are_upright_and_italic_faces_in_two_weights_of_both_families():
    weights = set()
    for name in TEXT_FACES:
        os2 = TTFont(FONTS / name)["OS/2"]
        weights.add((name.split("-")[0], os2.usWeightClass, bool(os2.fsSelection & 1)))
    assert weights == {
        (family, weight, italic)
        for family in ("SourceSerif4", "SourceSans3")
        for weight in (400, 600)
        for italic in (False, True)
    }


@pytest.mark.parametrize("name", TEXT_FACES)
def test_a_text_face_has_the_letters_and_marks_of_prose(name):
    assert lacking(name, LETTERS + MARKS) == ""


@pytest.mark.parametrize("name", TEXT_FACES)
def test_every_sign_of_the_notation_is_in_the_text_face_or_the_figurine_font(name):
    assert set(lacking(name, SIGNS)) <= characters(FIGURINE)


@pytest.mark.parametrize("name", SITE_FACES)
def test_the_sites_face_has_what_its_own_words_are_written_with(name):
    """In all languages; and it doesn't bear the name that its licence reserves."""
    written = "".join(path.read_text(encoding="utf-8") for path in FOLDER.glob("*.toml"))
    assert lacking(name, written.replace("\n", "")) == ""
    font = TTFont(FONTS / name)["name"]
    assert not [one for one in font.names if one.nameID in (1, 3, 4, 6, 16) and "Source" in str(one)]
    assert "SIL Open Font License" in font.getDebugName(13)


def test_the_figurine_font_has_the_twelve_pieces():
    assert lacking(FIGURINE, "♔♕♖♗♘♙♚♛♜♝♞♟") == ""


def test_every_font_is_listed_with_a_licence_that_lies_beside_it():
    rows = [
        [cell.strip() for cell in line.strip("|\n").split("|")]
        for line in (FONTS / "README.md").read_text().splitlines()
        if line.startswith("| `")
    ]
    shipped = {path.name for path in FONTS.iterdir() if path.suffix in {".ttf", ".otf", ".woff2"}}
    assert {row[0].strip("`") for row in rows} == shipped
    licences = {row[-1].split("`")[1] for row in rows}
    assert {name for name in licences if not (FONTS / name).is_file()} == set()
