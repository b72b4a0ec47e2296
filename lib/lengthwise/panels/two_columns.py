"""A picture beside its sentence and what the hand moves; one under the other on a phone.

On a page of the course the picture stays on the screen while its own panel is scrolled, and beside
it, where there is room, its sentence: the rules are in the page's style, under the two class names
below. Whoever moves something sees what it does.
"""

from __future__ import annotations

from collections.abc import Sequence

from ipywidgets import Box, Layout, VBox, Widget

PICTURE_CLASS, HANDS_CLASS = "lengthwise-picture", "lengthwise-hands"


def two_columns(shown: Sequence[Widget], hands: Sequence[Widget]) -> VBox:
    """Lay out a panel.

    Parameters
    ----------
    shown
        The picture, its sentence, and what else is looked at; the rest goes below both columns.
    hands
        What is moved, from top to bottom.

    Returns
    -------
    VBox
        The two columns, and what lies below them.

    Examples
    --------
    >>> from ipywidgets import Label
    >>> columns, table = two_columns([Label(), Label(), Label()], [Label(), Label()]).children
    >>> [len(column.children) for column in columns.children]
    [1, 3]
    """
    picture, sentence, *below = shown
    left = VBox([picture], layout=Layout(flex="0 1 450px", min_width="0")).add_class(PICTURE_CLASS)
    right = VBox([sentence, *hands], layout=Layout(flex="1 1 300px", min_width="0"))
    row = Layout(display="flex", flex_flow="row wrap", grid_gap="0 20px", width="100%")
    columns = Box([left, right.add_class(HANDS_CLASS)], layout=row)
    return VBox([columns.add_class("lengthwise-panel"), *below], layout=Layout(width="100%"))
