"""What practice says in words, its record table and its pictures. Rounding happens here."""

from __future__ import annotations

import html

import numpy as np

from lengthwise.bench.film_sheet import film_sheet
from lengthwise.counted import counted
from lengthwise.evidence import ElectronicReading, Evidence
from lengthwise.marking.practice_cautions import estimate_words, near, some_lie_close
from lengthwise.marking.practice_chair import Done, Sitting
from lengthwise.marking.practice_kinds import KINDS
from lengthwise.marking.practice_ways import WAYS
from lengthwise.marking.sheet import Sheet
from lengthwise.marking.tooth_words import named
from lengthwise.marking.trace_picture import trace_picture
from lengthwise.marking.trace_steps import trace_sheet
from lengthwise.reconciliation.sources import KIND_NAMES, tells_length
from lengthwise.reference import practice as q

_TICKS = {
    "film": "film", "film, aside": "film aside", "prepare": "prepared", "reading": "reading",
    "dry": "dried", "point": "point", "saline": "saline", "hypochlorite": "hypochlorite",
    "wait": "waited", "patency": "patency", "cause": "film: cause", "dampened": "dampened",
    "syringe": "syringe", "rebook": "next visit", "supervisor": "supervisor",
}  # fmt: skip
_RULER = (
    "Every source of this case on its own landmark, carried to the foramen, which in truth lies at "
    "{:.1f} mm. Drop or distrust one and watch the answer move. The plain mean is taken of other "
    "numbers: it takes each source at its word, the end of the root, the foramen signal, the "
    "longest dry point."
)
_WORTH = (
    "What a next step may spare and what it costs are told in one unit: 1 is what a length a "
    "millimetre short of the target is taken to cost. They weigh the length alone; the order of "
    "work of the start page is as right."
)
DO_FIRST = "Choose an action, set the length if it needs one, then press Do it."
CHOOSE_ANSWER = "Choose first what you answer: a length, a step that is still needed, or to stop."
NOT_SET = (
    "At least one of the three numbers still stands where it stood when you came. Set all three to "
    "your own first, even if you come back to these; then commit."
)
UPSIDE_DOWN = "The upper end of your interval is shorter than its lower end: swap them."
READ_ON = "You have answered this case. Read what is said of it below, then take the next one."
GO_ON = (
    "Your last case was not finished. It is as you left it. (Not yours? “Begin anew” stands at the "
    "end of “How it is going”.)"
)
LOAD_AGAIN = (
    "Load this page again: you went on with practice in another tab or window. What you just chose "
    "here was not done."
)
STOP_AND_THINK = (
    "Warning: not done yet.\nStop and think: {} Once done, it costs {}.\nSet a shorter length, "
    "then press Do it. Or do it all the same, with the button below."
)
END_WITH_ASKING = (
    "By what you have: {} Answer “stop: ask the supervisor, or refer” to end the case."
)
EARNS_NOTHING = "Choosing that could hurt somebody: this case earns nothing now."
PAST_OWN = (
    "Warning: not committed yet.\nYour working length of {:.2f} mm lies beyond your whole "
    "interval, {:.1f} to {:.1f} mm: by your own numbers it is past the foramen, and what is past "
    "it hurts living tissue. Did you mean that?\nChange a number, then press Commit. Or commit it "
    "all the same, with the button below."
)
OPEN_PICTURES = 2
"""So many are open; on a phone more would push the answer out of reach."""


def tick_of(done: Done) -> str:
    """The words of an action under the time line.

    >>> from lengthwise.marking.practice_chair import Act
    >>> tick_of(Done(Act("point", 23.5), "", 0.5)), tick_of(Done(Act("wait", 20.0), "", 3.0))
    ('point 23.5', 'waited')
    """
    if done.refused:
        return f"✕ {_TICKS[done.act.word]}"
    length = f" {done.act.length_mm:g}" if WAYS[done.act.word].goes_in else ""
    return _TICKS[done.act.word] + length


def told(sitting: Sitting) -> str:
    """The case as it is given.

    >>> from lengthwise.marking.practice_ways import begin
    >>> told(begin("plain", 1)).splitlines()[0][-36:]
    ' needed, measured from the cusp tip.'
    """
    case = sitting.case
    canal = "" if case.place.canal == "single" else f", canal {case.place.canal}"
    beside = some_lie_close(case.place)
    if near(case.place):
        beside = f" {near(case.place).capitalize()} is near: going too far costs more here."
    state = "The canal is shaped, rinsed with hypochlorite and then with saline, and not dried."
    if KINDS[case.kind].given:
        tried = " Points were tried." if KINDS[case.kind].given == "tried" else ""
        state = (
            "Before you came the canal was shaped, a reading and a radiograph were taken, and it "
            f"was dried.{tried}"
        )
    state += _BLEEDS[case.bleeding]
    return (
        f"{named(case.place.fdi)}{canal}. Its length is needed, measured from the "
        f"{case.place.reference}.\n"
        f"Pulp: {case.context.pulp}; the apex looks closed.{beside} {state}\n"
        f"The radiograph before treatment (paralleling) shows a tooth of "
        f"{case.record.tooth_length_mm:.1f} mm on the image.\n{estimate_words(sitting)}"
    )


_BLEEDS = {"none": "", "oozing": " It oozes blood.", "brisk": " It bleeds briskly."}


def ruler_words(sitting: Sitting) -> str:
    """What the ruler shows, and which records say nothing there, with the reason."""
    left_out = _left_out(sitting.evidence())
    parts = [_RULER.format(sitting.patient.canal.foramen_mm), *left_out, _WORTH]
    return "\n".join(parts)


_NO_LENGTH = {
    "electronic_reading": "its foramen signal never came",
    "point_trial": "wet on its side or all along, a point tells no length",
}


def _left_out(evidence: Evidence) -> list[str]:
    silent = [each.kind for each in evidence.records if not tells_length(each)]
    return [
        f"{KIND_NAMES[kind].capitalize()}: {silent.count(kind)} left out, because {why}."
        for kind, why in _NO_LENGTH.items()
        if kind in silent
    ]


def happened_words(done: Done) -> str:
    """What came of an action, with its caution as a paragraph of its own."""
    nothing = EARNS_NOTHING if done.unsafe else ""
    return "\n".join(part for part in (done.said, done.caution, nothing) if part)


def action_words(word: str) -> str:
    """What an action means and takes, before it is done.

    >>> action_words("film")
    'A radiograph with a file of size 15 at the length. Takes 4 minutes and one exposure.'
    """
    way = WAYS[word]
    exposure = " and one exposure" if way.exposures else ""
    return f"{way.means} Takes {counted(way.minutes.value, 'minute')}{exposure}."


def clock(sitting: Sitting) -> str:
    """Minutes and dose so far."""
    films = sitting.exposures
    dose = q.EXPOSURE_USV
    about = f" (about {films * dose.value:.0f} µSv)" if films else ""
    return (
        f"So far: {counted(sitting.minutes, 'minute')} and {counted(films, 'radiograph')}{about}."
    )


def record_sentence(sitting: Sitting, answer: str = "", truth: str = "") -> str:
    """What the time line shows, in numbers."""
    if not sitting.done:
        start = "Nothing has been done yet but the radiograph before treatment."
    else:
        own = len(sitting.own)
        start = f"{counted(own, 'action')}."
        if before := len(sitting.done) - own:
            start = f"{counted(before, 'action')} before you came; by you: {own or 'none'}."
        start += f" Last: {sitting.done[-1].said}"
        if sitting.done[-1].bleeding != "none":
            start += f" Bleeding: {sitting.done[-1].bleeding}."
    return " ".join(part for part in (start, clock(sitting), answer, truth) if part)


def answer_words(low_mm: float, high_mm: float, length_mm: float) -> str:
    """The answer that is being set."""
    return (
        f"Your answer so far: the canal ends between {low_mm:.1f} and {high_mm:.1f} mm, working "
        f"length {length_mm:.2f} mm."
    )


def record_sheet(sitting: Sitting) -> Sheet:
    """Everything that was done, one row an action.

    >>> from lengthwise.marking.practice_chair import Act
    >>> from lengthwise.marking.practice_ways import begin
    >>> record_sheet(begin("plain", 1, [Act("wait", 20.0)])).rows[0][:3]
    ('1', '3', '3')
    """
    rows, clock_min = [], 0.0
    for number, each in enumerate(sitting.done, start=1):
        clock_min += each.minutes
        said = f"{each.said} {each.caution}".strip()
        rows.append((str(number), f"{each.minutes:g}", f"{clock_min:g}", said))
    return Sheet("Record", ("no.", "minutes", "in all", "what was done and seen"), tuple(rows))


def pictures_html(sitting: Sitting) -> str:
    """Every radiograph and trace of this case, the newest first, all but two folded away."""
    up = sitting.case.place.fdi[0] in "12"
    tooth = f"The tooth is {sitting.case.record.tooth_length_mm:.1f} mm long on the image."
    sheet = film_sheet([sitting.case.film], apex_up=up)
    shown = [_figure("Radiograph before treatment", sheet, tooth)]
    for number, each in enumerate(sitting.done, start=1):
        if each.film is not None:
            sheet = film_sheet([each.film], apex_up=up)
            shown.append(_figure(f"Action {number}: radiograph", sheet, each.said))
        if isinstance(each.record, ElectronicReading):
            title = f"Action {number}: electronic reading"
            chart = trace_picture(each.record)
            shown.append(_figure(title, chart, trace_words(each.record), each.record))
    shown.reverse()
    newest, earlier = shown[:OPEN_PICTURES], shown[OPEN_PICTURES:]
    if not earlier:
        return _beside(newest)
    return (
        f'{_beside(newest)}<details style="font-size: 16px; line-height: 1.5"><summary>'
        f"{counted(len(earlier), 'earlier picture')}</summary>{_beside(earlier)}</details>"
    )


def _beside(figures: list[str]) -> str:
    parts = "".join(figures)
    return f'<div style="display: flex; flex-wrap: wrap; gap: 12px 20px">{parts}</div>'


def trace_words(reading: ElectronicReading) -> str:
    """A trace in a sentence; whether it can be used is left to the reader.

    >>> trace_words(ElectronicReading(time_s=(0.0, 1.0, 2.0), depth_mm=(22.0, 23.0, 24.0),
    ...                               indicated=(2.0, None, 0.0)))
    'The file goes from 22.0 to 24.0 mm. The display shows 0.0 to 2.0, and nothing in 33 %.'
    """
    depths = reading.depth_mm or (0.0,)
    values = reading.indicated or (None,)
    seen = [value for value in values if value is not None]
    file = f"The file goes from {min(depths):.1f} to {max(depths):.1f} mm."
    if not seen:
        return f"{file} The display shows nothing."
    missing = float(np.mean([value is None for value in values]))
    gaps = f", and nothing in {100 * missing:.0f} %" if missing > 0 else ""
    return f"{file} The display shows {min(seen):.1f} to {max(seen):.1f}{gaps}."


def _figure(title: str, data: str, words: str, trace: ElectronicReading | None = None) -> str:
    width = 300 if trace else 230
    steps = ""
    if trace is not None:
        steps = (
            "<details><summary>The same in steps</summary>"
            f"{trace_sheet(trace)._repr_html_()}</details>"
        )
    return (
        f'<figure style="margin: 0; max-width: 100%; width: {width}px">'
        f'<figcaption style="font-size: 16px; line-height: 1.4; font-weight: 600">'
        f"{html.escape(title)}</figcaption>"
        f'<img alt="{html.escape(f"{title}. {words}", quote=True)}" src="{data}" '
        f'style="width: 100%; display: block">'
        f'<p style="font-size: 16px; line-height: 1.4; margin: 4px 0">{html.escape(words)}</p>'
        f"{steps}</figure>"
    )
