"""What the notebook of lesson 03 calls: a prediction, the panel, its tables, its questions."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from lengthwise.evidence.tenths import apart_mm
from lengthwise.panels.asked_first import Guess, guess
from lengthwise.panels.folded import Folded
from lengthwise.panels.questions import Questions, items_beside
from lengthwise.panels.reading_case import Reading, reading_of
from lengthwise.panels.reading_panel import START_CANAL, ReadingPanel, reading_panel
from lengthwise.panels.reading_setting import READS_WELL, Setting
from lengthwise.panels.reading_tables import (
    cause_table,
    file_table,
    impedance_table,
    length_table,
    width_table,
)
from lengthwise.panels.reading_words import place
from lengthwise.panels.slider import SHORT_PAST, slider

CLOSE_MM, LEAST_MM = 0.1, 1e-9


@dataclass(frozen=True)
class ReadingLesson(Questions):
    """The questions of lesson 03, by name, and what is shown."""

    def predict(self) -> Guess:
        """Ask first how far off a steady trace is, then show the panel."""
        return guess_off(reading_panel())

    def impedance_table(self) -> Folded:
        """What the meter sees as the tip goes in."""
        return Folded(impedance_table())

    def width_table(self) -> Folded:
        """Width of the foramen against the foramen signal."""
        return Folded(width_table())

    def length_table(self) -> Folded:
        """Length of the canal against the foramen signal."""
        return Folded(length_table())

    def cause_table(self) -> Folded:
        """What moves the foramen signal, and what can be concluded."""
        return Folded(cause_table())

    def file_table(self) -> Folded:
        """Size of the file and liquid in widened canals."""
        return Folded(file_table())


def open_reading_lesson(name: str, folder: str | Path = ".") -> ReadingLesson:
    """Read the questions that lie beside the lesson's notebook as ``NAME.toml``."""
    return ReadingLesson(items_beside(name, folder), lesson=name)


def off_mm(reading: Reading) -> float:
    """Where the trace's foramen signal lies (mm past the foramen, negative short of it).

    >>> off_mm(reading_of(Setting(canal=START_CANAL))) < 0
    True
    """
    signal = reading.quality.signal_mm
    assert signal is not None  # the lesson's two canals give one, and a test holds it
    return apart_mm(signal, reading.canal.foramen_mm)


def guess_off(panel: ReadingPanel) -> Guess:
    """Ask how far off the foramen the steady trace of a wide foramen is; the panel shows it."""
    number = slider(
        "Measured from the foramen, the foramen signal comes", value=0.0, low=-2.0, high=2.0,
        step=0.1, sides=SHORT_PAST,
    )  # fmt: skip
    found, plain = off_mm(reading_of(Setting(canal=START_CANAL))), off_mm(reading_of(READS_WELL))
    return guess(number, lambda said: compared(said, found, plain), panel)


def compared(said_mm: float, found_mm: float, plain_mm: float) -> str:
    """Compare a guess with what the trace gives; never just right or wrong.

    >>> compared(0.0, -0.4, 0.3)[:62]
    'You said at the foramen. It comes 0.4 mm short of the foramen;'
    """
    start = (
        f"You said {place(said_mm)}. It comes {place(found_mm)}; in the other canal, whose trace "
        f"looks just as good, {place(plain_mm)}."
    )
    if abs(said_mm - found_mm) <= CLOSE_MM + LEAST_MM:
        return f"{start} You expected it: steady is not the same as right."
    if abs(said_mm) > CLOSE_MM and said_mm * found_mm < 0:
        return (
            f"{start} You expected it to be off, and it is, to the other side: from the trace "
            "nobody can tell which. A wide foramen reads short."
        )
    if abs(said_mm) < abs(found_mm):
        return f"{start} A trace without a fault can be repeated. It need not be right."
    return f"{start} Less than you feared; it is still more than many leave between file and end."
