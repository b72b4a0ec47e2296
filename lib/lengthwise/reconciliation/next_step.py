"""What to do next: take the length and confirm it, get one more source, or stop and ask.

A first form by rules. A length is taken when its 90 % interval is narrow enough; where it is
not, the rule names what is missing, and where nothing is missing, somebody to ask.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from lengthwise.reference import constants as c

NEXT_STEPS: dict[str, str] = {
    "confirm": "good enough: confirm the length by radiograph as the clinic requires, record it",
    "film": "not yet: take a working radiograph with a file at a known length",
    "reading": "not yet: take the electronic reading (again), dry, without metal contact",
    "points": "not yet: dry the canal and try paper points (again)",
    "ask": "stop: these sources cannot settle it; ask the supervisor or refer",
    "longer": "go on a millimetre longer until something shows",
}
"""Words that a student may type, with their meaning. "longer" is never the right one."""

UNSAFE_STEPS = frozenset({"longer"})


@dataclass(frozen=True)
class NextStep:
    """A word from `NEXT_STEPS` and the reason in one sentence."""

    word: str
    sentence: str


def choose_next_step(
    reasons_to_ask: Sequence[str],
    interval_mm: tuple[float, float],
    trust_by_kind: Callable[[], dict[str, float]],
    question: str | None = None,
) -> NextStep:
    """The next step for a case.

    Parameters
    ----------
    reasons_to_ask : sequence of str
        Why the case is out of scope; empty when it is not.
    interval_mm : (float, float)
        90 % interval of the foramen (mm).
    trust_by_kind : callable
        Gives, for every kind of source that spoke, how far it is believed after the fact. Asked
        only when the length is open, because working it out takes longer than the rest.
    question : str, optional
        What the points ask before a length is taken (see `points_question`).

    Examples
    --------
    >>> choose_next_step((), (25.0, 25.8), lambda: {"point_trial": 0.98}).word
    'confirm'
    >>> choose_next_step((), (23.0, 26.0), lambda: {"electronic_reading": 0.5}).word
    'film'
    """
    if reasons_to_ask:
        return NextStep("ask", f"Not with these sources: {'; '.join(reasons_to_ask)}. Ask.")
    if question:
        return NextStep("points", question)
    width = interval_mm[1] - interval_mm[0]
    widest = c.WIDEST_INTERVAL_MM.value
    if width <= widest:
        return NextStep(
            "confirm",
            "Enough for the length; confirm by radiograph as your clinic requires, and record.",
        )
    open_mm = f"the foramen may still lie anywhere within {width:.1f} mm"
    trust = trust_by_kind()
    if trust.get("point_trial", 1.0) < c.PAPER_NOT_DRY_BELOW.value:
        return NextStep("points", f"Dry the canal, then repeat the points: {open_mm}.")
    for kind, word, what in (
        ("working_film", "film", "Take a working radiograph"),
        ("electronic_reading", "reading", "Take an electronic reading"),
        ("point_trial", "points", "Dry the canal and try paper points"),
    ):
        if kind not in trust:
            return NextStep(word, f"{what}: {open_mm}.")
    return NextStep("ask", f"All sources have spoken and do not agree: {open_mm}. Ask.")
