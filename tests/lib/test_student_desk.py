"""The two buttons of the start page, without a kernel: what is heard is done and said."""

from __future__ import annotations

from pathlib import Path

import pytest
from lengthwise.panels.file_drop import BROKEN_OFF
from lengthwise.panels.student_desk import NONE_HERE, Desk, open_desk


class Files:
    """Stands for the student's folder: what was asked of it, and what it answers."""

    def __init__(self) -> None:
        self.here: dict[str, str] = {}
        self.taken: list[tuple[str, int]] = []

    def take_in(self, data: bytes, name: str) -> tuple[str, str | None]:
        self.taken.append((name, len(data)))
        if not data.startswith(b"PK"):
            return f"{name} is not a zip file.", None
        self.here["a6_reconcile"] = "It is here; nothing is typed yet."
        return "a6_reconcile is here now.", "a6_reconcile"

    def make_file(self, name: str) -> tuple[tuple[str, ...], Path | None]:
        if name != "a6_reconcile":
            return (f"{name} cannot be read.",), None
        return ("It is made.", "i1 is missing."), Path("to_hand_in/a6_reconcile_s<1.ipynb")

    def desk(self) -> Desk:
        return open_desk(self.take_in, lambda: self.here.items(), self.make_file)


def send(desk: Desk, data: bytes, name: str = "a.zip", part: int = 1000) -> str:
    """Let a file arrive as the page sends it; what is said then."""
    desk.drop._handle_custom_msg({"begin": name}, [])
    for at in range(0, len(data), part):
        desk.drop._handle_custom_msg({"part": at}, [memoryview(data)[at : at + part]])
    desk.drop._handle_custom_msg({"end": len(data)}, [])
    return str(desk.drop.said[1])


def test_a_file_that_arrives_in_parts_is_taken_in_whole() -> None:
    files = Files()
    desk = files.desk()
    assert NONE_HERE in desk.handing_in.children[-1].value
    assert send(desk, b"PK" + bytes(4321)) == "a6_reconcile is here now."
    assert files.taken == [("a.zip", 4323)]
    assert desk.drop.next[0] == "../../notebooks/a6_reconcile/a6_reconcile.ipynb"
    assert list(desk.rows) == ["a6_reconcile"]
    assert "nothing is typed yet" in desk.rows["a6_reconcile"].state.value


def test_a_refused_file_says_why_and_offers_nothing_to_open() -> None:
    desk = Files().desk()
    send(desk, b"PK" + bytes(10))
    assert send(desk, b"picture", "tooth.png") == "tooth.png is not a zip file."
    assert desk.drop.next == ("", "")


def test_the_same_refusal_twice_is_said_twice() -> None:
    desk = Files().desk()
    send(desk, b"no")
    first = desk.drop.said
    send(desk, b"no")
    assert desk.drop.said[1] == first[1]
    assert desk.drop.said != first


def test_a_lost_part_and_a_file_that_is_too_large_are_not_taken_in() -> None:
    files = Files()
    desk = files.desk()
    for content, parts in (({"begin": "a.zip"}, []), ({"part": 5}, [b"PK"]), ({"end": 7}, [])):
        desk.drop._handle_custom_msg(content, parts)
    assert desk.drop.said[1] == BROKEN_OFF
    desk.drop._handle_custom_msg({"too_large": 250_000_000, "name": "film.zip"}, [])
    assert desk.drop.said[1].startswith("film.zip has 250 MB, and no assignment has more than 100")
    desk.drop._handle_custom_msg({"anything": "else"}, [])
    assert files.taken == []


def test_the_second_button_says_what_is_missing_and_offers_the_file() -> None:
    desk = Files().desk()
    send(desk, b"PK")
    row = desk.rows["a6_reconcile"]
    assert row.button.description == "Make my file to hand in: a6_reconcile"
    row.button.click()
    assert row.said.text == "It is made.\ni1 is missing."
    assert 'href="../../files/to_hand_in/a6_reconcile_s%3C1.ipynb?download=1"' in row.link.value
    assert "s<1" not in row.link.value


def test_a_file_that_was_not_made_is_not_offered() -> None:
    files = Files()
    files.here["a1_landmarks"] = "Its notebook cannot be read."
    row = files.desk().rows["a1_landmarks"]
    row.button.click()
    assert row.said.text == "a1_landmarks cannot be read."
    assert row.link.value == ""


def test_coming_back_to_the_page_brings_the_list_up_to_date_and_keeps_what_was_said() -> None:
    files = Files()
    desk = files.desk()
    send(desk, b"PK")
    row = desk.rows["a6_reconcile"]
    row.button.click()
    link = row.open.value
    row.open.observe(lambda _change: pytest.fail("the link has the keyboard, and is replaced"))
    files.here["a6_reconcile"] = "3 of 8 answers are complete."
    files.here["a7_ten_canals"] = "It is here."
    desk._watch._handle_custom_msg({"returned": True}, [])
    assert desk.rows["a6_reconcile"] is row
    assert "3 of 8" in row.state.value
    assert "Open a6_reconcile" in link
    assert row.open in row.widget.children
    assert row.said.text.startswith("It is made.")
    assert list(desk.rows) == ["a6_reconcile", "a7_ten_canals"]
    del files.here["a6_reconcile"]
    desk.look_again()
    assert list(desk.rows) == ["a7_ten_canals"]


def test_what_came_with_the_course_is_told_above_the_button() -> None:
    desk = open_desk(lambda data, name: ("", None), lambda: (), lambda name: ((), None),
                     ["a6_reconcile is here now, for class <x>."])  # fmt: skip
    assert "a6_reconcile is here now, for class &lt;x&gt;." in desk.getting.children[0].value
    assert desk.getting.children[1] is desk.drop
