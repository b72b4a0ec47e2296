"""What an answer earns, whatever kind of answer it is."""

from dataclasses import dataclass

from .clues import Clue


@dataclass(frozen=True)
class Marks:
    """What an answer earns.

    Attributes
    ----------
    share : 0 to 1, of the points that the question carries.
    length_share, interval_share : the two halves of a length, each 0 to 1; None where the
        question was not about a length.
    safety_failure : the answer could hurt somebody, and earns nothing.
    clues : what the answer says of the beliefs behind it; weighed over all answers (`diagnosis`).
    yours, supported : in a few characters, what was answered and what the evidence supports.
    explanation : Markdown for the student: what was expected and what to look at again.
    """

    share: float
    explanation: str
    length_share: float | None = None
    interval_share: float | None = None
    safety_failure: bool = False
    clues: tuple[Clue, ...] = ()
    yours: str = ""
    supported: str = ""
