"""Student ids as people type them: capitals and spaces around them make no difference."""

import unicodedata


def folded_id(student_id: str) -> str:
    """What two spellings of the same id have in common.

    >>> folded_id(" Student-01 ") == folded_id("student-01")
    True
    """
    return unicodedata.normalize("NFC", student_id).strip().casefold()
