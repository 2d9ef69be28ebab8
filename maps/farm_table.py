"""What every table of a farm file has in common."""

from pydantic import BaseModel, ConfigDict


class Table(BaseModel):
    """A table that takes no unknown key and does not change."""

    model_config = ConfigDict(frozen=True, extra="forbid", validate_default=False)
