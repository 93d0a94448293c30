"""Chapters drafted from running speech.

transcript → cues → words → what could be meant (lexicon, patterns, mentions, cues)
→ a search over (place in the tree of moves, words heard) → doubts → a draft chapter, a report.

No word of a language stands in the code: `words/LANGUAGE.toml` holds them all.
"""

# Those that have a file of words; here, where the command line finds it without the rules library.
LANGUAGES = ("en",)
