"""Who may do what with a pattern: four separate rights, each by a closed list of statements."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import AfterValidator, Field

from archive.records.base import Record
from archive.vocabulary import rights as rights_list

LONGEST_BASIS, LONGEST_LETTER = 2000, 200
"""Characters."""

Part = Literal["design", "working_up", "pricking", "photograph"]


def _listed(statement: str) -> str:
    if statement not in rights_list():
        known = ", ".join(term.id for term in rights_list())
        raise ValueError(f"“{statement}” is not on the list of rights ({known})")
    return statement


class Right(Record):
    """One right: its statement, who holds it and on what ground that is said."""

    statement: Annotated[str, AfterValidator(_listed)] = Field(
        description="id of schema/vocabulary/rights.yaml, each with its URI"
    )
    holder: Annotated[str, Field(max_length=500)] = ""
    basis: Annotated[str, Field(max_length=LONGEST_BASIS)] = Field(
        "", description="why the statement is believed to hold"
    )
    permission_letter: Annotated[str, Field(max_length=LONGEST_LETTER)] = Field(
        "", description="number of the letter on file; never published"
    )

    @property
    def allows_pictures(self) -> bool:
        """Whether a picture may be published: by the statement itself or by a letter on file."""
        pictures = rights_list()[self.statement].pictures
        return pictures == "yes" or (pictures == "with_permission" and bool(self.permission_letter))


class Rights(Record):
    """The four rights in a pattern; None where nobody has looked."""

    design: Right | None = None
    working_up: Right | None = None
    pricking: Right | None = None
    photograph: Right | None = None

    def allow_picture_of(self, part: Part) -> bool:
        """Whether a picture that shows `part` may be published.

        A picture of the pricking or of worked lace shows the design too, so the design must
        allow it as well. A right nobody has looked at allows nothing.
        """
        needed = {self.design, getattr(self, part)}
        return all(right is not None and right.allows_pictures for right in needed)
