"""What is asked before an answer is committed that its own numbers speak against."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from lengthwise.marking.practice_chair import Act
from lengthwise.marking.practice_log import PracticeLog
from lengthwise.marking.practice_marks import PAST_OWN
from lengthwise.marking.practice_record import PracticeRecord
from lengthwise.marking.practice_ways import begin, take
from lengthwise.panels.practice_controls import ANSWERS, LENGTH
from lengthwise.panels.practice_panel import PracticePanel, practice_panel
from lengthwise.panels.practice_words import EARNS_NOTHING, happened_words

A_LENGTH = next(words for words, meant in ANSWERS.items() if meant == LENGTH)


@pytest.fixture
def panel(tmp_path: Path) -> PracticePanel:
    panel = practice_panel(PracticeRecord(PracticeLog(tmp_path)), np.random.default_rng(5))
    hands = panel.controls
    hands.answer.value = A_LENGTH
    hands.low.value = hands.low.min + 1.0
    hands.high.value = hands.low.value + 0.5
    hands.working_length.value = hands.high.value + 1.0
    return panel


def asks(panel: PracticePanel) -> bool:
    return panel.controls.commit_anyway.layout.display == "" and bool(panel.controls.doubt.text)


def test_a_length_past_its_own_interval_is_asked_about_before_it_is_committed(
    panel: PracticePanel,
) -> None:
    hands = panel.controls
    for _ in range(2):  # a double click answers no question
        hands.commit.click()
        assert asks(panel)
        assert panel.desk.verdict is None
    hands.working_length.value = hands.low.value
    assert not asks(panel)
    hands.commit_anyway.click()  # a press that was under way when the number changed
    assert panel.desk.verdict is None
    hands.commit.click()
    assert panel.desk.verdict is not None
    assert PAST_OWN not in panel.parts.said.text


def test_who_means_it_commits_it_and_is_told_of_the_danger(panel: PracticePanel) -> None:
    hands = panel.controls
    hands.commit.click()
    hands.commit_anyway.click()
    assert PAST_OWN in panel.parts.said.text
    assert hands.commit_anyway.layout.display == "", "it keeps the focus of the keyboard"
    assert len(panel.record.finished) == 1
    hands.commit_anyway.click()
    assert len(panel.record.finished) == 1
    hands.next.click()
    assert hands.commit_anyway.layout.display == "none"


def test_what_could_hurt_somebody_is_told_at_once_to_cost_the_case() -> None:
    sitting = begin("plain", 1)
    assert EARNS_NOTHING in happened_words(take(sitting, Act("syringe", 20.0)))
    assert EARNS_NOTHING not in happened_words(take(sitting, Act("saline", 20.0)))
