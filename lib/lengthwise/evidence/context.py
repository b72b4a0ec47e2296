"""What is known of a tooth besides lengths."""

from typing import Literal

from pydantic import BaseModel, ConfigDict


class Context(BaseModel):
    """What is known of the tooth besides lengths; None where it was not recorded.

    Attributes
    ----------
    pulp : what a length that ends far short costs; not recorded lies between vital and necrotic.
    apex : resorbed and immature ones are a reason to ask.
    lesion : stands with the case for whoever reads it; nothing is worked out from it.
    near_nerve_or_sinus : ending past the foramen costs more; not recorded counts as no.
    obstruction, communication : whatever is not "none" is a reason to ask.
    crown : how far the tooth's average is trusted, and by how much it is shifted; not recorded, it
        is trusted as that of a worn crown and not shifted.
    """

    model_config = ConfigDict(frozen=True, extra="forbid", strict=True)

    pulp: Literal["vital", "necrotic", "previously_treated"] | None = None
    apex: Literal["closed", "resorbed", "immature"] | None = None
    lesion: bool | None = None
    near_nerve_or_sinus: bool | None = None
    obstruction: Literal["none", "ledge", "block", "filling", "instrument"] | None = None
    crown: Literal["intact", "worn", "prepared"] | None = None
    communication: Literal["none", "perforation_suspected", "sinus_suspected"] | None = None
