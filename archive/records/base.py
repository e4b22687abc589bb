"""What all records of the catalogue have in common."""

from __future__ import annotations

from pydantic import BaseModel, ConfigDict


class Record(BaseModel):
    """The base of all records: unchanging, without unknown fields, its words without margins."""

    model_config = ConfigDict(frozen=True, extra="forbid", str_strip_whitespace=True)

    def __eq__(self, other: object) -> bool:
        """Whether both say the same; records have nothing beside their fields.

        Leaving out what pydantic compares besides makes saving a record twice as fast, since
        fields that are as they are by default are not saved (benchmarks/importing.py).
        """
        return self is other or (type(self) is type(other) and self.__dict__ == other.__dict__)

    def __hash__(self) -> int:
        """Equal records have equal hashes."""
        return hash((type(self), *self.__dict__.values()))
