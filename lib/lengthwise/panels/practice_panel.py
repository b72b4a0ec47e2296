"""Practice: one invented case after the other, with the whole bench, and what is said then."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any

import numpy as np
from ipywidgets import VBox

from lengthwise.marking.determination import Determination
from lengthwise.marking.practice_cautions import cost_words, limit_words, too_far
from lengthwise.marking.practice_chair import Act, Sitting
from lengthwise.marking.practice_marks import Verdict, missteps_words, verdict
from lengthwise.marking.practice_record import Begun, PracticeRecord
from lengthwise.marking.practice_steps import LOOK_FIRST, POSSIBLE_STEPS, propose
from lengthwise.marking.practice_ways import WAYS, take
from lengthwise.panels.practice_after import shown_after
from lengthwise.panels.practice_controls import ANSWERS, LENGTH, Controls, practice_controls
from lengthwise.panels.practice_desk import Desk, another_case, case_left
from lengthwise.panels.practice_layout import Parts, close_all, discard, folded, laid_out
from lengthwise.panels.practice_picture import Answer, Opened, practice_picture
from lengthwise.panels.practice_words import (
    CHOOSE_ANSWER,
    DO_FIRST,
    END_WITH_ASKING,
    GO_ON,
    LOAD_AGAIN,
    NOT_SET,
    PAST_OWN,
    READ_ON,
    STOP_AND_THINK,
    UPSIDE_DOWN,
    answer_words,
    happened_words,
    pictures_html,
    record_sentence,
    told,
)
from lengthwise.panels.spoken import Spoken


@dataclass(frozen=True)
class PracticePanel:
    """The panel.

    Attributes
    ----------
    record : what was done so far, written through to the student's log.
    controls : what the student moves and presses.
    parts : what is shown of a case.
    desk : the case on the desk.
    changed : called after everything that is written to the log, or should have been.
    widget : all of it, laid out.
    """

    record: PracticeRecord
    rng: np.random.Generator
    controls: Controls
    parts: Parts
    desk: Desk
    widget: VBox
    changed: list[Any] = field(default_factory=list)

    def _repr_mimebundle_(self, **kwargs: Any) -> dict[str, Any]:
        bundle = self.widget._repr_mimebundle_(**kwargs)
        return {**bundle, "text/plain": self.parts.told.text}

    def _overtaken(self) -> bool:
        """Whether another page has gone on; what is done here would be of a case as it was."""
        overtaken = self.record.overtaken
        if overtaken:
            self.parts.title.text = LOAD_AGAIN
            self.parts.title.take_focus()
        return overtaken

    def do(self, _button: object = None) -> None:
        """Do what is chosen; what goes too far is only warned of, however often this is pressed."""
        hands = self.controls
        if self.desk.verdict is not None:
            return
        act = Act(hands.word, round(hands.length.value, 1), hands.contact.value)
        far = too_far(self.desk.sitting, act) if WAYS[act.word].goes_in else ""
        if far:
            self.desk.stopped_at = act
            hands.warn(STOP_AND_THINK.format(far, cost_words(self.desk.sitting)))
            return
        self.reconsider()
        if not self._overtaken():
            self._carry_out(act)

    def do_anyway(self, _button: object = None) -> None:
        """Do what was warned of."""
        act = self.desk.stopped_at
        if act is not None and not self._overtaken():
            self.desk.stopped_at = None
            self.controls.did_anyway()
            self._carry_out(act)

    def reconsider(self, _change: object = None) -> None:
        """Something else is chosen: the warning goes."""
        self.desk.stopped_at = None
        self.controls.calm()

    def _carry_out(self, act: Act) -> None:
        self.record.acted(self.desk.sitting, act)  # first: what is done may not be lost
        done = take(self.desk.sitting, act)
        answered = f"\n{self._supervisor_says()}" if act.word == "supervisor" else ""
        self._say(self.parts.happened, happened_words(done) + answered)
        self.controls.limit.text = limit_words(self.desk.sitting)
        self.desk.picture.grow(self.desk.sitting)
        self.show()
        if done.film is not None or act.word == "reading":
            self.parts.pictures.value = pictures_html(self.desk.sitting)
        self.parts.table.value = folded(self.desk.sitting)

    def _say(self, where: Spoken, words: str) -> None:
        """Say what came of it, and at once where that is not kept."""
        where.say(f"{words}\n{self.record.trouble}".strip())
        for call in self.changed:
            call()

    def _supervisor_says(self) -> str:
        """The same as to "stop: ask", and counted with it; the case goes on."""
        desk = self.desk
        if len(desk.sitting.done) == 1:  # nothing but the call
            return LOOK_FIRST
        reply = propose(desk.sitting, "ask", desk.asked)
        if reply.ends:
            return END_WITH_ASKING.format(reply.words)
        self.record.proposed(desk.sitting, "ask", reply.fits)
        desk.asked += reply.fits
        return reply.words

    def commit(self, _button: object = None) -> None:
        """Answer, or propose a step."""
        hands, desk = self.controls, self.desk
        if desk.verdict is not None or self._overtaken():
            return
        step = ANSWERS.get(hands.answer.value)
        if step is None:
            self.parts.said.say(CHOOSE_ANSWER)
        elif step in (*POSSIBLE_STEPS, "ask"):
            reply = propose(desk.sitting, step, desk.asked)
            if reply.ends:
                self._end(hands.determination(step))
                return
            self.record.proposed(desk.sitting, step, reply.fits)
            desk.missteps += reply.costs
            desk.asked += reply.fits and step == "ask"
            self._say(self.parts.said, reply.words)
        elif step == LENGTH and not hands.answer_is_set:
            self.parts.said.say(NOT_SET)
        elif step == LENGTH and hands.low.value > hands.high.value:
            self.parts.said.say(UPSIDE_DOWN)
        elif hands.determination(step).is_past_own_interval:
            length, ends = hands.working_length.value, (hands.low.value, hands.high.value)
            self.parts.said.text = ""
            hands.ask_if_meant(PAST_OWN.format(length, *ends))
        else:
            self._end(hands.determination(step))

    def commit_anyway(self, _button: object = None) -> None:
        """Answer with a length past its own interval, which was asked about."""
        asked = bool(self.controls.doubt.text)
        if asked and self.desk.verdict is None and not self._overtaken():
            self.controls.committed_anyway()
            self._end(self.controls.determination(LENGTH))

    def _end(self, determination: Determination) -> None:
        desk = self.desk
        found = verdict(desk.sitting, determination, desk.missteps)
        self.record.answered(desk.sitting, determination, found)
        self.explain(found)

    def explain(self, found: Verdict) -> None:
        """Close the case, and show what it was like and what the answer earned."""
        parts, sitting = self.parts, self.desk.sitting
        self.desk.verdict = found
        self.reconsider()
        self._say(parts.said, f"{found.said}\n{found.truth}")
        self._close(ended=True)
        self.show()
        # The words first: the ruler weighs everything anew and takes longer.
        parts.after.children = (*shown_after(sitting, found), self.controls.next_below)

    def go_on_with(self, left: Begun) -> None:
        """Show the case that was left as it stood, with what was said last."""
        sitting = self.desk.sitting
        self.lay_out(sitting, left.missteps, left.asked, GO_ON)
        if left.answer is not None:
            self.show_again(left.answer)
        elif left.proposed is not None:
            before = max(left.asked - (left.proposed == "ask"), 0)
            self.parts.said.text += f"\n{propose(sitting, left.proposed, before).words}"

    def show_again(self, answer: Determination) -> None:
        """Show a case as it stood when it had been answered."""
        self.controls.set_as_answered(answer)
        self.parts.title.text = f"Case {len(self.record.finished)}"
        self.parts.happened.text = READ_ON
        self.explain(verdict(self.desk.sitting, answer, self.desk.missteps))

    def next_case(self, _button: object = None) -> None:
        """Go on to another case, once this one has been answered."""
        if not self._overtaken() and self.desk.verdict is not None:
            self.begin_another()

    def begin_another(self) -> None:
        """Put another case on the desk, near the student's level."""
        self.lay_out(another_case(self.record, self.rng))
        # The button that was pressed is gone: the keyboard goes on at the top of the new case.
        self.parts.title.take_focus()

    def lay_out(
        self, sitting: Sitting, missteps: int = 0, asked: int = 0, words: str = DO_FIRST
    ) -> None:
        """Show a case from where it stands."""
        discard(self.parts.after)
        desk = self.desk
        desk.sitting, desk.missteps, desk.asked = sitting, missteps, asked
        self.reconsider()
        desk.verdict = None
        self.controls.fit(sitting)
        self._close(ended=False)
        self.parts.title.text = f"Case {len(self.record.finished) + 1}"
        self.parts.told.text = told(sitting)
        last = happened_words(sitting.own[-1]) if sitting.own else ""
        self._say(self.parts.happened, f"{words}\n{last}".strip())
        self.parts.said.text = f"{missteps_words(missteps)}." if missteps else ""
        said = record_sentence(sitting)
        old, desk.picture = desk.picture, practice_picture(sitting, said)
        self.parts.frame.children = (desk.picture.live.widget,)
        close_all(old.live.widget)
        self.parts.sentence.text = said
        self.parts.pictures.value = pictures_html(sitting)
        self.parts.table.value = folded(sitting)

    def show(self, _change: object = None) -> None:
        """Draw the time line as it is now."""
        hands, desk = self.controls, self.desk
        answer, said = None, ""
        if ANSWERS.get(hands.answer.value) == LENGTH and hands.answer_begun:
            answer = Answer(hands.low.value, hands.high.value, hands.working_length.value)
            said = answer_words(answer.low_mm, answer.high_mm, answer.length_mm)
        opened, truth = None, ""
        if desk.verdict is not None:
            foramen = desk.sitting.patient.canal.foramen_mm
            opened = Opened(foramen, desk.verdict.result)
            truth = f"In truth the foramen lies at {foramen:.1f} mm."
        sentence = record_sentence(desk.sitting, said, truth)
        desk.picture.show(answer, opened, sentence)
        self.parts.sentence.text = sentence

    def _close(self, *, ended: bool) -> None:
        self.controls.close(ended=ended)
        self.parts.after.layout.display = "" if ended else "none"


def practice_panel(record: PracticeRecord, rng: np.random.Generator) -> PracticePanel:
    """Practise, beginning with the case that was left, or with a new one.

    Parameters
    ----------
    record
        What was done so far.
    rng
        Which cases come next.

    Returns
    -------
    PracticePanel
        Display it as the last value of a cell.
    """
    sitting = case_left(record) or another_case(record, rng)
    controls, parts = practice_controls(sitting), Parts()
    picture = practice_picture(sitting, record_sentence(sitting))
    parts.frame.children = (picture.live.widget,)
    panel = PracticePanel(
        record, rng, controls, parts, Desk(sitting, picture), laid_out(controls, parts)
    )
    if record.left is None:
        panel.lay_out(sitting)
    else:
        panel.go_on_with(record.left)
    controls.do.on_click(panel.do)
    controls.do_anyway.on_click(panel.do_anyway)
    for chosen in (controls.action, controls.length, controls.contact):
        chosen.observe(panel.reconsider, "value")
    controls.commit.on_click(panel.commit)
    controls.commit_anyway.on_click(panel.commit_anyway)
    for button in (controls.next, controls.next_below):
        button.on_click(panel.next_case)
    for control in (controls.answer, controls.low, controls.high, controls.working_length):
        control.observe(panel.show, "value")
    return panel
