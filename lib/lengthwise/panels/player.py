"""A button that lets a value run on with the clock: for what creeps while one watches."""

from __future__ import annotations

from typing import Any

import anywidget
import traitlets

from lengthwise.panels.front_end import CONTROL_CSS

_ESM = """
function render({ model, el }) {
  const box = document.createElement("div");
  box.className = "lengthwise-control lengthwise-player";
  const button = document.createElement("button");
  button.type = "button";
  // In a notebook the space bar would go to the cells.
  button.setAttribute("data-lm-suppress-shortcuts", "true");
  box.append(button);
  el.append(box);

  let timer = null;
  let from = 0;
  let began = 0;
  function say() {
    button.textContent = model.get(timer === null ? "label" : "pause");
  }
  function tell() {
    model.set("playing", timer !== null);
    model.save_changes();
    say();
  }
  function stop() {
    clearInterval(timer);
    timer = null;
    tell();
  }
  function tick() {
    const step = model.get("step");
    const passed = Math.floor((performance.now() - began) / 1000 / step) * step;
    const value = Number(Math.min(from + passed, model.get("max")).toFixed(6));
    model.set("tick", [value, model.get("run")]);
    if (value >= model.get("max")) stop();
    else model.save_changes();
  }
  button.addEventListener("click", () => {
    if (timer !== null) {
      stop();
      return;
    }
    const value = model.get("value");
    from = value < model.get("max") ? value : model.get("min");
    began = performance.now();
    model.set("run", model.get("run") + 1);
    timer = setInterval(tick, 1000 * model.get("step"));
    tell();
  });
  say();
  model.on("change:label change:pause", say);
  model.on("change:halted", () => {
    if (timer !== null && model.get("halted") >= model.get("run")) stop();
  });
  return () => clearInterval(timer);
}

export default { render };
"""

_CSS = (
    CONTROL_CSS
    + """
.lengthwise-player button {
  min-height: 44px; padding: 0 16px; border: 2px solid #0b4f8a; border-radius: 3px;
  background: #ffffff; color: #0b4f8a; font: inherit; font-weight: 600; cursor: pointer;
}
"""
)


class Player(anywidget.AnyWidget):
    """A button that starts and pauses; observe its ``value`` (s). Make one with `player`.

    It is ``playing`` as long as the value runs by itself. Every press of *Play* is another ``run``,
    and a tick of the clock comes with the run it is of: what was under way when that run was halted
    is too late, and changes nothing.

    Examples
    --------
    >>> clock = player("Let it run", value=1.0, low=0.2, high=10.0, step=0.2)
    >>> clock.set_state({"run": 1, "tick": [3.0, 1]})
    >>> clock.take_over(9.0)
    >>> clock.set_state({"tick": [3.2, 1]})
    >>> clock.value
    9.0
    """

    _esm = _ESM
    _css = _CSS
    value = traitlets.Float(0.0).tag(sync=True)
    min = traitlets.Float(0.0).tag(sync=True)
    max = traitlets.Float(1.0).tag(sync=True)
    step = traitlets.Float(0.1).tag(sync=True)
    label = traitlets.Unicode("").tag(sync=True)
    pause = traitlets.Unicode("Pause").tag(sync=True)
    run = traitlets.Int(0).tag(sync=True)
    halted = traitlets.Int(0).tag(sync=True)
    tick = traitlets.Tuple((0.0, 0)).tag(sync=True)
    playing = traitlets.Bool(False).tag(sync=True)

    def halt(self) -> None:
        """Pause, if it runs."""
        self.halted = self.run
        self.playing = False

    def take_over(self, value: float) -> None:
        """Set the value by hand: it no longer runs."""
        self.value = value
        self.halt()

    @traitlets.observe("tick")
    def _ticked(self, change: dict[str, tuple[float, int]]) -> None:
        value, run = change["new"]
        if run > self.halted:
            self.value = value

    @traitlets.validate("value")
    def _inside(self, proposal: Any) -> float:
        # A page may send anything; the value stays between the ends, and NaN changes nothing.
        value = float(proposal["value"])
        if value != value:
            return float(self.value)
        return min(max(value, float(self.min)), float(self.max))


def player(label: str, *, value: float, low: float, high: float, step: float) -> Player:
    """Make a button that lets a value grow by a second a second, from where it is to its end.

    Parameters
    ----------
    label
        What happens when it is pressed; while it runs the button says "Pause".
    value, low, high
        Start value and ends (s). Pressed at the end, it begins again at the low end.
    step
        How much a step is, and how long it takes (s).

    Raises
    ------
    ValueError
        If the label is empty, the ends are in the wrong order, or the step is not positive.

    Examples
    --------
    >>> run = player("Let it run", value=1.0, low=0.2, high=10.0, step=0.2)
    >>> run.value = 12.0
    >>> run.value
    10.0
    """
    if not label.strip():
        raise ValueError("label: got an empty text; say in a few words what begins to move.")
    if not low <= value <= high or not low < high:
        raise ValueError(f"low, value, high: got {low}, {value}, {high}; they must not fall.")
    if not step > 0:
        raise ValueError(f"step: got {step}; it must be more than 0.")
    made = Player(min=low, max=high, step=step, label=label)
    made.value = value
    return made
