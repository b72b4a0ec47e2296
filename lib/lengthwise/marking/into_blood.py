"""Hypochlorite into blood before anybody looked for its cause: what is told of it, and not charged.

It is the usual rinse, against living tissue that was left behind too, so no marks hang on it. Blood
may come through an opening all the same, and then hypochlorite goes out the way the blood came in.
"""

from .practice_chair import Act, Sitting
from .rounds_rules import Course
from .rounds_signs import signs

INTO_BLOOD = (
    "It bled, and nobody had looked for the cause yet: rinse with saline until you know; "
    "hypochlorite could reach the tissues through an opening."
)


def told_of_course(course: Course) -> str:
    """A sentence on a course of rounds that rinsed into blood; empty where none did."""
    for at, word in enumerate(course.words):
        bled = any("blood" in signs(one) for one in course.seen[: at + 1])
        done = word == "rinse" and not course.seen[at + 1].refused
        if done and bled and "film" not in course.words[:at]:
            return f"**Safety, told and not charged.** {INTO_BLOOD}"
    return ""


def told_at_chair(sitting: Sitting, act: Act) -> str:
    """A caution on a rinse about to be given in practice while it bleeds; empty where none is due.

    >>> from lengthwise.marking.practice_ways import begin
    >>> told_at_chair(begin("plain", 1), Act("hypochlorite", 20.0))
    ''
    """
    if act.word != "hypochlorite" or not bleeds_unlooked(sitting):
        return ""
    return f"Caution: {INTO_BLOOD} It costs nothing."


def bleeds_unlooked(sitting: Sitting) -> bool:
    """Whether it bleeds and nobody has looked for the cause at this visit.

    >>> from lengthwise.marking.practice_ways import begin
    >>> bleeds_unlooked(begin("plain", 1))
    False
    """
    if not sitting.done or sitting.done[-1].bleeding == "none":
        return False
    visit = sitting.done[-1].visit
    return not any(
        each.visit == visit and each.act.word in ("cause", "supervisor") for each in sitting.done
    )
