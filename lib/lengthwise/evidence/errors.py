"""One error for evidence that cannot be read, in words that say how to mend it."""

from collections.abc import Iterable, Sequence
from typing import Annotated, Any

from pydantic import TypeAdapter, ValidationError
from pydantic_core import PydanticCustomError

from .records import KINDS

MOST_PROBLEMS_SHOWN = 5


class EvidenceError(ValueError):
    """Evidence that cannot be read. The message names place, field, value, limits and cure."""


def in_record(position: int, kind: str, told: str) -> PydanticCustomError:
    """What is wrong with one record beside the rest of its case, to be raised by the case's check.

    `position` counts from 1; in a file `explain` says the record's row instead.
    """
    return PydanticCustomError(
        _IN_RECORD,
        "record {position} ({kind}), {told}",
        {"position": position, "kind": kind, "told": told},
    )


_IN_RECORD = "in_record"


def explain(
    error: ValidationError,
    kinds: Sequence[str],
    place: str,
    lines: Sequence[int] | None = None,
) -> str:
    """Turn what pydantic found into plain sentences, one a problem.

    `kinds` holds each record's kind, so that a message can name it. `place` is what a record is
    called in the file it came from, "record" in JSON and "row" in CSV; `lines` holds the line
    of each row.
    """
    numbers = lines if lines is not None else range(1, len(kinds) + 1)
    places = [
        f"{place} {number}" + (f" ({kind})" if kind else "")
        for number, kind in zip(numbers, kinds, strict=True)
    ]
    problems = [_sentence(item, places) for item in error.errors()]
    shown = problems[:MOST_PROBLEMS_SHOWN]
    if len(problems) > len(shown):
        shown.append(f"... and {len(problems) - len(shown)} more.")
    return "\n".join(shown)


def _sentence(item: Any, places: Sequence[str]) -> str:
    location = list(item["loc"])
    where = ""
    if len(location) >= 2 and location[0] == "evidence" and isinstance(location[1], int):
        where = places[location[1]] + ", "
        location = location[3:]  # after "evidence", the position and the kind comes the field
    if item["type"] == _IN_RECORD:
        return _capital(f"{places[item['ctx']['position'] - 1]}, {item['ctx']['told']}")
    message = str(item["msg"]).removeprefix("Value error, ")
    if item["type"] == "value_error":
        return _capital(where + message)
    if item["type"].startswith("union_tag"):
        location = ["kind"]
    field = ".".join(str(part) for part in location) or "the record"
    return _capital(f"{where}field {field}: {_what_and_how(item, message)}.")


def _what_and_how(item: Any, message: str) -> str:
    kind, context = item["type"], item.get("ctx", {})
    got = _short(item["input"])
    if kind == "missing":
        return "missing; add it"
    if kind == "extra_forbidden":
        return f"got {got}, but there is no such field; check its spelling or take it out"
    if kind in ("greater_than_equal", "less_than_equal", "finite_number"):
        limits = _limits(item)
        slip = _decimal_slip(item)
        return f"got {got}; allowed is {limits}{slip}"
    if kind in ("literal_error", "union_tag_invalid"):
        expected = context.get("expected") or context.get("expected_tags")
        got = repr(context["tag"]) if "tag" in context else got
        return f"got {got}; allowed are {expected}; choose one of them"
    if kind == "union_tag_not_found":
        return 'missing; say what the record is, such as "kind": "point_trial"'
    if kind in ("int_type", "int_from_float", "int_parsing", "int_parsing_size"):
        return f"got {got}; allowed is a whole number; write it without a point and without quotes"
    if kind in ("float_type", "float_parsing"):
        comma = "; write 25.5 with a point, without a unit and without quotes"
        return f"got {got}; allowed is a number{comma}"
    if kind in _FORMS:
        return f"got {got}; allowed is {_FORMS[kind]}"
    if kind == "string_too_long":
        return f"got {got}; allowed are {context['max_length']} letters; say it in fewer words"
    if kind == "too_long":
        most = context["max_length"]
        return f"got {context['actual_length']} records; allowed are {most}; give others a case"
    return f"got {got}; {message[0].lower()}{message[1:]}; correct it"


_BRACES = "a pair of braces with names and values in it; see the evidence schema"
_FORMS = {
    "dict_type": _BRACES,
    "model_type": _BRACES,
    "model_attributes_type": _BRACES,
    "tuple_type": "a list; write it in square brackets",
    "string_type": "text; write it in quotes",
    "string_too_short": "at least one letter; say it in words",
    "bool_type": "true or false; write one of them without quotes",
}


def _limits(item: Any) -> str:
    context = item.get("ctx", {})
    if "ge" in context:
        return f"{context['ge']:g} or more"
    if "le" in context:
        return f"{context['le']:g} or less"
    return "a finite number (write null, or leave the field out, where nothing was measured)"


def _decimal_slip(item: Any) -> str:
    """A number ten times too large has most likely lost its decimal point."""
    value, context = item["input"], item.get("ctx", {})
    if isinstance(context.get("le", context.get("ge")), int):
        return "; check the number and the sign"
    # One of hundreds of digits cannot be divided.
    slipped = "le" in context and value <= 10 * context["le"]
    if slipped and _allows(item["loc"], value / 10):
        return f"; check the decimal point: {value / 10:g}?"
    return "; check the decimal point and the sign"


def _allows(location: Sequence[str | int], value: float) -> bool:
    """Whether the field of a record at this place of a case would take the value."""
    fields = {kind.model_fields["kind"].default: kind.model_fields for kind in KINDS}
    *_, kind, name = location
    field = fields[kind][str(name)]
    form: Any = Annotated[field.annotation, field]
    try:
        TypeAdapter(form).validate_python(value)
    except ValidationError:
        return False
    return True


def _short(value: Any, longest: int = 60) -> str:
    text = repr(value)
    return text if len(text) <= longest else text[:longest] + "..."


def _capital(text: str) -> str:
    return text[:1].upper() + text[1:]


def one_of(allowed: Iterable[str]) -> str:
    """The allowed words as they stand in a message.

    >>> one_of(["case.json", "case.csv"])
    "'case.json', 'case.csv'"
    """
    return ", ".join(repr(word) for word in allowed)
