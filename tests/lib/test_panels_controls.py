"""The small controls keep their value on the ruler and have names and sizes for everyone."""

from __future__ import annotations

import re

import pytest
from lengthwise.panels.choice import Choice, choice
from lengthwise.panels.slider import SHORT_PAST, Slider, slider
from lengthwise.panels.spoken import Spoken


def test_a_slider_never_leaves_its_ends() -> None:
    made = slider("Tip", value=24.0, low=20.0, high=28.0, step=0.25)
    made.value = 99.0
    assert made.value == 28.0
    made.value = -1.0
    assert made.value == 20.0


def test_sides_are_said_in_words_and_only_what_was_chosen_is_touched() -> None:
    end = slider("It ends", value=-0.5, low=-4.0, high=2.0, step=0.1, sides=SHORT_PAST)
    assert [end.in_words(mm) for mm in (-0.4, 0.04, 1.0)] == [
        "0.4 mm short",
        "0.0 mm",
        "1.0 mm past",
    ]
    assert not end.touched
    end.value = 0.0
    assert end.touched
    with pytest.raises(ValueError, match="sides: got"):
        slider("It ends", value=0.0, low=-4.0, high=2.0, step=0.1, sides=["past"])


@pytest.mark.parametrize(
    ("made", "stood", "chosen"),
    [
        (slider("Tip", value=24.0, low=20.0, high=28.0, step=0.25), 25.0, 26.0),
        (choice("Film", ["keep", "doubt", "drop"], value="keep"), "doubt", "drop"),
    ],
)
def test_what_was_held_back_does_not_undo_what_a_press_told_or_did(
    made: Slider | Choice, stood: float | str, chosen: float | str
) -> None:
    made.set_state({"value": stood, "moves": 1})
    made._handle_custom_msg({"moves": 3, "hand": {"value": chosen}}, [])
    assert made.value == chosen
    made.value = stood  # what the button did
    made.set_state({"value": chosen, "moves": 3})  # comes after it
    assert made.value == stood
    made.set_state({"value": chosen, "moves": 4})
    assert made.value == chosen
    made._handle_custom_msg({"anything": "else"}, [])


def test_a_slider_keeps_its_value_when_it_is_sent_no_number() -> None:
    made = slider("Tip", value=24.0, low=20.0, high=28.0, step=0.25)
    made.value = float("nan")
    assert made.value == 24.0


@pytest.mark.parametrize(
    ("change", "named"),
    [
        ({"label": " "}, "label"),
        ({"low": 30.0}, "low"),
        ({"step": 0.0}, "step"),
        ({"value": 19.0}, "value"),
    ],
)
def test_a_slider_that_makes_no_sense_is_refused_by_name(
    change: dict[str, object], named: str
) -> None:
    sound = {"label": "Tip", "value": 24.0, "low": 20.0, "high": 28.0, "step": 0.25}
    arguments = sound | change
    label = arguments.pop("label")
    with pytest.raises(ValueError, match=f"^{named}"):
        slider(label, **arguments)  # type: ignore[arg-type]


def test_a_choice_takes_only_what_is_on_offer() -> None:
    made = choice("Film", ["keep", "drop"], value="keep")
    made.value = "burn"
    assert made.value == "keep"
    made.value = "drop"
    assert made.value == "drop"


@pytest.mark.parametrize(
    ("label", "options", "value", "named"),
    [
        ("", ["a", "b"], "", "label"),
        ("Film", ["a"], "", "options"),
        ("Film", ["a", "a"], "", "options"),
        ("Film", ["a", "b"], "c", "value"),
    ],
)
def test_a_choice_that_makes_no_sense_is_refused_by_name(
    label: str, options: list[str], value: str, named: str
) -> None:
    with pytest.raises(ValueError, match=f"^{named}"):
        choice(label, options, value=value)


@pytest.mark.parametrize("widget", [Slider, Choice, Spoken])
def test_a_control_loads_nothing_from_outside(widget: type) -> None:
    made = widget()
    for text in (str(made._esm), str(made._css)):
        assert not re.search(r"https?://|//cdn|\bimport\b|@import|url\(", text)


@pytest.mark.parametrize("widget", [Slider, Choice])
def test_a_control_has_a_touch_target_of_44_pixels_and_a_visible_focus(widget: type) -> None:
    css = str(widget()._css)
    assert re.search(r"(min-)?height: 44px", css)
    assert "focus-visible" in css
    assert "outline: 3px" in css
