"""A student's feedback as one page: the result, what to look at again, every question folded.

The page is HTML without scripts and without anything from elsewhere; a content security policy
tells the browser so. On paper the folded questions are open.
"""

from __future__ import annotations

import html
import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from importlib.resources import files

MOST_AGAIN = 2
"""Questions to look at again: more would be none."""

PHRASE_CHARS = 90
DANGER = "**Safety:"

_POLICY = "default-src 'none'; img-src data:; style-src 'unsafe-inline'"
_HEADS = ("question", "points", "yours", "evidence", "in short")


@dataclass(frozen=True)
class Question:
    """One question that carries points.

    Attributes
    ----------
    name : such as ``q1``.
    title : as in the notebook.
    points, most : earned, and possible.
    yours, supported : in a few characters, what was answered and what the evidence supports; empty
        where that does not fit.
    asked : HTML, as the student saw it.
    answer : the student's own text, as typed.
    explanation : HTML.
    phrase : the result in a few words.
    comment : what the instructor wrote.
    waits : the instructor has still to mark it.
    answered : something was typed.
    """

    name: str
    title: str
    points: float
    most: float
    yours: str = ""
    supported: str = ""
    asked: str = ""
    answer: str = ""
    explanation: str = ""
    phrase: str = ""
    comment: str = ""
    waits: bool = False
    answered: bool = True

    @property
    def lost(self) -> float:
        """Points that were marked and not earned."""
        return 0.0 if self.waits else self.most - self.points


@dataclass(frozen=True)
class Feedback:
    """All that a page says: ``again`` is HTML on what the answers together look like, or empty."""

    title: str
    student: str
    questions: tuple[Question, ...]
    again: str = ""
    late: float = 0.0

    @property
    def total(self) -> float:
        """Points earned, less what lateness took."""
        return sum(one.points for one in self.questions) - self.late

    @property
    def most(self) -> float:
        """Points of the whole assignment."""
        return sum(one.most for one in self.questions)


def page(feedback: Feedback) -> str:
    """The page.

    >>> made = page(Feedback("One ruler", "ada", (Question("q1", "First case", 2.5, 4.0),)))
    >>> "2.50 of 4 points" in made, "<script" in made
    (True, False)
    """
    style = files("lengthwise.classroom").joinpath("feedback.css").read_text(encoding="utf-8")
    title = html.escape(feedback.title)
    return "\n".join(
        [
            '<!DOCTYPE html>\n<html lang="en">\n<head>\n<meta charset="utf-8">',
            f'<meta http-equiv="Content-Security-Policy" content="{_POLICY}">',
            '<meta name="viewport" content="width=device-width, initial-scale=1">',
            f"<title>Feedback: {title}</title>\n<style>\n{style}</style>\n</head>\n<body>\n<main>",
            f'<h1>{title}</h1>\n<p class="quiet">Feedback for {html.escape(feedback.student)}</p>',
            *_result(feedback),
            *_again(feedback),
            "<h2>Question by question</h2>",
            '<p class="quiet">Open a question to see the case, your answer and the reasons. '
            "On paper all of them are open.</p>",
            *(_folded(one) for one in feedback.questions),
            "</main>\n</body>\n</html>\n",
        ]
    )


def short_of(explanation: str, share: float) -> str:
    r"""The result in a few words: the first sentence of an explanation in Markdown.

    What could hurt somebody comes before anything else.

    >>> short_of("- Read as meant: 24,5.\n\n**Right:** not yet is *what* fits. More.", 0.5)
    'Right: not yet is what fits'
    >>> short_of("| asked | earned |", 0.5)
    'right in part'
    """
    if share >= 1:
        return "right"
    paragraphs = explanation.split("\n\n")
    for paragraph in sorted(paragraphs, key=lambda one: not one.startswith(DANGER)):
        plain = re.sub(r"[*`_\\]", "", " ".join(paragraph.split()))
        if plain.startswith(("-", "|", "1.", "#", "You answered:")) or not plain.endswith("."):
            continue
        sentence = re.split(r"(?<=[.!?])\s", plain)[0]
        short = re.split(r" \(|(?<=here): ", sentence)[0].rstrip(".")
        if len(short) <= PHRASE_CHARS:
            return short
        return short[:PHRASE_CHARS].rsplit(" ", 1)[0].rstrip(",;:") + " …"
    return "right in part" if share > 0 else "earns nothing"


def points_shown(points: float) -> str:
    """Points that were earned, or taken off, as in the table of marks.

    >>> points_shown(2.5), points_shown(4.0)
    ('2.50', '4.00')
    """
    return f"{points:.2f}"


def lengths_shown(text: str) -> str:
    """Lengths to two places, each kept on one line with its unit, in text that is HTML already.

    >>> lengths_shown("23 mm"), lengths_shown("not yet (dry)")
    ('23.00&nbsp;mm', 'not yet (dry)')
    """
    return re.sub(r"(\d+(?:\.\d+)?) mm\b", lambda found: f"{float(found[1]):.2f}&nbsp;mm", text)


def _result(feedback: Feedback) -> Iterable[str]:
    total, most = points_shown(feedback.total), f"{feedback.most:g}"
    yield "<h2>Your result</h2>"
    yield f'<p class="total"><strong>{total} of {most} points</strong></p>'
    if feedback.late:
        yield f"<p>{points_shown(feedback.late)} points were taken off because it came late.</p>"
    waiting = [one for one in feedback.questions if one.waits]
    if waiting:
        names = html.escape(", ".join(one.name for one in waiting))
        yield (
            f"<p><strong>Still to be marked by your instructor: {names}.</strong> "
            "What is not marked yet counts as 0 here.</p>"
        )
    heads = "".join(f'<th scope="col">{head}</th>' for head in _HEADS)
    yield f'<table class="short">\n<thead><tr>{heads}</tr></thead>\n<tbody>'
    yield from (_row(one) for one in feedback.questions)
    yield "</tbody>\n</table>"


def _row(one: Question) -> str:
    phrase = "waits for your instructor" if one.waits else one.phrase
    rest = "".join(
        f'<td data-head="{head}">{lengths_shown(html.escape(text))}</td>'
        for head, text in zip(_HEADS[2:4], (one.yours, one.supported), strict=True)
    )
    rest += f"<td>{html.escape(phrase)}</td>"
    return f'<tr><th scope="row">{_link(one)}{_name(one)}</th><td>{_out_of(one)}</td>{rest}</tr>'


def _name(one: Question) -> str:
    """Its name in the notebook, beside the title."""
    return f' <span class="quiet">{html.escape(one.name)}</span>' if one.name[1:].isdigit() else ""


def _out_of(one: Question) -> str:
    earned = "–" if one.waits and not one.points else points_shown(one.points)
    return f"{earned} of {one.most:g}"


def _again(feedback: Feedback) -> Iterable[str]:
    yield "<h2>What to look at again</h2>"
    answered = [one for one in feedback.questions if one.answered]
    dearest = sorted(answered, key=lambda one: -one.lost)[:MOST_AGAIN]
    lost = [one for one in dearest if one.lost > 0]
    blank = [one for one in feedback.questions if not one.answered and one.lost > 0]
    if feedback.again:
        yield feedback.again
    elif lost:
        yield "<p>Most was lost here; open it and read the reasons:</p>\n<ul>"
        yield from (f"<li>{_link(one)}: {html.escape(one.phrase)}</li>" for one in lost)
        yield "</ul>"
    elif answered:
        yield "<p>Nothing: every answer that is marked so far earned in full.</p>"
    if blank:
        links = ", ".join(map(_link, blank))
        yield f"<p>Not answered, so nothing is earned: {links}. Work through the reasons there.</p>"


def _link(one: Question) -> str:
    return f'<a href="#{html.escape(one.name)}">{html.escape(one.title)}</a>'


def _folded(one: Question) -> str:
    parts = [f'<div class="asked">\n{one.asked}\n</div>'] if one.asked else []
    if one.answer:
        parts += ["<h4>Your answer</h4>", f"<pre>{html.escape(one.answer)}</pre>"]
    if one.explanation:
        parts += ["<h4>Why</h4>", one.explanation]
    if one.comment:
        parts += [
            "<h4>From your instructor</h4>",
            f"<blockquote>{html.escape(one.comment)}</blockquote>",
        ]
    inside = "\n".join(parts)
    return (
        f'<details class="question">\n'
        f"<summary><h3>{html.escape(one.title)}</h3>{_name(one)} "
        f'<span class="points">{_out_of(one)}</span></summary>\n'
        # A link to what is folded opens it; one to the fold itself does not.
        f'<div class="inside" id="{html.escape(one.name)}">\n{inside}\n</div>\n</details>'
    )


def below(rank: str, markup: str) -> str:
    """HTML whose headings all have this rank, below those of the page, and no links to themselves.

    >>> below("h4", '<h2 id="a">Sources</h2>')
    '<h4>Sources</h4>'
    """
    plain = re.sub(r'<a class="anchor-link".*?</a>', "", markup)
    return re.sub(r"<(/?)h[1-6]\b[^>]*>", rf"<\1{rank}>", plain)


def title_of(texts: Mapping[str, str], name: str) -> str:
    r"""The heading over a question, from the notebook's texts by label; else its name.

    >>> title_of({"q1_text": "## First case\n\nRun it."}, "q1")
    'First case'
    """
    found = re.search(r"^#+ +(.+)$", texts.get(f"{name}_text", ""), re.MULTILINE)
    return found[1].strip() if found else name
