"""How practice is going, in words. Rounding happens here."""

from __future__ import annotations

from lengthwise.counted import counted
from lengthwise.marking.misconceptions import MISCONCEPTIONS
from lengthwise.marking.practice_cautions import SHOWN_MM
from lengthwise.marking.practice_difficulty import difficulties, expected_share, served
from lengthwise.marking.practice_progress import Summary, beliefs_over_time, summarised
from lengthwise.marking.practice_record import PracticeRecord
from lengthwise.panels.practice_progress_tables import signed
from lengthwise.reference import practice as q

NOTHING_YET = "Nothing yet: answer a case above, and it appears here."
MEANING = (
    "The next cases are chosen so that you would earn about half of the marks. The easiest kind of "
    "case stands at {}, the hardest at {}."
)
TOO_FEW = (
    "A level is told after {} cases: so few say little of what you can, and many first cases earn "
    "nothing."
)
NOTHING_EASIER = (
    "That is below the easiest kind of case ({}), so the next cases are of the easiest kinds, "
    "until more of them come right. What helps most: lessons 04 to 06 once more, and an answer "
    "only when two sources agree, each on its own landmark."
)
NOTHING_HARDER = (
    "No kind of case here is harder than your level. Look at how many of your intervals hold the "
    "foramen, and at your minutes and films."
)


def progress_sentence(record: PracticeRecord) -> str:
    """How it is going, in numbers."""
    trouble = [record.trouble] if record.trouble else []
    if record.torn:
        trouble.append(
            f"{counted(record.torn, 'line')} of your log could not be read, perhaps torn when the "
            "computer stopped; everything else is here."
        )
    if not record.finished:
        return "\n".join([NOTHING_YET, *trouble])
    total = summarised(record.finished)
    cases = f"{total.cases} cases answered; on average they"
    if total.cases == 1:
        cases = "1 case answered; it"
    parts = [
        f"{cases} earned {100 * total.share:.0f} of 100.",
        *_level_words(record),
        _lengths(total),
        _beliefs(record),
    ]
    return "\n".join(part for part in [*parts, *trouble] if part)


def _level_words(record: PracticeRecord) -> tuple[str, str]:
    """The level, once there are cases enough to tell one, and the next cases."""
    level, few = record.levels[-1], int(q.FIRST_LEVEL_CASES.value)
    if len(record.finished) < few:
        return TOO_FEW.format(few), ""
    plain = expected_share(level, difficulties()["plain"])
    easiest, hardest = served()
    if level.logit > hardest:
        where = NOTHING_HARDER
    elif level.logit < easiest:
        where = NOTHING_EASIER.format(signed(easiest))
    else:
        where = MEANING.format(signed(easiest), signed(hardest))
    return (
        f"Your level is {signed(level.logit)}, give or take {level.sd_logit:.1f}: in a plain case "
        f"you would now earn about {100 * plain:.0f}.",
        where,
    )


def _lengths(total: Summary) -> str:
    if total.bias_mm is None or total.error_mm is None or total.covered is None:
        return "No length was taken yet."
    inside = round(total.covered * total.lengths)
    hold = "holds" if 1 in (inside, total.lengths) else "hold"
    return (
        f"{counted(total.lengths, 'length')}: the middle of the interval is typically "
        f"{total.error_mm:.1f} mm off the foramen, on average {_too(total.bias_mm)}. "
        f"{inside} of {counted(total.lengths, 'interval')} {hold} the foramen; nine in ten are "
        f"meant. Mean width {total.width_mm:.1f} mm."
    )


def _too(bias_mm: float) -> str:
    if abs(bias_mm) < SHOWN_MM:
        return "neither too long nor too short"
    return f"{abs(bias_mm):.1f} mm too {'long' if bias_mm > 0 else 'short'}"


def _beliefs(record: PracticeRecord) -> str:
    named = beliefs_over_time(record.finished)[-1]
    if not named:
        return ""
    looks = "; they also look as if ".join(MISCONCEPTIONS[one].look_as_if for one in named)
    again = "; and at ".join(MISCONCEPTIONS[one].again for one in named)
    return f"Your last answers look as if {looks}. Look again at {again}.".replace("*", "")
