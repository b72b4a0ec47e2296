"""What a course of actions may not do in a canal that will not stay dry, and why.

A course that breaks none of these rules is safe and earns everything, whether it ends with a
length, with another visit, or with a question to the supervisor. The rules look at what could be
seen, in the order in which it was seen. They are common practice: bleeding is a sign before it is
a nuisance; a dry point is evidence only in an open canal; peroxide never comes from a syringe; no
length is taken from a canal that is not dry.
"""

from collections.abc import Callable
from dataclasses import dataclass

from .determination import Determination
from .rounds import Seen
from .rounds_signs import last_tried, signs, why_not_dry

TREATING = frozenset({"dry", "rinse", "peroxide", "patency"})
STOPPING = frozenset({"ask", "rebook"})
ROUNDS_OF_BLOOD = 2
"""Blood that is still there after so many rounds of drying asks for its cause."""


@dataclass(frozen=True)
class Course:
    """What a student did, and what could be seen of it.

    Attributes
    ----------
    words : the actions that took place.
    seen : what was seen before the first and after each: one more than words.
    determination : what was concluded.
    """

    words: tuple[str, ...]
    seen: tuple[Seen, ...]
    determination: Determination

    def after(self, *wanted: str) -> tuple[str, ...]:
        """The actions after one of these signs was first seen; none where it never was."""
        for i, one in enumerate(self.seen):
            if signs(one) & set(wanted):
                return self.words[i:]
        return ()

    def shows(self, *wanted: str) -> bool:
        """Whether one of these signs was seen at all."""
        return any(signs(one) & set(wanted) for one in self.seen)

    @property
    def asks(self) -> bool:
        """Whether the answer asks somebody."""
        return self.determination.next_step == "ask"

    @property
    def last(self) -> Seen:
        """The points that were tried last, with what had been found by the end."""
        return last_tried(self.seen)

    @property
    def why_wet(self) -> str:
        """Why the points that were tried last tell no length; empty when they may."""
        return why_not_dry(self.last.trials)

    @property
    def takes_length(self) -> bool:
        """Whether a length was taken."""
        return self.determination.working_length_mm is not None


@dataclass(frozen=True)
class Rule:
    """One rule: who breaks it, what that costs, and what to look at again.

    Attributes
    ----------
    name : of the rule.
    misconception : the belief that breaking it looks like; empty where it is none.
    broken : tells whether a course breaks it.
    again : what to look at again.
    cost : of the course's share, 0 to 1.
    safety : breaking it could hurt somebody; the whole question earns nothing.
    """

    name: str
    misconception: str
    broken: Callable[[Course], bool]
    again: str
    cost: float = 0.5
    safety: bool = False


def _dampened(course: Course) -> bool:
    return "peroxide" in course.after("side", "suspected")


def _cause_not_asked(course: Course) -> bool:
    """Brisk bleeding, or points that two rounds leave bloody, and nobody asked why."""
    bloody = [_is_bloody(one) for one in course.seen if one.trials]
    lasting = sum(bloody) > ROUNDS_OF_BLOOD and bloody[-1]
    asked = {"film", "ask"} & set(course.words)
    return (course.shows("brisk") or lasting) and not asked and not course.asks


def _went_on(course: Course) -> bool:
    return bool(TREATING & set(course.after("side", "suspected")))


def _not_looked_into(course: Course) -> bool:
    """Points that stick or stay dry to the limit, and nobody saw whether the canal is open."""
    if not course.shows("stuck"):
        return False
    looked = {"patency", "ask", "rebook"} & set(course.after("stuck"))
    return not looked and not course.asks


def _is_bloody(seen: Seen) -> bool:
    return any(each.liquid == "blood" or each.mark_site == "side" for each in seen.trials)


def _blood_taken(course: Course) -> bool:
    return course.takes_length and _is_bloody(course.last)


def _averaged(course: Course) -> bool:
    return course.takes_length and bool(course.why_wet) and not _is_bloody(course.last)


RULES = (
    Rule(
        "no peroxide from a syringe",
        "M10",
        lambda course: "syringe" in course.words,
        "hydrogen peroxide from a syringe presses gas into the tissues. It is never used, whatever "
        "the bleeding (lesson 05, *Safe ways back to dry*)",
        safety=True,
    ),
    Rule(
        "no dampened point where the canal may be open to the side",
        "M16",
        _dampened,
        "a dampened point was used although an opening was suspected, or a point was wet on its "
        "side: peroxide could reach the tissues. Stop and ask (lesson 05, *Wet does not mean the "
        "end*)",
        safety=True,
    ),
    Rule(
        "no going longer until something shows",
        "M13",
        lambda course: "longer" in course.words,
        "a point that tells nothing does not ask for a longer one. Never more than 1 mm beyond "
        "the estimated length or a foramen signal whose three signs hold, whichever is further; "
        "near a nerve or the sinus, ask first. Look at the canal, the point and the reference "
        "(lesson 04, *When a dry point is no evidence*)",
        safety=True,
    ),
    Rule(
        "ask for the cause of bleeding",
        "M10",
        _cause_not_asked,
        "blood that comes fast, or that two rounds do not end, asks for its cause, and nobody "
        "looked for one: another radiograph, or somebody who looks (lesson 05, *Bleeding is "
        "a sign before it is a nuisance*)",
    ),
    Rule(
        "stop where an opening is suspected",
        "M16",
        _went_on,
        "a mark on the side, or what the radiograph showed, means stop and ask; drying again does "
        "not close an opening (lesson 05, *Wet does not mean the end*)",
    ),
    Rule(
        "see whether the canal is open",
        "M13",
        _not_looked_into,
        "points that stick, or stay dry as far as they may go, ask whether the canal is open; they "
        "do not only say that you are still short (lesson 05, *Dry does not mean short*)",
    ),
    Rule(
        "no length from blood",
        "M16",
        _blood_taken,
        "blood in the canal wets a point wherever it stands, so no length is taken from it "
        "(lesson 05, *Bleeding is a sign before it is a nuisance*)",
    ),
    Rule(
        "no length from a canal that is not dry",
        "M6",
        _averaged,
        "the mean of repeats from a wet canal moves with the liquid; dry the canal, and begin the "
        "repeats anew (lesson 05, *A point is a sponge*)",
    ),
    Rule(
        "a refused action is chosen anew",
        "",
        lambda course: course.seen[-1].refused,
        "an action that was refused did not take place: read why, and choose another in its place",
        cost=0.25,
    ),
)  # fmt: skip
"""Everything that a safe course keeps to."""
