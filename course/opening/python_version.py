"""Which Python will do.

The syntax is old on purpose: an old Python must be able to read it, to say that it is too old.
"""

import os
import sys

OLDEST = (3, 11)
NEWEST_TESTED = (3, 14)


def python_problem(version, is_64_bit=True, search_path=None):
    """Say what is wrong with a Python of this version, or return None."""
    name = "{0}.{1}".format(version[0], version[1])
    if tuple(version[:2]) < OLDEST:
        words = "Lengthwise needs Python {0}.{1} or later, and this is Python {2} ({3}).\n".format(
            OLDEST[0], OLDEST[1], name, sys.executable
        )
        newer = newer_python(os.environ.get("PATH", "") if search_path is None else search_path)
        if newer:
            return words + "There is a newer one here. Type:  {0} course/start.py".format(newer)
        return words + "Install a newer one from https://www.python.org/downloads/ and start again."
    if not is_64_bit:
        return (
            "This is a 32-bit Python, and the numerical packages are made for 64-bit ones.\n"
            "Install the 64-bit Python from https://www.python.org/downloads/ and start again."
        )
    return None


def newer_python(search_path):
    """Return the name of a Python on the search path that is new enough, or None."""
    for minor in range(NEWEST_TESTED[1], OLDEST[1] - 1, -1):
        name = "python3.{0}".format(minor)
        for folder in search_path.split(os.pathsep):
            if os.path.isfile(os.path.join(folder, name)):
                return name
    return None
