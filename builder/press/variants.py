"""What makes a PDF one for archives (PDF/A-2a, ISO 19005-2) or for everyone (PDF/UA-1,
ISO 14289-1): its metadata as XMP (ISO 16684-1), and for archives what its colours mean.

In: what is known of the document. Out: the metadata's packet. That everything else is as these
standards ask (fonts in the file, tags, text alternatives, languages) goes for every PDF of ours.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from importlib.util import find_spec
from pathlib import Path
from typing import Any
from xml.sax.saxutils import escape

PLAIN, ARCHIVE, ACCESS = "plain", "pdf/a", "pdf/ua"
_NAMESPACES = {
    "dc": "http://purl.org/dc/elements/1.1/",
    "pdf": "http://ns.adobe.com/pdf/1.3/",
    "pdfaid": "http://www.aiim.org/pdfa/ns/id/",
    "pdfuaid": "http://www.aiim.org/pdfua/ns/id/",
    "xmp": "http://ns.adobe.com/xap/1.0/",
}
_CLAIMS = {
    ARCHIVE: "<pdfaid:part>2</pdfaid:part><pdfaid:conformance>A</pdfaid:conformance>",
    ACCESS: "<pdfuaid:part>1</pdfuaid:part>",
}
COLOURS = "sRGB2014.icc"  # of the International Color Consortium; WeasyPrint brings it along


def without_guesses(pdf: Any) -> Any:
    """The PDF, with pictures whose pixels a reader is not to smooth (ISO 19005-2, 6.2.8.1)."""
    for one in pdf.objects:
        extra = getattr(one, "extra", {})
        if extra.get("Subtype") == "/Image":
            extra["Interpolate"] = "false"
    return pdf


@dataclass(frozen=True, slots=True)
class About:
    """What the document's information says: dates as ISO 8601, anything may be empty."""

    title: str = ""
    author: str = ""
    creator: str = ""
    producer: str = ""
    created: str = ""
    modified: str = ""


def xmp(about: About, language: str, variant: str) -> bytes:
    """The packet, which says the same as the document's information (ISO 19005-2, 6.6.3)."""
    spaces = "".join(f' xmlns:{prefix}="{name}"' for prefix, name in _NAMESPACES.items())
    properties = "\n".join(_properties(about, language, variant))
    return (
        '<?xpacket begin="\ufeff" id="W5M0MpCehiHzreSzNTczkc9d"?>\n'
        '<x:xmpmeta xmlns:x="adobe:ns:meta/">'
        '<rdf:RDF xmlns:rdf="http://www.w3.org/1999/02/22-rdf-syntax-ns#">\n'
        f'<rdf:Description rdf:about=""{spaces}>\n'
        f"{properties}\n"
        '</rdf:Description>\n</rdf:RDF></x:xmpmeta>\n<?xpacket end="w"?>'
    ).encode()


def _properties(about: About, language: str, variant: str) -> Iterator[str]:
    if about.title:
        yield ('<dc:title><rdf:Alt><rdf:li xml:lang="x-default">'
               f"{escape(about.title)}</rdf:li></rdf:Alt></dc:title>")  # fmt: skip
    if about.author:
        yield f"<dc:creator><rdf:Seq><rdf:li>{escape(about.author)}</rdf:li></rdf:Seq></dc:creator>"
    if language:
        yield f"<dc:language><rdf:Bag><rdf:li>{escape(language)}</rdf:li></rdf:Bag></dc:language>"
    for name, value in (("xmp:CreatorTool", about.creator), ("pdf:Producer", about.producer),
                        ("xmp:CreateDate", about.created), ("xmp:ModifyDate", about.modified)):  # fmt: skip
        if value:
            yield f"<{name}>{escape(value)}</{name}>"
    yield _CLAIMS[variant]


def colour_profile() -> bytes:
    """What red, green and blue mean: sRGB as an ICC profile."""
    package = find_spec("weasyprint")
    assert package is not None and package.submodule_search_locations
    return (Path(package.submodule_search_locations[0]) / "pdf" / COLOURS).read_bytes()
