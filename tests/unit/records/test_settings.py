"""The settings of a collection: their file explains itself, and its mistakes are pointed at."""

from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st
from pydantic import ValidationError

from archive.errors import UnreadableFile
from archive.records.house import HouseRules
from archive.records.settings import (
    Checking,
    CollectionSettings,
    Publishing,
    read_settings,
    write_settings,
)

FILE = Path("collection.toml")
LINES = st.text(st.characters(exclude_categories=["Cs"]), max_size=20)


@given(
    name=st.text(st.characters(exclude_categories=["C", "Z"]), min_size=1, max_size=20),
    holder=LINES,
    credit_line=LINES,
    language=st.sampled_from(["en", "de-CH", "zh-Hant"]),
    pictures=st.sampled_from(["where rights allow", "never"]),
    wraps=st.floats(0.5, 50),
    pairs=st.integers(0, 9),
    percent=st.floats(0, 100),
)
def test_settings_are_read_back_as_they_were_written(
    name: str,
    holder: str,
    credit_line: str,
    language: str,
    pictures: str,
    wraps: float,
    pairs: int,
    percent: float,
) -> None:
    settings = CollectionSettings(
        name=name,
        holder=holder,
        language=language,
        publishing=Publishing.model_validate({"pictures": pictures, "credit_line": credit_line}),
        house=HouseRules(torchon_wraps_low=wraps, foot_edge_pairs=pairs),
        checking=Checking(width_percent=percent),
    )
    assert read_settings(write_settings(settings), FILE) == settings


def test_the_file_explains_every_setting() -> None:
    lines = write_settings(CollectionSettings(name="Guild")).splitlines()
    settings = [number for number, line in enumerate(lines) if " = " in line and line[0] != "#"]
    explained = [number for number in settings if lines[number - 1].startswith("#")]
    # The name and the holder share one explanation.
    assert len(explained) == len(settings) - 1
    tables = (Publishing, HouseRules, Checking)
    assert len(settings) == 3 + sum(len(table.model_fields) for table in tables)


def test_what_is_left_out_has_its_usual_value() -> None:
    assert read_settings('name = "Guild"', FILE) == CollectionSettings(name="Guild")


@pytest.mark.parametrize(
    ("text", "reason"),
    [
        ('name = "Guild', "line 1 is not valid TOML (Unterminated string)"),
        ('name = "Guild"\n\nholder = Us', "line 3 is not valid TOML (Invalid value)"),
        ("", "name: is missing"),
        ('name = ""', "line 1, name: is missing"),
        (
            'name = "Guild"\nlanguage = "english language"',
            "line 2, language: “english language” is not a language code such as en, nl or de-CH",
        ),
        (
            'name = "Guild"\n[house] # ours\n\n  torchon_wraps_low = 0',
            "line 4, torchon_wraps_low: must be more than 0",
        ),
        (
            '# pictures = 1\nname = "Guild"\n[publishing]\npictures = "always"',
            "line 4, pictures: must be 'where rights allow' or 'never'",
        ),
        (
            'name = "Guild"\nhuose = 1',
            "line 2, huose: is not known",
        ),
    ],
)
def test_a_mistake_is_pointed_at_by_its_line(text: str, reason: str) -> None:
    with pytest.raises(UnreadableFile) as refusal:
        read_settings(text, FILE)
    assert refusal.value.reason == reason
    assert refusal.value.problem == f"“collection.toml” cannot be read: {reason}."


@pytest.mark.parametrize(
    "tag",
    [
        "de", "fr", "zh-Hant", "zh-cmn-Hans-CN", "zh-yue-HK", "sr-Latn-RS", "sl-rozaj-biske",
        "de-CH-1901", "hy-Latn-IT-arevela", "en-US", "es-419", "de-CH-x-phonebk",
        "az-Arab-x-AZE-derbend", "en-US-u-islamcal", "zh-CN-a-myext-x-private",
    ],
)  # fmt: skip
def test_well_formed_language_tags_are_taken(tag: str) -> None:
    """The examples of RFC 5646, appendix A."""
    assert CollectionSettings(name="Guild", language=tag).language == tag


@pytest.mark.parametrize("tag", ["de-419-DE", "a-DE", "", "en_GB", "english please", "en-"])
def test_other_language_tags_are_not(tag: str) -> None:
    """The first two are among the invalid examples of RFC 5646, appendix A."""
    with pytest.raises(ValidationError, match="is not a language code"):
        CollectionSettings(name="Guild", language=tag)
