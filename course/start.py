"""Start Lengthwise:  python3 course/start.py   (Windows:  py course\\start.py)

The first start makes an environment of its own and needs the internet; later ones take seconds.
Only the standard library is used. This file and opening/python_version.py keep to old syntax: an
old Python must be able to read them, to say that it is too old.
"""

import sys

from opening.python_version import python_problem

PROBLEM = python_problem(sys.version_info, sys.maxsize > 2**32)
if PROBLEM:
    sys.exit(PROBLEM)

if __name__ == "__main__":
    # Read only now: from here on the Python is new enough for what it says.
    from opening.program import main

    sys.exit(main())
