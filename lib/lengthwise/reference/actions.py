"""What the next action costs: named figures, each a `Quantity`.

The unit is that of the loss: what a working length a millimetre short of the target costs.
"""

from lengthwise.reference.quantity import Quantity

_JUDGED = (
    "judgement of the authors; nobody has measured it for this use; of what is defensible, so low "
    "that whoever follows it knows the length nearly as well as whoever always does everything"
)
COST_FILM = Quantity(0.10, "1", "some minutes and a dose; " + _JUDGED, "assumption", 0.05, 0.5)
COST_READING = Quantity(
    0.034, "1", "a minute, nothing that could harm; " + _JUDGED, "assumption", 0.02, 0.15
)
COST_POINTS = Quantity(
    0.07, "1", "drying and about six sterile points; " + _JUDGED, "assumption", 0.05, 0.3
)
NEARLY_EQUAL_WORTH = Quantity(
    0.10,
    "1",
    "two next steps whose worth differs by less are both right: less than the costs are known; "
    "judgement of the authors",
    "assumption",
    0.05,
    0.2,
)
