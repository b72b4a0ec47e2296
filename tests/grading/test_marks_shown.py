"""Marks on the screen: all of them, or the totals; never one that is cut off."""

import io

from lengthwise.classroom.marks_shown import marks_shown
from lengthwise.classroom.marks_table import MarksRow, MarksTable
from rich.console import Console

PARTS = [f"q{n}" for n in range(1, 13)]
ROWS = (MarksRow("anna-k", dict.fromkeys(PARTS, 1.33), 16.0, ("reason",)),)
TABLE = MarksTable("a3_readings", dict.fromkeys(PARTS, 4 / 3), ROWS)


def on_screen(width: int) -> str:
    console = Console(width=width, record=True, file=io.StringIO())
    console.print(marks_shown(TABLE, console))
    return console.export_text()


def test_where_there_is_room_every_mark_is_there() -> None:
    shown = on_screen(140)
    assert shown.count("1.33") == len(PARTS)
    assert "16.00" in shown


def test_in_a_narrow_window_stand_the_totals_and_no_mark_is_cut() -> None:
    shown = on_screen(60)
    assert "anna-k" in shown
    assert "16.00" in shown
    assert "reason" in shown
    assert "1.33" not in shown
    assert "…" not in shown
    assert "the file has every mark" in shown
