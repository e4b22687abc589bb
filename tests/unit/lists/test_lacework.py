import pytest

from archive.lists.lacework import (
    find_technique,
    read_families,
    read_kind,
    techniques_reader,
    threads_reader,
)
from archive.lists.words import short_forms
from archive.vocabulary import techniques
from archive.wording import fold

practised = techniques_reader("practised")


def roles(words: str) -> dict[str, str]:
    value, remarks = practised(words)
    assert value is not None
    assert remarks == ()
    return {use.technique: use.role for use in value.uses}


def test_techniques_are_separated_as_people_do() -> None:
    expected = {"point_ground", "picot", "honeycomb_ring"}
    for words in (
        "point ground; picots, h'comb rings",
        "Point Ground, picots and honeycomb rings",
        "pt. ground / picots / h'comb rings",
        "pt ground\npicots\nhc rings",
        "point ground + picots & honeycomb ring",
    ):
        assert set(roles(words)) == expected


def test_a_name_that_contains_a_joining_word_stays_whole() -> None:
    assert set(
        roles("cloth stitch and twist; left and right picots, S or Z twist of the thread")
    ) == {
        "double_stitch",
        "left_right_picot",
        "s_z_twist",
    }


@pytest.mark.parametrize(
    ("short", "technique"),
    [
        ("c/s", "cloth_stitch"),
        ("h.s.", "half_stitch"),
        ("1/2 st", "half_stitch"),
        ("½ stitch", "half_stitch"),
        ("cloth", "cloth_stitch"),
        ("CTCT", "double_stitch"),
        ("h'comb", "honeycomb_ground"),
        ("pt grd", "point_ground"),
        ("dbl picots", "double_picot"),
        ("Halbschlag", "half_stitch"),
        ("linnenslag", "cloth_stitch"),
        ("square tallies", "square_tally"),
        ("CS", "cloth_stitch"),
        ("fond clair", "point_ground"),
    ],
)
def test_short_forms_and_other_languages_name_techniques(short: str, technique: str) -> None:
    assert find_technique(short) == technique


def test_no_short_form_is_a_name_of_another_technique() -> None:
    names = {fold(name): term.id for term in techniques() for _, name in term.names}
    for short, technique in short_forms("short_techniques").items():
        assert technique in techniques()
        assert names.get(short, technique) == technique


def test_roles_hold_until_the_next_one() -> None:
    assert roles("teaches: picots, tallies; uses: point ground; c/s. Optional: nook pins") == {
        "picot": "taught",
        "tally": "taught",
        "point_ground": "practised",
        "cloth_stitch": "practised",
        "nook_pin": "optional",
    }


def test_a_role_in_brackets_is_that_technique_s_own() -> None:
    assert roles("picots (new); gimp; nook pins (optional)") == {
        "picot": "taught",
        "gimp": "practised",
        "nook_pin": "optional",
    }


def test_no_gimp_says_that_there_is_none() -> None:
    value, remarks = practised("picots, no gimp")
    assert value is not None
    assert value.gimps is not None
    assert not value.gimps.any
    assert remarks == ()


def test_an_unknown_technique_is_kept_and_the_nearest_named() -> None:
    value, remarks = practised("picots, honycomb ring")
    assert value is not None
    assert [use.technique for use in value.uses] == ["picot"]
    assert [(about.code, about.kept) for about in remarks] == [
        ("unknown-technique", "honycomb ring")
    ]
    assert "“honeycomb ring”" in remarks[0].advice


def test_words_in_brackets_that_belong_to_no_name_are_kept() -> None:
    value, remarks = practised("honeycomb rings (6-pin); double (twisted) picot")
    assert value is not None
    assert [use.technique for use in value.uses] == ["honeycomb_ring", "double_picot"]
    assert [(about.code, about.kept) for about in remarks] == [
        ("words-left-over", "honeycomb rings (6-pin)")
    ]


def test_a_pattern_belongs_to_as_many_families_as_are_named() -> None:
    assert read_families("Bucks / Torchon, Beds").value == ("bucks", "torchon", "bedfordshire")
    assert read_families("Tüllgrundspitze").value == ("point_ground",)
    value, remarks = read_families("torchon, macramé")
    assert value == ("torchon",)
    assert [(about.code, about.kept) for about in remarks] == [("unknown-family", "macramé")]


def test_a_kind_is_one_of_the_vocabulary() -> None:
    assert read_kind("Hanky edging").value == "corner_edging"
    assert read_kind("edjing").remarks[0].code == "unknown-kind"


def test_a_thread_keeps_its_label_and_only_the_system_that_is_stated() -> None:
    threads, remarks = threads_reader(None)("80/2 linen; gimp: NeC 8/2 pearl")
    assert threads is not None
    ground, gimp = threads
    assert (ground.label, ground.system, ground.count, ground.plies) == ("80/2 linen", None, 80, 2)
    assert (gimp.label, gimp.use) == ("NeC 8/2 pearl", "gimp")
    assert remarks[0].code == "thread-without-system"


def test_commas_separate_threads_only_where_each_has_a_number() -> None:
    read = threads_reader(None)
    two, one = read("NeL 80/2, Ne 12/2 (gimp)").value, read("Egyptian cotton, Ne 60/2").value
    assert two is not None
    assert one is not None
    assert [(thread.label, thread.use) for thread in two] == [
        ("NeL 80/2", None),
        ("Ne 12/2", "gimp"),
    ]
    assert [thread.label for thread in one] == ["Egyptian cotton, Ne 60/2"]
