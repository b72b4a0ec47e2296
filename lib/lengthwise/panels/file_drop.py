"""A button that takes a file from the student's computer; the file may be dropped on its box too.

The stock upload sends a file in one message, and a message of more than 10 MB ends the connection
without a word. This one sends parts, says what it does, and says so when nothing comes back.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import anywidget
import traitlets

from lengthwise.panels.front_end import CONTROL_CSS
from lengthwise.panels.spoken import SPOKEN_CSS

_ESM = """
const PART_BYTES = 1000000;
const SILENCE_MS = 30000;

function render({ model, el }) {
  const box = document.createElement("div");
  box.className = "lengthwise-control lengthwise-file-drop";
  const button = document.createElement("button");
  button.type = "button";
  button.className = "lengthwise-button";
  button.textContent = model.get("label");
  const hint = document.createElement("p");
  hint.id = `lengthwise-hint-${Math.floor(Math.random() * 1e9)}`;
  hint.textContent = model.get("hint");
  button.setAttribute("aria-describedby", hint.id);
  const input = document.createElement("input");
  input.type = "file";
  input.accept = model.get("accept");
  input.hidden = true;
  const region = document.createElement("div");
  region.className = "lengthwise-spoken";
  region.setAttribute("role", "status");
  region.setAttribute("aria-live", "polite");
  const next = document.createElement("p");
  box.append(button, hint, input, region, next);
  el.append(box);

  let silence = null;
  function say(text) {
    clearTimeout(silence);
    const lines = text.split("\\n").filter((line) => line !== "");
    region.replaceChildren(...lines.map((line) => {
      const paragraph = document.createElement("p");
      paragraph.textContent = line;
      return paragraph;
    }));
  }

  async function take(files) {
    if (files.length === 0) return;
    if (files.length > 1) return say("Choose one file at a time.");
    const [file] = files;
    if (file.size > model.get("most_bytes")) {
      model.send({ too_large: file.size, name: file.name });
      return;
    }
    say(`Looking at ${file.name} …`);
    let data;
    try {
      data = new Uint8Array(await file.arrayBuffer());
    } catch {
      return say("This is a folder, or no longer there. Choose the zip file.");
    }
    silence = setTimeout(
      () => say("Nothing came back. Load this page again (F5), and choose the file once more."),
      SILENCE_MS,
    );
    model.send({ begin: file.name });
    for (let at = 0; at < data.length; at += PART_BYTES) {
      model.send({ part: at }, undefined, [data.slice(at, at + PART_BYTES).buffer]);
    }
    model.send({ end: data.length });
  }

  button.addEventListener("click", () => input.click());
  input.addEventListener("change", async () => {
    const files = [...input.files];
    input.value = ""; // so that the same file can be chosen again
    await take(files);
  });
  // Beside the box a dropped file would take the place of the page.
  const overPage = (event) => event.preventDefault();
  window.addEventListener("dragover", overPage);
  window.addEventListener("drop", overPage);
  box.addEventListener("dragover", () => box.classList.add("lengthwise-over"));
  box.addEventListener("dragleave", () => box.classList.remove("lengthwise-over"));
  box.addEventListener("drop", (event) => {
    box.classList.remove("lengthwise-over");
    take([...event.dataTransfer.files]);
  });
  const show = () => say(model.get("said")[1]);
  show();
  model.on("change:said", show);
  function offer() {
    const [address, words] = model.get("next");
    const link = document.createElement("a");
    Object.assign(link, { href: address, textContent: words, target: "_blank", rel: "noopener" });
    next.replaceChildren(...(address ? [link] : []));
  }
  offer();
  model.on("change:next", offer);
  return () => {
    window.removeEventListener("dragover", overPage);
    window.removeEventListener("drop", overPage);
  };
}

export default { render };
"""

_CSS = (
    CONTROL_CSS
    + SPOKEN_CSS
    + """
.lengthwise-file-drop {
  padding: 12px 16px; margin: 4px 0 8px; border: 2px solid #6b6b6b; background: #f4f4f1;
}
.lengthwise-file-drop.lengthwise-over { border-color: #0b4f8a; background: #ffffff; }
.lengthwise-file-drop p { margin: 8px 0 0; }
.lengthwise-file-drop p:empty { margin: 0; }
.lengthwise-file-drop a {
  display: table; padding: 8px 0; color: #0b4f8a; text-decoration: underline;
}
.lengthwise-button {
  min-height: 44px; padding: 0 16px; border: 0; border-radius: 2px; background: #0b4f8a;
  color: #ffffff; font: inherit; font-weight: 600; cursor: pointer;
}
"""
)


class FileDrop(anywidget.AnyWidget):
    """Takes one file and gives it to ``received``. Make one with `file_drop`.

    ``said`` is a count and the sentence in the box: the count makes the same sentence heard again
    when it is said twice. ``next`` is an address and the words of the link under that sentence;
    without an address there is none.
    """

    _esm = _ESM
    _css = _CSS
    label = traitlets.Unicode("").tag(sync=True)
    hint = traitlets.Unicode("").tag(sync=True)
    accept = traitlets.Unicode("").tag(sync=True)
    most_bytes = traitlets.Int(0).tag(sync=True)
    said = traitlets.Tuple(traitlets.Int(), traitlets.Unicode(), default_value=(0, "")).tag(
        sync=True
    )

    next = traitlets.Tuple(traitlets.Unicode(), traitlets.Unicode(), default_value=("", "")).tag(
        sync=True
    )

    def say(self, sentence: str) -> None:
        """Show a sentence in the box; a screen reader speaks it."""
        self.said = (self.said[0] + 1, sentence)


def file_drop(
    label: str,
    hint: str,
    *,
    accept: str,
    most_bytes: int,
    received: Callable[[str, bytes], str],
    too_large: Callable[[str, int], str],
) -> FileDrop:
    """Make a button that takes a file.

    Parameters
    ----------
    label
        The words on the button.
    hint
        What to choose, under the button.
    accept
        The ending of file names that are offered, such as ``".zip"``.
    most_bytes
        A larger file is not sent.
    received
        Called with a file's name and bytes; what it returns is said in the box.
    too_large
        Called with the name and the size of a file that is not sent; its words are said.

    Returns
    -------
    FileDrop
        The widget.

    Examples
    --------
    >>> drop = file_drop("Get it", "A zip file.", accept=".zip", most_bytes=100,
    ...                  received=lambda name, data: f"{name}: {len(data)} bytes",
    ...                  too_large=lambda name, size: f"{name} is too large")
    >>> for content, parts in [({"begin": "a.zip"}, []), ({"part": 0}, [b"PK!"]),
    ...                        ({"end": 3}, [])]:
    ...     drop._handle_custom_msg(content, parts)
    >>> drop.said[1]
    'a.zip: 3 bytes'
    """
    drop = FileDrop(label=label, hint=hint, accept=accept, most_bytes=most_bytes)
    arriving = _Arriving()

    def heard(_widget: object, content: dict[str, Any], parts: list[Any]) -> None:
        match content:
            case {"too_large": int(size), "name": str(name)}:
                drop.say(too_large(name, size))
            case {"begin": str(name)}:
                arriving.begin(name)
            case {"part": int(at)}:
                arriving.add(at, parts, most_bytes)
            case {"end": int(size)}:
                whole = arriving.whole(size)
                drop.say(BROKEN_OFF if whole is None else received(arriving.name, whole))

    drop.on_msg(heard)
    return drop


BROKEN_OFF = "The file did not arrive in one piece. Choose it once more."


class _Arriving:
    """The parts of the file that is arriving."""

    def __init__(self) -> None:
        self.begin("")

    def begin(self, name: str) -> None:
        self.name = name
        self._data = bytearray()

    def add(self, at: int, parts: list[Any], most_bytes: int) -> None:
        if at == len(self._data) and at < most_bytes:
            for part in parts:
                self._data += part

    def whole(self, size: int) -> bytes | None:
        data, self._data = bytes(self._data), bytearray()
        return data if len(data) == size else None
