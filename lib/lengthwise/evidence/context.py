"""What is known of a tooth besides lengths."""

from typing import Literal

from pydantic import BaseModel, ConfigDict


class Context(BaseModel):
    """What is known of the tooth besides lengths. What is left out (None) widens the answer."""

    model_config = ConfigDict(frozen=True, extra="forbid", strict=True)

    pulp: Literal["vital", "necrotic", "previously_treated"] | None = None
    apex: Literal["closed", "resorbed", "immature"] | None = None
    lesion: bool | None = None
    near_nerve_or_sinus: bool | None = None
    obstruction: Literal["none", "ledge", "block", "filling", "instrument"] | None = None
    crown: Literal["intact", "worn", "prepared"] | None = None
    communication: Literal["none", "perforation_suspected", "sinus_suspected"] | None = None
