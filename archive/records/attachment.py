"""What the collection knows of one attached file."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field

from archive.records.base import Record
from archive.records.rights import Part

AttachmentRole = Literal["pricking", "working diagram", "photograph", "worked sample", "other"]

SHOWN_RIGHT: dict[str, Part] = {
    "pricking": "pricking",
    "working diagram": "working_up",
    "photograph": "photograph",
    "worked sample": "photograph",
}
"""Which right a picture in a role falls under; a role without one is never published."""

Sha256 = Annotated[str, Field(pattern=r"^[0-9a-f]{64}$")]


class Attachment(Record):
    """An original file, stored by its SHA-256 and never changed."""

    sha256: Sha256
    file_name: Annotated[str, Field(min_length=1, max_length=255)] = Field(
        description="its name when it was attached, without folders"
    )
    media_type: Annotated[str, Field(max_length=100)]
    size_bytes: Annotated[int, Field(ge=0)]
    role: AttachmentRole = "pricking"
    sequence: Annotated[int, Field(ge=1)] = 1
    px_per_mm: Annotated[float, Field(gt=0, le=10_000)] | None = None
    scale_known_by: Literal["given", "embedded", "drawing-units", "unknown"] = "unknown"
    caption: Annotated[str, Field(max_length=2000)] = ""
    alternative_text: Annotated[str, Field(max_length=2000)] = ""

    @property
    def stored_name(self) -> str:
        """The path inside the collection's `files` folder, with forward slashes."""
        suffix = (
            self.file_name[self.file_name.rfind(".") :].lower() if "." in self.file_name else ""
        )
        safe = suffix if suffix[1:].isalnum() and len(suffix) <= 8 else ""
        return f"{self.sha256[:2]}/{self.sha256}{safe}"
