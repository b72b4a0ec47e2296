"""The marks of a question of rounds: half for the course of actions, half for the conclusion.

- Course: everything for any course that is safe (`rounds_rules`); each rule broken costs its part.
- Conclusion: on points from a dry canal as any determination is marked (`marks`); from a canal
  that is not dry, and after the visit ended, no length is taken: "not yet" is half, a next step
  that fits the other half.
- What could hurt somebody earns nothing at all.
"""

from collections.abc import Sequence

from lengthwise.reconciliation.next_step import UNSAFE_STEPS

from .clues import ADHERES, Clue
from .determination import Determination
from .exercise import BY_CHANCE
from .graded_case import GradedCase
from .into_blood import told_of_course
from .marks import mark
from .marks_record import Marks
from .past_foramen import past_foramen
from .point_words import mark_in_words
from .rounds import Rounds, Seen, followed
from .rounds_rules import RULES, STOPPING, Course, Rule
from .rounds_signs import evidence_after, signs


def mark_rounds(rounds: Rounds, words: Sequence[str | None], determination: Determination) -> Marks:
    """Mark the rounds of a student, and what was concluded from them.

    Parameters
    ----------
    rounds : the question.
    words : one a round, in order; None is a round that was not used.
    determination : a length with its interval, or "not yet" with the next step.
    """
    course = course_of(rounds, words, determination)
    if not course.words:
        return Marks(0.0, "**You chose no action.** Choose one of the list in the first round.")
    broken = [rule for rule in RULES if rule.broken(course)]
    conclusion = _conclusion(rounds, course)
    unsafe = conclusion.safety_failure or any(rule.safety for rule in broken)
    share = max(0.0, 1.0 - sum(rule.cost for rule in broken))
    earned = "The course is safe and earns its half of the points in full."
    if unsafe:
        acts = "; ".join(rule.name for rule in broken if rule.safety) or "the next step"
        earned = f"**Safety:** this could hurt somebody ({acts}). The question earns nothing."
    elif broken:
        earned = f"The course earns {round(100 * share)} % of its half of the points."
    parts = [
        _story(course),
        *_not_done(words, course),
        earned,
        *(rule.again[0].upper() + rule.again[1:] + "." for rule in broken),
        *filter(None, [told_of_course(course)]),
        conclusion.explanation,
    ]
    return Marks(
        0.0 if unsafe else (share + conclusion.share) / 2,
        "\n\n".join(parts),
        safety_failure=unsafe,
        clues=(_course_clue(broken), *conclusion.clues),
        yours=determination.in_brief,
        supported=conclusion.supported,
    )


def _course_clue(broken: Sequence[Rule]) -> Clue:
    """A safe course says nothing; one that breaks a rule looks like the belief behind the rule."""
    seen: dict[str, str] = {}
    for rule in broken:
        if rule.misconception:
            seen.setdefault(rule.misconception, f"your rounds broke the rule “{rule.name}”.")
    return Clue(float(not seen), BY_CHANCE, dict.fromkeys(seen, ADHERES), seen)


def course_of(rounds: Rounds, words: Sequence[str | None], determination: Determination) -> Course:
    """The rounds that took place, with what was seen before and after each."""
    course = followed(rounds.happens, words)
    seen = (rounds.happens, *(one for _, one in course))
    return Course(tuple(word for word, _ in course), seen, determination)


def steps_that_fit(course: Course) -> frozenset[str]:
    """The next steps of somebody who takes no length; none where the points may tell one."""
    if course.shows("side", "suspected"):
        return frozenset({"ask"})
    if course.words[-1] in STOPPING or course.why_wet or "stuck" in signs(course.last):
        return frozenset({"ask", "points"})
    return frozenset()


def case_of(rounds: Rounds, course: Course) -> GradedCase:
    """What is weighed at the end: the radiograph and the points that were tried last."""
    evidence = evidence_after(rounds.before, course.seen)
    return GradedCase(evidence, rounds.target_mm, rounds.foramen_mm, rounds.trap)


def _conclusion(rounds: Rounds, course: Course) -> Marks:
    fits, given = steps_that_fit(course), course.determination
    if not fits or given.next_step in UNSAFE_STEPS:
        return mark(given, case_of(rounds, course))
    steps = " or ".join(f'"{step}"' for step in sorted(fits))
    supported = f"not yet ({' or '.join(sorted(fits))})"
    because = _because(course)
    share = 0.5 + 0.5 * (given.next_step in fits)
    if given.is_blank:
        share, said = 0.0, f"Nothing was concluded. What fits: not yet, {steps}, because {because}."
    elif not given.is_not_yet:
        danger = past_foramen(given, case_of(rounds, course))
        no_length = f"No length is taken here: {because}. What fits: not yet, {steps}."
        share, said = 0.0, f"{danger}\n\n{no_length}" if danger else no_length
    else:
        step = "and the next step fits" if share == 1 else f"but the next step that fits is {steps}"
        said = f"Not taking a length is right, {step}: {because}."
    return Marks(share, said, supported=supported)


def _because(course: Course) -> str:
    if course.shows("side", "suspected"):
        return "the canal may be open where it should not be"
    if course.words[-1] in STOPPING:
        return "the visit ended, and a length belongs to a canal that is dry"
    return course.why_wet or "no point shows where the canal ends"


def _story(course: Course) -> str:
    lines = [
        f"{number}. `{word}`: {seen.said}{_points(seen)}"
        for number, (word, seen) in enumerate(zip(course.words, course.seen[1:], strict=True), 1)
    ]
    return "\n".join(["**Your rounds**", "", *lines])


def _not_done(words: Sequence[str | None], course: Course) -> list[str]:
    """What was chosen after the rounds had ended."""
    left = [f"`{word}`" for word in words[len(course.words) :] if word is not None]
    ended = f"Nothing followed `{course.words[-1]}`, so these were not done: {', '.join(left)}."
    return [ended] if left else []


def _points(seen: Seen) -> str:
    """The points in one line.

    >>> from lengthwise.evidence import PointTrial
    >>> _points(Seen("", (PointTrial(length_mm=22.0, contact_s=1.0, wet_mm=0.8),)))
    ' Marks (mm): 22 mm 0.8.'
    """
    if not seen.trials:
        return ""
    said = [
        f"{each.length_mm:g} mm {mark_in_words(each)}"
        + ("" if each.ran_freely is not False else ", stuck")
        for each in seen.trials
    ]
    return f" Marks (mm): {'; '.join(said)}."
