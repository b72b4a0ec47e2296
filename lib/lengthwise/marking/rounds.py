"""A question of rounds: the student chooses one action after the other, and sees what comes of it.

What comes of every course of actions is worked out when the class is made, so that a notebook can
show it without knowing the truth: it holds sentences and records that a clinician would see.
"""

import json
from collections.abc import Iterable, Mapping
from dataclasses import asdict, dataclass, field
from typing import Any

from lengthwise.bench.canal_state import BLEEDINGS, Bleeding
from lengthwise.evidence import Evidence, PointTrial

from .exercise import sheets_from
from .sheet import Sheet

ROUND_NAMES = ("round_1", "round_2", "round_3")
SITES = ("none", "tip_straight", "tip_oblique", "side", "whole")
LIQUIDS = (None, "clear", "turbid", "blood")
CANALS = ("dry", "moist", "irrigant", "blood", "flooded")
BRIEF: dict[str, Any] = {"contact_s": 1.0, "size": 20, "taper": 0.02, "stage": "after_shaping"}
"""What all points of the rounds have in common."""

KEPT_BACK = frozenset({"before", "target_mm", "foramen_mm", "trap"})
"""What stands in the instructor's file beside what the student gets."""


@dataclass(frozen=True)
class Seen:
    """What was seen after an action.

    Attributes
    ----------
    said : in a sentence or two.
    trials : the points that were tried then.
    found : what is known of the canal from now on: fields of `Context` and their values.
    over : no round follows.
    refused : nothing was done; what was chosen is not done here.
    bleeding : how much blood showed besides the marks of the points.
    then : what comes of each action that may follow, by its word.
    """

    said: str
    trials: tuple[PointTrial, ...] = ()
    found: Mapping[str, str] = field(default_factory=dict)
    over: bool = False
    refused: bool = False
    bleeding: Bleeding = "none"
    then: Mapping[str, "Seen"] = field(default_factory=dict)


@dataclass(frozen=True)
class Rounds:
    """A question of rounds as the instructor keeps it.

    Attributes
    ----------
    told, sheets : what the student reads first, the actions among it.
    actions : what each action's word means.
    before : film and points from before the rounds.
    happens : what is seen before the rounds, and what comes of every course of them.
    target_mm : the class's distance from the foramen.
    foramen_mm : the truth, for the instructor's eyes; marks never use it.
    trap : what makes it hard, in plain words.
    """

    told: str
    sheets: tuple[Sheet, ...]
    actions: Mapping[str, str]
    before: Evidence
    happens: Seen
    target_mm: float
    foramen_mm: float
    trap: str

    def to_json(self) -> str:
        """The question with its truth: for the instructor's folder only."""
        kept = {
            "before": json.loads(self.before.to_json()),
            "target_mm": self.target_mm,
            "foramen_mm": self.foramen_mm,
            "trap": self.trap,
        }
        return json.dumps({**self.shown(), **kept})

    @classmethod
    def from_json(cls, text: str) -> "Rounds":
        """A question as `to_json` wrote it."""
        data = json.loads(text)
        return cls(
            data["told"],
            sheets_from(data["sheets"]),
            data["actions"],
            Evidence.from_json(json.dumps(data["before"])),
            seen_from(data["happens"], data["sentences"]),
            data["target_mm"],
            data["foramen_mm"],
            data["trap"],
        )

    def shown(self) -> dict[str, Any]:
        """What the student gets: no truth, and nothing of what the actions are worth."""
        sentences: dict[str, int] = {}
        happens = _packed(self.happens, sentences)
        asked = [
            {"name": name, "means": "", "low": 0.0, "high": 0.0, "words": list(self.actions)}
            for name in ROUND_NAMES
        ]
        return {
            "told": self.told,
            "sheets": [asdict(sheet) for sheet in self.sheets],
            "asked": asked,
            "picture": "",
            "picture_words": "",
            "actions": dict(self.actions),
            "sentences": list(sentences),
            "happens": happens,
        }


def followed(happens: Seen, words: Iterable[str | None]) -> tuple[tuple[str, Seen], ...]:
    """The rounds that took place: each word with what was seen, up to the first that is missing.

    >>> end = Seen("Booked again.", over=True)
    >>> start = Seen("Wet.", then={"rebook": end})
    >>> [word for word, _ in followed(start, ["rebook", "dry", None])]
    ['rebook']
    """
    course: list[tuple[str, Seen]] = []
    at = happens
    for word in words:
        if word is None or word not in at.then:
            break
        at = at.then[word]
        course.append((word, at))
    return tuple(course)


def _packed(seen: Seen, sentences: dict[str, int]) -> list[Any]:
    """Short, because there are hundreds: sentences by number, a trial as six numbers."""
    said = sentences.setdefault(seen.said, len(sentences))
    trials = [
        [
            each.length_mm,
            each.wet_mm,
            SITES.index(each.mark_site or "none"),
            LIQUIDS.index(each.liquid),
            int(bool(each.ran_freely)),
            CANALS.index(each.liquid_in_canal or "dry"),
        ]
        for each in seen.trials
    ]
    then = {word: _packed(one, sentences) for word, one in seen.then.items()}
    shows = [int(seen.refused), BLEEDINGS.index(seen.bleeding)]
    return [said, trials, dict(seen.found), int(seen.over), then, *shows]


def seen_from(packed: list[Any], sentences: list[str]) -> Seen:
    """What was seen, as it stands in ``cases.json``."""
    said, rows, found, over, then, *shows = packed
    refused, bleeding = shows or _shown_by(sentences[said])
    return Seen(
        sentences[said],
        tuple(_trial(*row) for row in rows),
        found,
        bool(over),
        bool(refused),
        BLEEDINGS[bleeding],
        {word: seen_from(one, sentences) for word, one in then.items()},
    )


def _shown_by(said: str) -> tuple[bool, int]:
    """Whether an action was refused, and its bleeding, of classes made before these were kept.

    A mark must not change, so their sentences are read as they were then.

    >>> _shown_by("Refused: stay 1 mm short."), _shown_by("The canal is full. It bleeds.")
    ((True, 0), (False, 2))
    """
    bleeding: Bleeding = "oozing" if "blood" in said else "none"
    if "It bleeds." in said:
        bleeding = "brisk"
    return said.startswith("Refused"), BLEEDINGS.index(bleeding)


def _trial(
    length_mm: float, wet_mm: float, site: int, liquid: int, ran: int, canal: int
) -> PointTrial:
    where: dict[str, Any] = {
        "mark_site": SITES[site], "liquid": LIQUIDS[liquid], "liquid_in_canal": CANALS[canal]
    }  # fmt: skip
    return PointTrial(length_mm=length_mm, wet_mm=wet_mm, ran_freely=bool(ran), **where, **BRIEF)
