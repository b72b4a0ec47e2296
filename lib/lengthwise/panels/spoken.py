"""Text that a screen reader speaks when it changes.

A live region must stay in the page while its text changes; an HTML widget replaces the whole
element, which many screen readers pass over in silence. This one keeps the element.
"""

from __future__ import annotations

import anywidget
import traitlets

_ESM = """
function render({ model, el }) {
  const region = document.createElement("div");
  region.className = "lengthwise-spoken";
  region.setAttribute("role", "status");
  region.setAttribute("aria-live", "polite");
  el.append(region);
  function show() {
    region.replaceChildren(
      ...model.get("text").split("\\n").filter((line) => line !== "").map((line) => {
        const paragraph = document.createElement("p");
        paragraph.textContent = line;
        return paragraph;
      }),
    );
  }
  show();
  model.on("change:text", show);
}

export default { render };
"""

SPOKEN_CSS = """
.lengthwise-spoken {
  max-width: 36em; padding: 0 2px; font-size: 16px; line-height: 1.5; color: #1a1a1a;
  overflow-wrap: anywhere;
}
.lengthwise-spoken p { margin: 4px 0 8px; }
"""


class Spoken(anywidget.AnyWidget):
    """Plain sentences, one paragraph a line, announced politely when they change.

    Examples
    --------
    >>> Spoken(text="The canal ends at 24.6 mm.").text
    'The canal ends at 24.6 mm.'
    """

    _esm = _ESM
    _css = SPOKEN_CSS
    text = traitlets.Unicode("").tag(sync=True)
