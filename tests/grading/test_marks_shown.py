"""Marks on the screen: all of them, or the totals; never one that is cut off."""

import io

from lengthwise.classroom.marks_shown import marks_shown
from lengthwise.classroom.marks_table import NOTHING_COLLECTED, MarksRow, MarksTable
from rich.console import Console

PARTS = [f"q{n}" for n in range(1, 13)]
ROWS = (MarksRow("anna-k", dict.fromkeys(PARTS, 1.33), 16.0, ("reason",)),)
TABLE = MarksTable("a3_readings", dict.fromkeys(PARTS, 4 / 3), ROWS)


def on_screen(width: int, table: MarksTable = TABLE) -> str:
    console = Console(width=width, record=True, file=io.StringIO())
    console.print(marks_shown(table, console))
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


def test_of_whom_nothing_is_collected_stands_under_the_table_and_makes_it_no_wider() -> None:
    parts = PARTS[:8]
    marked = MarksRow("anna-k", dict.fromkeys(parts, 1.33), 16.0, ("reason",))
    absent = [MarksRow(f"s{n:02}", {}, None, remark=NOTHING_COLLECTED) for n in range(22)]
    shown = on_screen(80, MarksTable("a3_readings", dict.fromkeys(parts, 1.5), (marked, *absent)))
    assert shown.count("1.33") == len(parts), "every mark fits"
    assert shown.count("othing collected") == 1
    assert "s21." in shown


def test_nothing_of_a_name_is_taken_for_a_colour() -> None:
    table = MarksTable("a1", {"q1": 1.0}, (MarksRow("[red]ada", {"q1": 1.0}, 1.0, ("[old]",)),))
    assert "[red]ada" in on_screen(140, table)
    assert "[old]" in on_screen(140, table)
