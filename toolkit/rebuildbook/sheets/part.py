"""What every part of a sheet has in common."""

from __future__ import annotations

from pydantic import BaseModel, ConfigDict


class Part(BaseModel):
    """Base of every sheet part: unknown fields are errors, values do not change."""

    model_config = ConfigDict(extra="forbid", frozen=True, arbitrary_types_allowed=True)
