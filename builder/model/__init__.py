"""The booklet as every output reads it.

Frozen dataclasses, made once by `builder.book` and never changed. The model knows the rules
of chess but neither drawing nor files. Anchors are unique in the whole booklet, so that the
site (a page a chapter) and the print (one document) can use the same ones.
"""

from __future__ import annotations

from builder.model.booklet import (  # noqa: F401
    Booklet, Chapter, Opening,
)
from builder.model.counts import (  # noqa: F401
    NO_GAMES, GameCounts,
)
from builder.model.games import (  # noqa: F401
    Game, GameTags, NoteItem, OpeningTable, Parting, RunsInto, TableColumn, TableNote,
)
from builder.model.line import (  # noqa: F401
    Comment, Line, LineItem, LineKind, Ply, Result, VariationEnd, VariationStart,
)
from builder.model.parts import (  # noqa: F401
    Claim, ClaimTerm, Diagram, Exercise, Mark, MarkKind, NamedPosition,
)
from builder.model.played import (  # noqa: F401
    GamesFile, Played, PlayedMove,
)
from builder.model.position import (  # noqa: F401
    Position, PositionKey, position_key,
)
from builder.model.prose import (  # noqa: F401
    Block, Break, ClaimedWords, Code, CodeBlock, Emphasis, Footnote, FootnoteRef, Heading,
    Inline, ItemList, Link, Moves, Paragraph, Picture, PositionLink, Quote, Rule, Strike,
    Strong, Table, Text, words_of,
)
