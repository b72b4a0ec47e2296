"""The kinds of practice case: what is the matter with a canal, and how hard its length is to see.

A kind says what is wrong in the canal, how its foramen lies, whether something disturbs an
electronic reading, and what was done before the student came. Nothing is sorted out afterwards:
the bench shows what comes of it.
"""

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any, Literal

import numpy as np

from lengthwise.anatomy.canals import Canal
from lengthwise.reference import points as p
from lengthwise.reference.tables import canal_length

Generator = np.random.Generator

FAR_MM = 1.1
"""From the end of the root to a foramen that the image hides plainly."""

NEAR_MM, BOOK_MM = 0.4, 0.3
"""A foramen this near to the end of the root; a length this near to the average of its tooth."""


# --- how the foramen lies -------------------------------------------------------------------------
# In canals as they come whoever is careful is right as often as the interval promises.
def any_canal(canal: Canal) -> bool:
    """As canals come."""
    return True


def by_the_book(canal: Canal) -> bool:
    """About as long as the average, and its foramen near the end of the root."""
    average_mm = canal_length(canal.fdi, canal.canal).mean_mm
    near = canal.apex_mm - canal.foramen_mm <= NEAR_MM
    return near and abs(canal.foramen_mm - average_mm) <= BOOK_MM


def hidden(canal: Canal) -> bool:
    """The foramen lies far from the end of the root."""
    return canal.apex_mm - canal.foramen_mm >= FAR_MM


@dataclass(frozen=True)
class Kind:
    """A kind of practice case.

    Attributes
    ----------
    told : what was the matter, for the student, afterwards.
    trouble : gives what is changed in a prepared canal that is otherwise in order.
    lies : how the foramen lies; canals are drawn until one does.
    disturbed : whether something disturbs an electronic reading until it is put right.
    given : what somebody has done before the student comes: read, taken a radiograph and dried
        (``measured``), and tried points as well (``tried``); empty for nothing.
    not_seen : why what was given at first did not say so, and what did; empty where it is plain.
    """

    told: str
    trouble: Callable[[Generator], dict[str, Any]]
    lies: Callable[[Canal], bool] = any_canal
    disturbed: bool = False
    given: Literal["", "measured", "tried"] = ""
    not_seen: str = ""


# --- what is the matter ---------------------------------------------------------------------------
def _nothing(rng: Generator) -> dict[str, Any]:
    return {}


def _over_length(rng: Generator) -> dict[str, Any]:
    return {"cause": "over_length", "bleeding": "oozing"}


def _brisk(rng: Generator) -> dict[str, Any]:
    return {"cause": "over_length", "bleeding": "brisk"}


def _tissue(rng: Generator) -> dict[str, Any]:
    high = float(rng.uniform(1.0, p.REMNANT_HIGHEST_MM.value))
    return {"cause": "tissue_remnant", "remnant_mm": high, "bleeding": "oozing"}


def _opening(rng: Generator) -> dict[str, Any]:
    return {"cause": "perforation", "lateral_mm": float(rng.uniform(2.5, 4.0)),
            "bleeding": "oozing"}  # fmt: skip


def _resorbed(rng: Generator) -> dict[str, Any]:
    return {"cause": "resorption", "bleeding": "oozing"}


def _blocked(rng: Generator) -> dict[str, Any]:
    return {"block_mm": float(rng.uniform(1.0, p.BLOCK_HIGHEST_MM.value))}


def _seeps(rng: Generator) -> dict[str, Any]:
    return {"cause": "seeping", "seep_ul_per_s": 2 * p.OOZE_UL_PER_S.value}


_HIDDEN = "the root ended well beyond the foramen, which no radiograph shows"
_METAL = "crown and chamber were wet and metal touched the file"
_BOOK = "the canal was as books draw one: of average length, ending near the end of the root"
_SIDE = (
    "At first the apex looked closed, and it was: a radiograph from the front does not show an "
    "opening at the side. Blood, a point wet on its side with a dry tip, a radiograph from another "
    "angle, or whoever you ask can show it."
)
_END = (
    "At first the apex looked closed: a radiograph does not show resorption while it is slight. "
    "Bleeding, a radiograph from another angle, or whoever you ask can show it."
)
KINDS: dict[str, Kind] = {
    "book, tried": Kind(_BOOK, _nothing, by_the_book, given="tried"),
    "book, given": Kind(_BOOK, _nothing, by_the_book, given="measured"),
    "book": Kind(_BOOK, _nothing, by_the_book),
    "tried": Kind("nothing was the matter with this canal", _nothing, given="tried"),
    "tried, hidden": Kind(_HIDDEN, _nothing, lies=hidden, given="tried"),
    "given": Kind("nothing was the matter with this canal", _nothing, given="measured"),
    "given, hidden": Kind(_HIDDEN, _nothing, lies=hidden, given="measured"),
    "given, oozes": Kind(
        "before you came an instrument had gone past the foramen, and it oozed blood",
        _over_length,
        given="measured",
    ),
    "plain": Kind("nothing but the rinse was left in this canal", _nothing),
    "plain, disturbed": Kind(_METAL, _nothing, disturbed=True),
    "hidden": Kind(_HIDDEN, _nothing, lies=hidden),
    "hidden, disturbed": Kind(f"{_HIDDEN}; and {_METAL}", _nothing, lies=hidden, disturbed=True),
    "oozes": Kind(
        "before you came an instrument had gone past the foramen, and it oozed blood", _over_length
    ),
    "bleeds": Kind("before you came an instrument had gone past the foramen, and it bled", _brisk),
    "bleeds, hidden, disturbed": Kind(
        f"it bled from beyond the foramen; {_HIDDEN}; and {_METAL}", _brisk, hidden, True
    ),
    "oozes, hidden, disturbed": Kind(
        f"it oozed blood from beyond the foramen; {_HIDDEN}; and {_METAL}",
        _over_length,
        hidden,
        True,
    ),
    "tissue": Kind("living tissue was left inside, and paper met it there", _tissue),
    "tissue, hidden": Kind(f"living tissue was left inside; and {_HIDDEN}", _tissue, lies=hidden),
    "tissue, hidden, disturbed": Kind(
        f"living tissue was left inside; {_HIDDEN}; and {_METAL}", _tissue, hidden, True
    ),
    "opening": Kind("the root was open at its side", _opening, not_seen=_SIDE),
    "resorbed": Kind("the end of the root was being resorbed", _resorbed, not_seen=_END),
    "blocked": Kind("a plug of debris lay above the foramen, and points ended on it", _blocked),
    "blocked, disturbed": Kind(
        f"a plug of debris lay above the foramen; and {_METAL}", _blocked, disturbed=True
    ),
    "seeps": Kind("clear liquid kept coming in through the foramen", _seeps),
    "seeps, hidden": Kind(f"clear liquid kept coming in; and {_HIDDEN}", _seeps, lies=hidden),
    "seeps, hidden, disturbed": Kind(
        f"clear liquid kept coming in; {_HIDDEN}; and {_METAL}", _seeps, hidden, True
    ),
    "opening, hidden, disturbed": Kind(
        f"the root was open at its side; {_HIDDEN}; and {_METAL}",
        _opening,
        hidden,
        True,
        not_seen=_SIDE,
    ),
    "blocked, hidden, disturbed": Kind(
        f"a plug of debris lay above the foramen; {_HIDDEN}; and {_METAL}", _blocked, hidden, True
    ),
}
