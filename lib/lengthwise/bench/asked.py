"""What was asked for, as it came: whether a number is within what can be, and is whole."""

from numbers import Integral, Real

from lengthwise.evidence.records import FILE_SIZES


def whole(value: object) -> bool:
    """Whether a number is whole by its kind, NumPy's among them.

    >>> whole(2), whole(2.0)
    (True, False)
    """
    return isinstance(value, Integral)


def _number(value: object) -> bool:
    return isinstance(value, Real) and not isinstance(value, bool)


def check_within(
    field: str, value: float, low: float, high: float, hint: str, *, only_whole: bool = False
) -> None:
    """Refuse a number that is outside, or missing, with a hint how to mend it.

    Examples
    --------
    >>> check_within("points", 0, 1, 20, "two or three are usual", only_whole=True)
    Traceback (most recent call last):
        ...
    ValueError: field points: got 0; allowed is a whole number from 1 to 20; two or three are usual
    """
    number = _number(value)
    # NaN is not within either.
    if not number or not low <= value <= high or (only_whole and not whole(value)):
        kind = "a whole number from " if only_whole else ""
        # A whole 15 and a 15.0 look alike unless the second keeps its point.
        came = f"{value:g}" if number and (not only_whole or whole(value)) else repr(value)
        raise ValueError(f"field {field}: got {came}; allowed is {kind}{low:g} to {high:g}; {hint}")


def check_file_size(size: int) -> None:
    """Refuse the size number of a file that is none."""
    check_within("file_size", size, *FILE_SIZES, "read it off the file", only_whole=True)
