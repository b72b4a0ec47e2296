"""A picture with its sentence beside what the hand moves; one under the other on a phone."""

from __future__ import annotations

from collections.abc import Sequence

from ipywidgets import Box, Layout, VBox, Widget


def two_columns(shown: Sequence[Widget], hands: Sequence[Widget]) -> Box:
    """Lay out a panel.

    Parameters
    ----------
    shown, hands
        What is looked at, and what is moved; each from top to bottom.

    Returns
    -------
    Box
        Both, with room between them.

    Examples
    --------
    >>> from ipywidgets import Label
    >>> [len(column.children) for column in two_columns([Label()], [Label(), Label()]).children]
    [1, 2]
    """
    left = VBox(list(shown), layout=Layout(flex="0 1 450px", min_width="0"))
    right = VBox(list(hands), layout=Layout(flex="1 1 300px", min_width="0"))
    row = Layout(display="flex", flex_flow="row wrap", grid_gap="0 20px", width="100%")
    return Box([left, right], layout=row)
