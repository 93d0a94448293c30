"""Exercises: the task where it stands, and the solution at the back."""

from __future__ import annotations

from markupsafe import Markup

from builder.model import Exercise
from builder.render import figures, lines
from builder.render.medium import Context


def task(exercise: Exercise, text: Markup, hint: Markup, at: Context) -> Markup:
    """The board, the task, the hint where the medium sets it here, and the way on."""
    words = at.medium.words
    parts = [
        Markup('<h{0} class="title" id="{1}-title">{2}\u00a0{3}</h{0}>').format(
            _level(at), exercise.anchor, words.exercise, exercise.number
        ),
        at.medium.beside(exercise),
        figures.figure(exercise.diagram, at),
        text,
    ]
    if hint and at.medium.hints_at_task:
        parts.append(
            Markup('<details class="hint"><summary>{}</summary>\n{}\n</details>').format(
                words.hint, hint
            )
        )
    href = at.medium.href(exercise.chapter, exercise.solution_anchor)
    parts.append(
        Markup('<p class="to-solution"><a href="{}">{}</a></p>').format(href, words.to_solution)
    )
    return Markup(
        '<section class="exercise" id="{0}" aria-labelledby="{0}-title">\n{1}\n</section>'
    ).format(exercise.anchor, Markup("\n").join(part for part in parts if part))


def solution(exercise: Exercise, hint: Markup, at: Context) -> Markup:
    """The solution under a heading that leads back to its task."""
    words = at.medium.words
    parts = [
        Markup('<h{0} class="title" id="{1}-title">{2}\u00a0{3}</h{0}>').format(
            _level(at), exercise.solution_anchor, words.solution, exercise.number
        )
    ]
    way_back = Markup('<p class="to-task"><a href="{}">{}</a></p>').format(
        at.medium.href(exercise.chapter, exercise.anchor), words.to_task
    )
    if at.medium.on_paper:
        parts.append(way_back)  # on the title's line
    if hint and not at.medium.hints_at_task:
        parts.append(
            Markup('<div class="hint"><p class="label">{}</p>\n{}\n</div>').format(
                words.hint, hint
            )
        )
    parts.append(lines.line(exercise.solution, at))
    if not at.medium.on_paper:
        parts.append(way_back)
    return Markup(
        '<section class="solution" id="{0}" aria-labelledby="{0}-title">\n{1}\n</section>'
    ).format(exercise.solution_anchor, Markup("\n").join(parts))


def _level(at: Context) -> int:
    return at.title_level or at.medium.heading_level + 1
