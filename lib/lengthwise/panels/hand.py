"""What a hand has set is with the kernel before any button that it presses afterwards.

While the kernel works on one value of a control, the widget layer holds the next one back; a press
goes at once. It would overtake the value, and a button would act on a number that is no longer on
the screen. So every press anywhere on the page sends ahead what was set since the press before.
What was held back comes in after the press, as old news, and is passed over.
"""

from __future__ import annotations

from typing import Any

import anywidget
import traitlets

HAND_JS = """
function set_by_hand(model, values) {
  for (const [name, value] of Object.entries(values)) model.set(name, value);
  model.set("moves", model.get("moves") + 1);
}

// Gives what ends it.
function ahead_of_every_press(model, el, names) {
  let told = model.get("moves");
  function tell(event) {
    const moves = model.get("moves");
    if (moves === told || el.contains(event.target)) return;
    told = moves;
    model.save_changes();
    const hand = Object.fromEntries(names.map((name) => [name, model.get(name)]));
    model.send({ moves, hand });
  }
  document.addEventListener("click", tell, true);
  return () => document.removeEventListener("click", tell, true);
}
"""
"""For the script of a control: `set_by_hand` for whatever the hand changes, before
`model.save_changes()`, and `ahead_of_every_press` once for a view."""


class Hand(anywidget.AnyWidget):
    """A control whose script uses `HAND_JS`. It counts the ``moves`` of the hand.

    Examples
    --------
    >>> class Number(Hand):
    ...     value = traitlets.Int(0).tag(sync=True)
    >>> number = Number()
    >>> number.set_state({"value": 1, "moves": 1})
    >>> number._handle_custom_msg({"moves": 3, "hand": {"value": 3}}, [])  # ahead of a press
    >>> number.set_state({"value": 2, "moves": 2})  # held back until now
    >>> number.value
    3
    """

    moves = traitlets.Int(0).tag(sync=True)
    _told = 0

    def __init__(self, **given: Any) -> None:
        super().__init__(**given)
        self.on_msg(self._ahead_of_a_press)

    def set_state(self, sync_data: dict[str, Any]) -> None:
        """Take what comes from the page, unless a press has told what is newer."""
        if sync_data.get("moves", self._told + 1) > self._told:
            super().set_state(sync_data)

    def _ahead_of_a_press(self, _widget: object, content: Any, _parts: object) -> None:
        match content:
            case {"moves": int(moves), "hand": dict(hand)} if moves > self._told:
                self.set_state({**hand, "moves": moves})
                self._told = moves
