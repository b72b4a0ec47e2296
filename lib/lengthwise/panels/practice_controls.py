"""What a student moves and presses in practice."""

from __future__ import annotations

from dataclasses import dataclass

from ipywidgets import Button, Layout

from lengthwise.marking.determination import Determination
from lengthwise.marking.practice_cautions import limit_words
from lengthwise.marking.practice_chair import Sitting
from lengthwise.marking.practice_ways import WAYS
from lengthwise.panels.check_items import text_button
from lengthwise.panels.choice import Choice, choice
from lengthwise.panels.practice_words import action_words
from lengthwise.panels.slider import Slider, slider
from lengthwise.panels.spoken import Spoken

LENGTH = "length"
ANSWERS = {
    "a working length, and the interval in which the canal ends nine times in ten": LENGTH,
    "not yet: first a radiograph with a file": "film",
    "not yet: first an electronic reading (again)": "reading",
    "not yet: first dry the canal and try points (again)": "points",
    "stop: ask the supervisor, or refer": "ask",
    "go on a millimetre longer until something shows": "longer",
}
"""What can be answered, and what it means."""

REACH_MM, BEYOND_MM = 7.0, 1.0
"""How far lengths go short of the tooth on the image, and past it."""

STEPS = (
    " Stops are set in steps of {:g} mm, from {:g} to {:g} mm; another number goes to the nearest."
)


WARNING_COLOUR = "#701f00"
DO, NOT_DONE = "Do it", "Not done yet"
DO_ANYWAY, DID_ANYWAY = "Do it all the same", "Done all the same"
COMMIT_ANYWAY, COMMITTED_ANYWAY = "Commit it all the same", "Committed all the same"


@dataclass(frozen=True)
class Controls:
    """The controls of a case.

    Attributes
    ----------
    action, means, limit, length, contact, do
        What to do next and what that takes, how far anything may go, how far it is set (mm), how
        long in contact (s); do it.
    warning, do_anyway
        What is said of a length that goes too far, and the button for doing it all the same. A
        button that is pressed stays: taken away, it would take the focus of the keyboard with it.
    answer, low, high, working_length, commit
        What is answered, the interval and the working length (mm); commit it.
    doubt, commit_anyway
        What is said of a length past its own interval, and the button for committing it.
    next, next_below
        The next case: beside what is said, and at the end of it all.
    """

    action: Choice
    means: Spoken
    limit: Spoken
    length: Slider
    contact: Slider
    do: Button
    warning: Spoken
    do_anyway: Button
    answer: Choice
    low: Slider
    high: Slider
    working_length: Slider
    commit: Button
    doubt: Spoken
    commit_anyway: Button
    next: Button
    next_below: Button

    @property
    def word(self) -> str:
        """The action that is chosen, as in `WAYS`."""
        return next(word for word, way in WAYS.items() if way.words == self.action.value)

    @property
    def answer_begun(self) -> bool:
        """Whether anything of the interval and the working length was set."""
        return self.low.touched or self.high.touched or self.working_length.touched

    @property
    def answer_is_set(self) -> bool:
        """Whether both ends of the interval and the working length were set."""
        return self.low.touched and self.high.touched and self.working_length.touched

    def determination(self, step: str) -> Determination:
        """What is answered with one of the meanings in `ANSWERS`."""
        if step != LENGTH:
            return Determination(next_step=step)
        low, high, length = self.low.value, self.high.value, self.working_length.value
        return Determination(working_length_mm=length, low_mm=low, high_mm=high)

    def set_as_answered(self, answer: Determination) -> None:
        """Set what is answered as it was when it was committed."""
        step = LENGTH if answer.working_length_mm is not None else answer.next_step
        self.answer.value = next((words for words, one in ANSWERS.items() if one == step), "")
        for control, length in (
            (self.low, answer.low_mm),
            (self.high, answer.high_mm),
            (self.working_length, answer.working_length_mm),
        ):
            control.value = control.value if length is None else length
            control.touched = length is not None

    def warn(self, words: str) -> None:
        """Warn of the length; only another button, in another place, does it all the same."""
        _frame(self.warning, words)
        self.do_anyway.description = DO_ANYWAY
        self.do_anyway.layout.display = ""
        self.do.description = NOT_DONE

    def calm(self) -> None:
        """Take the warning away, with its button."""
        self._quiet()
        self.do_anyway.layout.display = "none"

    def did_anyway(self) -> None:
        """Take the warning away; its button stays, under the finger that pressed it."""
        self._quiet()
        self.do_anyway.description = DID_ANYWAY

    def _quiet(self) -> None:
        _frame(self.warning, "")
        self.do.description = DO

    def ask_if_meant(self, words: str) -> None:
        """Ask about a length before it is committed; another button commits it all the same."""
        _frame(self.doubt, words)
        self.commit_anyway.description = COMMIT_ANYWAY
        self.commit_anyway.layout.display = ""

    def asked_no_more(self, _change: object = None) -> None:
        """Something else is answered: the question goes."""
        _frame(self.doubt, "")
        self.commit_anyway.layout.display = "none"

    def committed_anyway(self) -> None:
        """Take the question away; its button stays, under the finger that pressed it."""
        _frame(self.doubt, "")
        self.commit_anyway.description = COMMITTED_ANYWAY

    def close(self, *, ended: bool) -> None:
        """Take nothing more once a case has been answered, or everything again."""
        self.commit.description = "Committed" if ended else "Commit"
        for control in (self.do, self.answer, self.low, self.high, self.working_length):
            control.disabled = ended
        self.next.layout.display = "" if ended else "none"

    def show_what_is_needed(self, _change: object = None) -> None:
        """Only the sliders that the chosen action and the chosen answer need."""
        inside, self.means.text = WAYS[self.word].goes_in, action_words(self.word)
        if inside:
            self.means.text += STEPS.format(self.length.step, self.length.min, self.length.max)
        length = ANSWERS.get(self.answer.value) == LENGTH
        for control, needed in (
            (self.limit, inside), (self.length, inside), (self.contact, self.word == "point"),
            (self.low, length), (self.high, length), (self.working_length, length),
        ):  # fmt: skip
            control.layout.display = "" if needed else "none"

    def fit(self, sitting: Sitting) -> None:
        """Fit the sliders to another tooth, and forget what was chosen."""
        tooth = round(sitting.case.record.tooth_length_mm * 2) / 2
        ends = tooth - REACH_MM, tooth + BEYOND_MM
        starts = sitting.estimated_mm, tooth - 4.0, tooth, tooth - 2.0
        for each, start in zip(
            (self.length, self.low, self.high, self.working_length), starts, strict=True
        ):
            # The far end first where the tooth is longer: a slider never stands outside its ends.
            each.min, each.max = min(ends[0], each.min), max(ends[1], each.max)
            each.value = each.settled = start
            each.min, each.max = ends
            each.touched = False
        self.answer.value = ""
        self.asked_no_more()
        self.limit.text = limit_words(sitting)
        if sitting.own:  # gone on with: as the hands were left
            act = sitting.own[-1].act
            self.action.value, self.contact.value = WAYS[act.word].words, act.contact_s
            self.length.value = self.length.settled = min(max(act.length_mm, ends[0]), ends[1])
        self.show_what_is_needed()


def _frame(warning: Spoken, words: str) -> None:
    """Show a warning in a frame, or, without words, neither."""
    if words:
        warning.say(words)
    else:
        warning.text = ""
    warning.layout.border = f"3px solid {WARNING_COLOUR}" if words else "0"
    warning.layout.padding = "2px 10px" if words else "0"


def practice_controls(sitting: Sitting) -> Controls:
    """Make the controls, fitted to a case."""
    tooth = sitting.case.record.tooth_length_mm

    def mm(label: str, step: float) -> Slider:
        return slider(label, value=tooth, low=tooth - REACH_MM, high=tooth + 2.0, step=step)

    words = [way.words for way in WAYS.values()]
    made = Controls(
        action=choice(
            "What next?", words, value=words[0], arrangement="row",
            heads=[way.group for way in WAYS.values()],
        ),
        means=Spoken(),
        limit=Spoken(),
        length=mm("Length", 0.5),
        contact=slider("A point is held for", value=1.0, low=1.0, high=10.0, step=1.0, unit="s"),
        do=text_button(DO),
        warning=Spoken(layout=Layout(max_width="36em")),
        do_anyway=text_button(DO_ANYWAY),
        answer=choice("What do you answer?", list(ANSWERS)),
        low=mm("The canal ends between", 0.1),
        high=mm("and", 0.1),
        working_length=mm("Working length", 0.25),
        commit=text_button("Commit"),
        doubt=Spoken(layout=Layout(max_width="36em")),
        commit_anyway=text_button(COMMIT_ANYWAY),
        next=text_button("Next case"),
        next_below=text_button("Next case"),
    )  # fmt: skip
    for anyway in (made.do_anyway, made.commit_anyway):
        anyway.style.button_color = WARNING_COLOUR
    made.calm()
    made.fit(sitting)
    made.action.observe(made.show_what_is_needed, "value")
    made.answer.observe(made.show_what_is_needed, "value")
    for control in (made.answer, made.low, made.high, made.working_length):
        control.observe(made.asked_no_more, "value")
    return made
