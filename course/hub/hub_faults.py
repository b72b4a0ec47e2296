"""How a setting of the hub is refused: in a sentence, and all that is amiss at once."""

import difflib
from collections.abc import Callable
from functools import partial

from lengthwise.classroom.errors import ClassroomError


class SettingsError(Exception):
    """A sentence for the administrator."""


def fault(field: str, came: object, allowed: str, mend: str) -> SettingsError:
    """Say what is wrong with a field."""
    return SettingsError(f"Field {field}: got {came!r}; allowed is {allowed}; {mend}.")


def all_of(*checks: Callable[[], object]) -> list:
    """What each check gives; the faults of all of them are raised together."""
    gave, faults = [], []
    for check in checks:
        try:
            gave.append(check())
        except (SettingsError, ClassroomError) as problem:
            faults.append(str(problem))
    if faults:
        raise SettingsError("\n".join(faults))
    return gave


def as_table(told: object, where: str) -> dict:
    """What a table of the file holds; raises where something else stands there."""
    if not isinstance(told, dict):
        name = where.rstrip(".")
        raise fault(name, told, "a table", f"write [{name}] above its fields")
    return told


def only(told: dict, where: str, known: set[str]) -> None:
    """Raise where a table has fields that nobody knows, with the name that is nearest."""
    all_of(*(partial(_known, where, name, value, known) for name, value in told.items()))


def _known(where: str, name: str, value: object, known: set[str]) -> None:
    if name not in known:
        near = difflib.get_close_matches(name, known, 1)
        mend = f"write {where}{near[0]}" if near else "take it out"
        raise fault(where + name, value, ", ".join(sorted(known)), mend)
