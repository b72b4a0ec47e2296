# How nbgrader grades a class: answers are read, never run.
#
# "lengthwise new-class" puts a copy of this file into every class folder; nbgrader and its form
# view read it from there. Everything it sets is in lengthwise/classroom/grading_config.py.
from pathlib import Path

from lengthwise.classroom.grading_config import configure

configure(get_config(), Path(__file__).parent)
