"""Words that the tests of the store use again and again."""

from archive.records import Pattern
from archive.store import Collection, SaveCounts


def save(guild: Collection, *records: Pattern) -> SaveCounts:
    """Save records in a block of their own."""
    with guild.writing() as writer:
        return writer.save(records, how="added")


def named(shelfmark: str, title: str = "") -> Pattern:
    """A record that says no more."""
    return Pattern(shelfmark=shelfmark, title=title)
