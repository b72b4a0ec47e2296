"""The misconceptions that the course is built to find and undo, and what a student is told of each.

Words to the student say what the answers look like, never what the student is.
"""

from dataclasses import dataclass


@dataclass(frozen=True)
class Misconception:
    """One mistaken belief.

    Attributes
    ----------
    id : such as ``M7``, as in the keys of the items.
    belief : it, in a few words.
    look_as_if : what follows on "your answers look as if".
    again : what follows on "look again at", with the lesson.
    """

    id: str
    belief: str
    look_as_if: str
    again: str

    @property
    def told(self) -> str:
        """What a student is told of it.

        >>> MISCONCEPTIONS["M11"].told
        'Your answers look as if a narrow interval showed competence. Look again at how much ...'
        """
        return f"Your answers look as if {self.look_as_if}. Look again at {self.again}."


MISCONCEPTIONS: dict[str, Misconception] = {
    one.id: one
    for one in (
        Misconception(
            "M1",
            "the electronic number is the truth",
            "the electronic number were the truth",
            "what the other sources say of the reading, and at whether its signal came early "
            "(lesson 03, *Three signs*; lesson 06, *The source that does not belong*)",
        ),
        Misconception(
            "M2",
            "the radiographic apex is the foramen",
            "the end of the root on the radiograph were the foramen",
            "the two landmarks: the canal usually ends short of the root's end, by an amount that "
            "the image hides (lesson 02, *What the front view hides*; lesson 06, *Each source on "
            "its own landmark*)",
        ),
        Misconception(
            "M3",
            "the average length is good enough",
            "the average length were good enough for this tooth",
            "how many teeth lie more than half a millimetre from their average, and how far the "
            "long ones do (lesson 01, *An average answers another question*)",
        ),
        Misconception(
            "M4",
            "the first wet length is the canal length",
            "the first wet length were the length of the canal",
            "where the mark on that point begins: the point is already past where liquid begins "
            "(lesson 04, *The procedure*)",
        ),
        Misconception(
            "M5",
            "leaving the point longer makes the mark more reliable",
            "a mark told more, the longer the point was held",
            "how much of a mark is creeping after one second and after five (lesson 04, *What "
            "contact time costs*)",
        ),
        Misconception(
            "M6",
            "drifting repeats can be averaged",
            "repeats that drift could be averaged",
            "what moves the mark from one point to the next: each point takes liquid away (lesson "
            "05, *A point is a sponge*)",
        ),
        Misconception(
            "M7",
            "every source deserves the same weight",
            "every source deserved the same weight",
            "what one odd source does to a plain mean: it moves towards the odd one, and weighing "
            "moves away from it (lesson 06, *Drop one source and watch*)",
        ),
        Misconception(
            "M8",
            "a stable trace is an accurate trace",
            "a steady reading were an accurate one",
            "what a wide foramen, or the last liquid of a dried canal, does to a reading that "
            "shows all three signs (lesson 03, *Steady, and yet not right*)",
        ),
        Misconception(
            "M9",
            "a little past is better than the same amount short",
            "a little past were better than the same amount short",
            "how steeply the cost rises past the foramen (lesson 06, *The part past the foramen*; "
            "lesson 07, *The loss of this course*)",
        ),
        Misconception(
            "M10",
            "bleeding is washed out; its cause need not be found",
            "bleeding could be washed out and its cause left alone",
            "what makes a prepared canal bleed, and what each cause asks for (lesson 05, *Bleeding "
            "is a sign before it is a nuisance*)",
        ),
        Misconception(
            "M11",
            "a narrow interval shows competence",
            "a narrow interval showed competence",
            "how much room “right nine times in ten” needs, even where sources agree (lesson 06, "
            "*Repeats that do not add what they seem to*)",
        ),
        Misconception(
            "M12",
            "any point or instrument reaches any length",
            "any point or instrument reached any length",
            "what stays outside for stop and fingers, and what binds on its way (lesson 07, *The "
            "long canine, step by step*)",
        ),
        Misconception(
            "M13",
            "a dry point means I am still short",
            "a dry point always meant that you are still short",
            "when a dry point says nothing: one that sticks, or a blocked canal, is dry at any "
            "length (lesson 04, *When a dry point is no evidence*)",
        ),
        Misconception(
            "M14",
            "the numbers on the display are millimetres",
            "the numbers on the display were millimetres",
            "how unlike millimetres the steps of the display are in different canals (lesson 03, "
            "*Only the foramen signal is a landmark*)",
        ),
        Misconception(
            "M15",
            "a length once found stays right",
            "a length once found stayed right",
            "what a lost cusp and a straightened curve take off a length (lesson 06, *A reference "
            "that was lost between visits*)",
        ),
        Misconception(
            "M16",
            "any wet or blood marks the foramen",
            "any wet or blood marked the foramen",
            "where on the point a mark has to begin before it tells a length (lesson 05, *Wet does "
            "not mean the end*)",
        ),
    )
}
"""All sixteen, by id."""
