"""What every model of the job and of the shop's tables shares: frozen, no unknown keys."""

from typing import Annotated

from pydantic import BaseModel, ConfigDict, Field

# Plain numbers and yes or no: what TOML writes as such and nothing else. Left alone, pydantic takes true for 1.
Number = Annotated[float, Field(strict=True, allow_inf_nan=False)]
Whole = Annotated[int, Field(strict=True)]
YesNo = Annotated[bool, Field(strict=True)]


class Row(BaseModel):
    """A frozen model that refuses keys it does not know."""

    # Models are built when first used: a review needs few of the catalogue's many.
    model_config = ConfigDict(frozen=True, extra="forbid", str_strip_whitespace=True, defer_build=True)


class Named(Row):
    """A row of a table: its name is its key in the file, and its figures have a source.

    Attributes:
        name: the key in the file.
        description: what it is, in a few words.
        source: where the figures are from; "from memory" where they are.
    """

    name: str
    description: str = ""
    source: str

    @property
    def told(self) -> str:
        """What it is, for a list: its description, or what its figures make of it."""
        return self.description
