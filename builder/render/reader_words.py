"""The words of what the site's scripts build: the board beside the text, practice, search.

They stand in the `[reader]` table of `words/CODE.toml`; see `builder.render.words`.
"""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class ReaderWords:
    """Short phrases; `{…}` in them is filled in by the scripts."""

    # The board beside the text
    board: str
    show_board: str
    put_away: str
    move_back: str
    move_on: str
    to_start: str
    to_end: str
    turn: str
    goes_on: str
    instead: str
    ends_here: str
    read_there: str
    keep: str
    copy_link: str
    copy_fen: str
    copy_pgn: str
    save_picture: str
    copied: str
    not_copied: str
    in_words: str
    keys: str
    # How the reader likes it
    settings: str
    close: str
    light: str
    light_device: str
    light_day: str
    light_night: str
    text_size: str
    size_small: str
    size_usual: str
    size_large: str
    size_larger: str
    piece_names: str
    figurines: str
    letters: str
    # Practising
    practice: str
    practice_about: str
    answer_here: str
    your_move: str
    answer: str
    not_a_move: str  # {move}
    right: str  # {move}
    wrong: str  # {move}
    wrong_reply: str  # {move} {reply}
    help: str
    help_piece: str  # {square}
    help_square: str  # {square}
    again: str
    promote: str
    record_line: str  # {right} {wrong} {date}
    not_tried: str
    due: str
    later: str
    nothing_due: str
    drill: str
    drill_about: str
    whole_booklet: str
    play_side: str
    begin: str
    expected: str  # {move}
    answered: str  # {move}
    drill_over: str  # {right} {wrong}
    nothing_to_drill: str
    your_record: str
    save_record: str
    take_in: str
    taken_in: str  # {count}
    bad_file: str
    forget: str
    forget_sure: str
    not_kept: str
    # Finding
    find: str
    find_about: str
    search_for: str
    found: str  # {count}
    first_shown: str  # {count} {shown}
    nothing_found: str
    set_pieces: str
    set_about: str
    any_piece: str
    any_white: str
    any_black: str
    empty_square: str
    rub_out: str
    signs: str
    pieces_written: str
    colours_changed: str
    clear: str
    left_where: str
    left_about: str
    games_here: str
    games_file: str
    look: str
    game: str
    last_in: str
    then_played: str
    booklet_move: str
    where: str
    to_its_end: str
    no_more: str
    never_in: str
    bad_move: str  # {move} {after}
    no_games: str
    no_script: str
