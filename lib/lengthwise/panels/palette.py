"""The one palette of the course: a colour, a marker and a dash for each kind of source.

Colour is never the only cue: every entry also has a marker and a dash pattern, and every
picture labels its marks in words. The colours were chosen so that each stands out from white
by at least 4.5 : 1 (the contrast that WCAG 2.2, success criterion 1.4.3, asks of text) and so
that any two of them stay apart when seen through the three dichromat simulations of
Machado, Oliveira & Fernandes (2009), IEEE Trans. Vis. Comput. Graph. 15:1291.
"""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Literal

STYLE_FILE = Path(__file__).with_name("lengthwise.mplstyle")

INK = "#1a1a1a"
"""The answer itself, lines and text."""

PAPER = "#ffffff"
"""The ground that every colour is measured against."""


@dataclass(frozen=True)
class Cue:
    """How one kind of source is drawn: colour, marker and dash pattern together."""

    colour: str
    marker: str
    dash: Literal["-"] | tuple[int, tuple[int, ...]]


CUES: dict[str, Cue] = {
    "preoperative_film": Cue("#701f00", "s", (0, (6, 2))),
    "working_film": Cue("#c54d00", "D", (0, (4, 1, 1, 1))),
    "electronic_reading": Cue("#3d1ae2", "o", "-"),
    "point_trial": Cue("#077f71", "^", (0, (2, 1))),
    "tactile_stop": Cue("#8c5cc2", "v", (0, (1, 1))),
    "average_length": Cue("#4e0058", "P", (0, (8, 2, 1, 2))),
}
"""One entry for each kind of evidence, and one for the table of tooth lengths."""


def cue_for(kind: str) -> Cue:
    """Look up how a kind of source is drawn.

    Parameters
    ----------
    kind
        A kind of evidence, such as ``"point_trial"``.

    Returns
    -------
    Cue
        Its colour, marker and dash pattern.

    Raises
    ------
    ValueError
        If the palette has no such kind.

    Examples
    --------
    >>> cue_for("electronic_reading").marker
    'o'
    """
    if kind not in CUES:
        raise ValueError(
            f"kind: got {kind!r}; the palette knows {', '.join(sorted(CUES))}. "
            "Add an entry to palette.CUES for a new kind of source."
        )
    return CUES[kind]


@contextmanager
def course_style() -> Iterator[None]:
    """Give Matplotlib the course's own look, for the length of a ``with`` block.

    Examples
    --------
    >>> import matplotlib
    >>> with course_style():
    ...     matplotlib.rcParams["font.size"]
    12.5
    """
    import matplotlib.style

    with matplotlib.style.context(STYLE_FILE):
        yield
