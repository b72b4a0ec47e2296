"""Notices when a person comes back to the page from another tab, so that it can look again."""

from __future__ import annotations

from collections.abc import Callable

import anywidget

_ESM = """
function render({ model }) {
  const look = () => {
    if (document.visibilityState === "visible") model.send({ returned: true });
  };
  document.addEventListener("visibilitychange", look);
  return () => document.removeEventListener("visibilitychange", look);
}

export default { render };
"""


class PageReturn(anywidget.AnyWidget):
    """Shows nothing; it has to be in the page to notice."""

    _esm = _ESM


def on_return(look_again: Callable[[], None]) -> PageReturn:
    """Make a widget that calls ``look_again`` whenever the page is looked at anew.

    Examples
    --------
    >>> seen = []
    >>> on_return(lambda: seen.append("again"))._handle_custom_msg({"returned": True}, [])
    >>> seen
    ['again']
    """
    widget = PageReturn()
    widget.on_msg(lambda _widget, _content, _parts: look_again())
    return widget
