"""What a pattern, an attachment, a measurement, a right and a finding are: models without I/O."""

from archive.records.attachment import SHOWN_RIGHT, Attachment, AttachmentRole
from archive.records.change import Change
from archive.records.entry import Entry, Measured
from archive.records.finding import Finding
from archive.records.pattern import (
    Condition,
    Correction,
    Designer,
    Difficulty,
    Gimps,
    Internal,
    PairCount,
    PairEstimate,
    Pairs,
    Pattern,
    Relation,
    Size,
    Source,
    TechniqueUse,
    Thread,
    UnparsedNote,
    WorkingNote,
)
from archive.records.rights import Right, Rights
from archive.records.written import Written

__all__ = [
    "SHOWN_RIGHT",
    "Attachment",
    "AttachmentRole",
    "Change",
    "Condition",
    "Correction",
    "Designer",
    "Difficulty",
    "Entry",
    "Finding",
    "Gimps",
    "Internal",
    "Measured",
    "PairCount",
    "PairEstimate",
    "Pairs",
    "Pattern",
    "Relation",
    "Right",
    "Rights",
    "Size",
    "Source",
    "TechniqueUse",
    "Thread",
    "UnparsedNote",
    "WorkingNote",
    "Written",
]
