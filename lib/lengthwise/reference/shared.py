"""What is worked out once and handed to everybody: nobody may write into it."""

from dataclasses import fields, is_dataclass
from typing import TypeVar

import numpy as np

Shared = TypeVar("Shared")


def read_only(value: Shared) -> Shared:
    """The same value, with all its arrays closed to writing.

    For what a cache keeps: an array, or a tuple or dataclass that holds some, however deep.

    Examples
    --------
    >>> kept = read_only(np.zeros(3))
    >>> kept[0] = 1.0
    Traceback (most recent call last):
        ...
    ValueError: assignment destination is read-only
    """
    if isinstance(value, np.ndarray):
        value.setflags(write=False)
    elif isinstance(value, tuple):
        for each in value:
            read_only(each)
    elif is_dataclass(value):
        for field in fields(value):
            read_only(getattr(value, field.name))
    return value
