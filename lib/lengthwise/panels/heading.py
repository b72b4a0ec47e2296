"""A heading inside a panel that can be given the focus of the keyboard.

A button that goes away when it is pressed takes the focus along, and a reader begins at the top of
the page again. Whoever takes it away gives the focus to the heading of what came instead.
"""

from __future__ import annotations

import anywidget
import traitlets

_ESM = """
function render({ model, el }) {
  const heading = document.createElement("h3");
  heading.tabIndex = -1;  // not a stop of the Tab key
  heading.style.cssText = "font-size: 18px; margin: 12px 2px 4px";
  const show = () => { heading.textContent = model.get("text"); };
  show();
  model.on("change:text", show);
  model.on("change:turns", () => heading.focus());
  el.append(heading);
}

export default { render };
"""


class Heading(anywidget.AnyWidget):
    """A heading of the third rank.

    Examples
    --------
    >>> heading = Heading(text="Case 1")
    >>> heading.take_focus()
    >>> heading.turns
    1
    """

    _esm = _ESM
    text = traitlets.Unicode("").tag(sync=True)
    turns = traitlets.Int(0).tag(sync=True)

    def take_focus(self) -> None:
        """Give it the focus of the keyboard; the page moves there."""
        self.turns += 1
