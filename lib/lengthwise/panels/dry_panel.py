"""Lesson 05: a canal that may not be dry. Choose what to do next, do it, see what came of it."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from typing import Any

from ipywidgets import HTML, Button, VBox

from lengthwise.bench.point_actions import (
    Action,
    AngledRadiograph,
    CallSupervisor,
    CheckPatency,
    DressAndRebook,
    Dry,
    PeroxidePoint,
    PeroxideSyringe,
    Rinse,
    TryPoint,
    Wait,
)
from lengthwise.panels.check_items import text_button
from lengthwise.panels.choice import Choice, choice
from lengthwise.panels.dry_canals import LETTERS, Line, all_done, done, dry_case
from lengthwise.panels.dry_picture import DryPicture, dry_picture
from lengthwise.panels.dry_words import JUDGEMENTS, compared, library_sentence, line_sentence
from lengthwise.panels.slider import Slider, slider
from lengthwise.panels.spoken import Spoken
from lengthwise.panels.two_columns import two_columns

GROUPS: dict[str, dict[str, Callable[[float], Action]]] = {
    "Find out": {
        "try a paper point at the length below": lambda mm: TryPoint(mm),
        "check patency with a small file": lambda mm: CheckPatency(),
        "radiograph from another angle": lambda mm: AngledRadiograph(),
    },
    "Bring it to dry": {
        "dry with three fresh points to the length below": lambda mm: Dry(mm),
        "rinse with saline, passively": lambda mm: Rinse("saline"),
        "rinse with hypochlorite, passively": lambda mm: Rinse("hypochlorite"),
        "wait three minutes": lambda mm: Wait(),
        "point dampened with 3 % peroxide, to the length below": lambda mm: PeroxidePoint(mm),
        "peroxide from a syringe": lambda mm: PeroxideSyringe(),
    },
    "Stop here": {
        "dress, seal, book another visit": lambda mm: DressAndRebook(),
        "call the supervisor": lambda mm: CallSupervisor(),
    },
}
ACTIONS = {words: act for group in GROUPS.values() for words, act in group.items()}
FIRST = next(iter(ACTIONS))
TRY = {
    "A": 'Somebody wrote "dry" into the chart. Try 23.5 mm a few times, and look from the first '
    "mark to the last.",
    "B": "Try 23.5 mm three times. The marks agree: is that enough?",
    "C": "Try 22.5 mm, 23.0 mm and 22.5 mm. What meets the points so early?",
    "D": "Try 20.5 mm, 21.5 mm and 22.5 mm, and read where each point is wet.",
    "E": "Try 23.5 mm, 24.5 mm and 25.0 mm. What could keep a point dry?",
    "F": "Dry and try, in rounds, and stop after the third.",
}
THEN = " Then say below what you believe."
START_MM, SHORTEST_MM, BEYOND_SIGNAL_MM = 23.5, 18.5, 1.0
DO_FIRST = "Choose an action, set the length if it needs one, then press Do it."
OWN_MIND = "Make up your own mind first; then ask what the library makes of the records."
JUDGE_FIRST = "Choose what you believe first."
TRY_FIRST = "No point has been tried in this canal: there are no marks to judge by. Try one first."
NO_UNDO = (
    '<p style="max-width: 36em; font-size: 16px; line-height: 1.5; margin: 4px 2px">A canal has no '
    "undo: nothing here takes an action back. <em>Start again</em> gives you the same canal as it "
    "was when you came.</p>"
)


@dataclass
class Sitting:
    """The only thing here that changes: what was done to the canal so far, and when one came."""

    line: Line
    start: Line


@dataclass(frozen=True)
class DryPanel:
    """The panel: its controls, its picture, its sentences.

    Attributes
    ----------
    canal, hint
        Which canal, and what is worth trying in it.
    action, length
        What to do next, and how far (mm).
    do, again
        Do it; the same canal as it was when the student came.
    happened
        What came of the last action.
    judgement, judge, answer
        What the student believes, commit it, and what is said about it.
    picture, sentence
        The time line and its sentence.
    ask, library
        Ask what a reconciliation makes of the records, and its answer. Who has judged the canal is
        told without asking.
    sitting
        What was done so far.
    widget
        All of it, laid out.
    """

    canal: Choice
    hint: Spoken
    action: Choice
    length: Slider
    do: Button
    again: Button
    happened: Spoken
    judgement: Choice
    judge: Button
    answer: Spoken
    picture: DryPicture
    sentence: Spoken
    ask: Button
    library: Spoken
    sitting: Sitting
    widget: VBox

    def _repr_mimebundle_(self, **kwargs: Any) -> dict[str, Any]:
        bundle = self.widget._repr_mimebundle_(**kwargs)
        return {**bundle, "text/plain": self.sentence.text}

    def connect(self) -> None:
        """Let everything answer."""
        self.do.on_click(self._act)
        self.ask.on_click(self._weigh)
        self.again.on_click(self._start_again)
        self.judge.on_click(self._commit)
        self.canal.observe(self._other_canal, "value")

    def _show(self, line: Line) -> None:
        self.sitting.line = line
        self.sentence.text = line_sentence(line)
        self.picture.show(line, self.sentence.text)
        # The picture first: weighing everything anew takes longer than drawing it.
        self.library.text = library_sentence(line) if line.opened else OWN_MIND

    def _weigh(self, _button: object) -> None:
        self.library.say(library_sentence(self.sitting.line))

    def _act(self, _button: object) -> None:
        line = done(self.sitting.line, ACTIONS[self.action.value](self.length.value))
        self.happened.say(line.entries[-1].outcome.sentence)
        self._show(line)

    def _start_again(self, _button: object) -> None:
        self.happened.say(DO_FIRST)
        self.action.value = FIRST
        self._show(replace(self.sitting.start, opened=self.sitting.line.opened))

    def _commit(self, _button: object) -> None:
        line, believed = self.sitting.line, self.judgement.value
        key = next((key for key, text in JUDGEMENTS.items() if text == believed), None)
        if key is None:
            self.answer.say(JUDGE_FIRST)
            return
        if not line.trials:
            self.answer.say(TRY_FIRST)
            return
        self.answer.say(compared(key, line.state))
        self._show(replace(line, opened=True))

    def _other_canal(self, _change: object) -> None:
        # What was chosen for the last canal is not done to this one by mistake.
        self.happened.text, self.answer.text = DO_FIRST, ""
        self.judgement.value, self.action.value = "", FIRST
        self.sitting.start = Line(dry_case(LETTERS[self.canal.value]))
        self._show(self.sitting.start)
        self.hint.text = TRY[self.canal.value] + THEN
        self.length.max = _longest_mm(self.sitting.line)
        self.length.value = START_MM


def dry_panel(letter: str = "A", tried: Sequence[Action] = ()) -> DryPanel:
    """Treat the lesson's canals, one action at a time.

    Parameters
    ----------
    letter
        The canal at the start, one of `LETTERS`.
    tried
        What was done to it before the student comes.

    Returns
    -------
    DryPanel
        Display it as the last value of a cell; its text is its sentence.

    Raises
    ------
    ValueError
        If there is no such canal.

    Examples
    --------
    >>> panel = dry_panel()
    >>> panel.do.click()
    >>> panel.happened.text[:43]
    'A point of size 20 set to 23.5 mm, 1 s: it '
    >>> panel.action.value = "peroxide from a syringe"
    >>> panel.do.click()
    >>> panel.happened.text
    'Refused: peroxide from a syringe presses gas into the tissues. Never.'
    """
    canal = choice("Canal", list(LETTERS), value=letter, arrangement="row")
    heads = [name for name, group in GROUPS.items() for _ in group]
    action = choice("What next?", list(ACTIONS), value=FIRST, heads=heads)
    start = all_done(Line(dry_case(LETTERS[canal.value])), tried)
    sitting = Sitting(start, start)
    length = slider("Length", value=START_MM, low=SHORTEST_MM,
                    high=_longest_mm(sitting.line), step=0.5)  # fmt: skip
    do, again, ask = map(text_button, ("Do it", "Start again", "Ask the library"))
    hint = Spoken(text=TRY[canal.value] + THEN)
    happened, answer, library = Spoken(text=DO_FIRST), Spoken(), Spoken(text=OWN_MIND)
    judgement = choice("What do you believe of this canal now?", list(JUDGEMENTS.values()))
    judge = text_button("Commit, and look inside")
    said = line_sentence(sitting.line)
    picture, sentence = dry_picture(sitting.line, said), Spoken(text=said)
    # The beliefs stand among the hands, so that the picture is there when it shows the inside.
    hands = [canal, hint, action, length, do, happened, again, HTML(NO_UNDO),
             judgement, judge, answer]  # fmt: skip
    widget = two_columns([picture.live.widget, sentence, ask, library], hands)
    panel = DryPanel(canal, hint, action, length, do, again, happened, judgement, judge, answer,
                     picture, sentence, ask, library, sitting, widget)  # fmt: skip
    panel.connect()
    return panel


def _longest_mm(line: Line) -> float:
    """The last step of half a millimetre that is within the limit which the signal gives."""
    return (line.case.signal_mm + BEYOND_SIGNAL_MM) * 2 // 1 / 2
