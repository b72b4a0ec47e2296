"""The two buttons of the start page: get an assignment, make the file to hand in.

What they do with files is given to `open_desk` as three functions; nothing here knows where an
assignment lies or what is in it.
"""

from __future__ import annotations

import html
import os
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from pathlib import Path
from urllib.parse import quote

from ipywidgets import HTML, Button, VBox

from lengthwise.panels.check_items import text_button
from lengthwise.panels.file_drop import FileDrop, file_drop
from lengthwise.panels.page_return import on_return
from lengthwise.panels.spoken import Spoken

GET = "Get an assignment"
MAKE = "Make my file to hand in"
CHOOSE = (
    "Choose the zip file that your instructor handed out, or drop it on this box. It need not be "
    "unpacked."
)
NONE_HERE = "No assignment is here yet. Get one first, with the button above."
MOST_BYTES = 100_000_000
# From a page of the course, and from a notebook at the top of it, to the server's own addresses.
# On a hub a person's server has a longer one, which a notebook cannot count its way up to.
_SERVER = os.environ.get("JUPYTERHUB_SERVICE_PREFIX", "../..").rstrip("/")
_LONG_BUTTON = "lengthwise-long-button"
_LONG_BUTTON_CSS = f"""<style>
.jupyter-button.{_LONG_BUTTON} {{
  max-width: 100%; overflow: visible; white-space: normal; text-align: left; line-height: 1.4;
}}
</style>"""
"""The stock button cuts its words off where a phone has no room for them in one line."""


TakeIn = Callable[[bytes, str], tuple[str, str | None]]
"""Bytes and name of a file to a sentence, and the assignment that is there now."""
WorkHere = Callable[[], Iterable[tuple[str, str]]]
"""The assignments that are here, each with a sentence on how far it has come."""
MakeFile = Callable[[str], tuple[Sequence[str], Path | None]]
"""An assignment to sentences, and the file that was made, relative to the course folder."""


@dataclass(frozen=True)
class Row:
    """One assignment: where it stands, a link to it, a button, what came of it, the file."""

    state: HTML
    open: HTML
    button: Button
    said: Spoken
    link: HTML
    widget: VBox


class Desk:
    """Both buttons. ``getting`` and ``handing_in`` are shown; ``rows`` are the assignments."""

    def __init__(
        self,
        take_in: TakeIn,
        work_here: WorkHere,
        make_file: MakeFile,
        came_along: Iterable[str] = (),
    ) -> None:
        self._take_in, self._work_here, self._make_file = take_in, work_here, make_file
        self.drop: FileDrop = file_drop(
            GET, CHOOSE, accept=".zip", most_bytes=MOST_BYTES, received=self._received,
            too_large=_too_large,
        )  # fmt: skip
        told = [HTML(_paragraph(html.escape(sentence))) for sentence in came_along]
        self.getting = VBox([*told, self.drop])
        self.rows: dict[str, Row] = {}
        self._style = HTML(_LONG_BUTTON_CSS)
        self._none = HTML(_paragraph(NONE_HERE))
        self._watch = on_return(self.look_again)
        self.handing_in = VBox()
        self.look_again()

    def look_again(self) -> None:
        """Bring the list up to date with the files."""
        here = dict(self._work_here())
        self.rows = {name: self.rows.get(name) or self._row(name) for name in here}
        for name, sentence in here.items():
            words = f"<strong>{html.escape(name)}</strong>: {html.escape(sentence)}"
            self.rows[name].state.value = _paragraph(words)
        shown = [row.widget for row in self.rows.values()] or [self._none]
        self.handing_in.children = [self._watch, self._style, *shown]

    def _received(self, name: str, data: bytes) -> str:
        sentence, assignment = self._take_in(data, name)
        self.drop.next = ("", "") if assignment is None else _to_open(assignment)
        self.look_again()
        return sentence

    def _row(self, name: str) -> Row:
        state, said, link = HTML(), Spoken(), HTML()
        # Apart from what changes: who comes back from the new tab has the keyboard on this link.
        opens = HTML(_paragraph(_open_link(name)))
        button = text_button(f"{MAKE}: {name}")
        button.layout.height, button.layout.min_height = "auto", "44px"
        button.layout.padding = "8px 16px"
        button.add_class(_LONG_BUTTON)

        def make(_button: object) -> None:
            sentences, file = self._make_file(name)
            said.say("\n".join(sentences))
            link.value = "" if file is None else _paragraph(_save_link(file))
            self.look_again()

        button.on_click(make)
        return Row(state, opens, button, said, link, VBox([state, opens, button, said, link]))


def open_desk(
    take_in: TakeIn,
    work_here: WorkHere,
    make_file: MakeFile,
    came_along: Iterable[str] = (),
) -> Desk:
    """Make the two buttons.

    Parameters
    ----------
    take_in
        Takes the bytes and the name of a chosen file; says what is there now.
    work_here
        Gives the assignments that are here.
    make_file
        Makes the file to hand in of an assignment; its path is relative to the course folder.
    came_along
        What is to be said of assignments that came with the course itself.

    Returns
    -------
    Desk
        Show its ``getting`` and its ``handing_in``.
    """
    return Desk(take_in, work_here, make_file, came_along)


def _too_large(name: str, size: int) -> str:
    return (
        f"{name} has {size / 1e6:.0f} MB, and no assignment has more than "
        f"{MOST_BYTES / 1e6:.0f}. Choose the zip file that your instructor handed out."
    )


def _paragraph(words: str) -> str:
    return f'<div style="max-width: 36em; padding: 4px 0">{words}</div>'


def _to_open(name: str) -> tuple[str, str]:
    """Address and words of the link to an assignment."""
    address = f"{_SERVER}/notebooks/{quote(name)}/{quote(name)}.ipynb"
    return address, f"Open {name} (in a new tab)"


def _open_link(name: str) -> str:
    return plain_link(*_to_open(name), 'target="_blank"')


def _save_link(file: Path) -> str:
    address = f"{_SERVER}/files/{quote(file.as_posix())}?download=1"
    return plain_link(address, f"Save {file.name} to my downloads", "download")


def plain_link(address: str, words: str, how: str) -> str:
    """A link on a line of its own, as high as a finger; widgets leave links without a line."""
    style = "display: table; padding: 8px 0; color: #0b4f8a; text-decoration: underline"
    return f'<a href="{address}" {how} style="{style}">{html.escape(words)}</a>'
