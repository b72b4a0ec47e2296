"""How a tooth is named in a question."""

from lengthwise.reference.tables import tooth


def named(fdi: str) -> str:
    """Name, FDI and Universal number, as a sentence begins with them.

    >>> named("13")
    'An upper right canine (tooth 13, Universal 6)'
    """
    about = tooth(fdi)
    return f"An {about.name} (tooth {fdi}, Universal {about.universal})".replace("An l", "A l")
