"""A class, from the list of its students to the page that each of them gets back.

The only code that knows nbgrader. An instructor makes a class (`new_class`), hands it out
(`release`, `pack`), collects (`collect`, `inbound`), grades (`workers`, `mark_step`), gives back
(`feedback`) and looks at the class (`marks_table`, `report`). A student takes an assignment in
(`take_in`), answers (`worksheet`) and hands in (`hand_in`). Answers are read, never run
(`read_answers`).
"""
