"""A record is put aside in two steps, with two buttons, so that no double click does it."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path

from ipywidgets import Button, Layout, VBox

from lengthwise.panels.check_items import text_button
from lengthwise.panels.spoken import Spoken

NOT_YOURS = (
    "Whoever works under the same login, in any copy of the course, adds to it. Is it not yours, "
    "or do you want a clean start? Begin anew."
)
ANEW, BEGUN = "Put it aside, begin anew", "Begun anew"
DONE = f"{BEGUN}."
NOT_PUT_ASIDE = (
    "It cannot be put aside ({}): {}. {} Make room on the disk, or close whatever has this file "
    "open; then press again."
)


@dataclass(frozen=True)
class BeginAnew:
    """The two buttons and what is said.

    Attributes
    ----------
    put_aside, path : what puts the record aside and says where it lies then; where it lies now.
    question, unchanged : what is asked first; what is said of the record where it stays.
    anew, said, sure : asks; what is said; does it.
    calls : called where it was done.
    widget : all of it, laid out.
    """

    put_aside: Callable[[], Path | None]
    path: Path
    question: str
    unchanged: str
    anew: Button
    said: Spoken
    sure: Button
    widget: VBox
    calls: list[Callable[[], None]] = field(default_factory=list)

    def ask(self, _button: object = None) -> None:
        """Ask, however often this is pressed."""
        self.said.say(self.question)
        self.sure.description, self.sure.layout.display = ANEW, ""

    def begin(self, _button: object = None) -> None:
        """Put the record aside, once for each time that it was asked."""
        if self.sure.layout.display == "none" or self.sure.description == BEGUN:
            return
        try:
            aside = self.put_aside()
        except OSError as error:
            # what is called would go on in the very record that is somebody else's
            self.said.say(NOT_PUT_ASIDE.format(error.strerror, self.path, self.unchanged))
            return
        self.sure.description = BEGUN
        # A button that is pressed stays: taken away, even for a moment, it would take the focus of
        # the keyboard with it.
        with self.sure.layout.hold_sync():
            for call in self.calls:
                call()
            self.sure.layout.display = ""
        self.said.text = f"Begun anew. What was kept before lies in {aside}." if aside else DONE

    def show(self, kept: bool) -> None:
        """Offer it where something is kept; what was asked before is asked no more."""
        self.said.text, self.sure.layout.display = "", "none"
        self.anew.layout.display = "" if kept else "none"


def begin_anew(
    put_aside: Callable[[], Path | None], path: Path, question: str, unchanged: str
) -> BeginAnew:
    """Make the two buttons; the second appears when the first was pressed.

    Examples
    --------
    >>> offered = begin_anew(lambda: None, Path("log"), "Sure?", "It stays where it lies.")
    >>> offered.anew.click()
    >>> offered.said.text
    'Sure?'
    >>> offered.sure.click()
    >>> offered.said.text
    'Begun anew.'
    """
    anew, said, sure = text_button("Begin anew"), Spoken(), text_button(ANEW)
    sure.layout.display = "none"
    laid_out = VBox([anew, said, sure], layout=Layout(width="100%"))
    made = BeginAnew(put_aside, path, question, unchanged, anew, said, sure, laid_out)
    anew.on_click(made.ask)
    sure.on_click(made.begin)
    return made
