"""Spellings offered as one: what is paired, and above all what is not."""

import tomllib

import pytest

from ingest.mapping import mapping_lines, parse_mapping, spelling_variants


@pytest.mark.parametrize(
    ("one", "other"),
    [
        ("Ostrel", "OSTREL"),
        ("Ostrel", "ost rel"),
        ("Ostrel", "Ostrel "),
        ("Ost-Rel", "Ostrel"),
        ("L2301", "L-2301"),
        ("L2301", "l 2301"),
        ("L23-01", "L23/01"),
        ("L2301", "L23O1"),
        ("L2310", "L231o"),
        ("L2311", "L23I1"),
        ("1231", "123l"),
        ("Ostrel", "Ostrell"),
        ("Ostrel", "Ostel"),
        ("Ostrel", "Ostral"),
        ("Ostrel", "Osrtel"),
        ("Ostrel 12", "Ostrell 12"),
        ("Größe", "Grösse"),
    ],
)
def test_spellings_that_one_hand_makes_of_one_name_are_paired(one, other):
    groups = spelling_variants({one: 10, other: 2})

    assert [(group.proposed, group.counts) for group in groups] == [
        (one, {one: 10, other: 2})
    ]


@pytest.mark.parametrize(
    ("one", "other"),
    [
        ("L2301", "L2302"),
        ("L2301", "L2031"),
        ("L2301", "L23011"),
        ("LA2301", "LB2301"),
        ("L2-301", "L23-01"),
        ("1.0", "10"),
        ("V2.1", "V21"),
        ("Type A", "Type B"),
        ("TypeA", "TypeB"),
        ("Series A", "Series B"),
        ("Nova", "Nora"),
        ("Ostrel", "Westrel"),
        ("Ostrel 11", "Ostrell 12"),
        ("-", "--"),
    ],
)
def test_values_that_may_well_be_two_things_are_not_paired(one, other):
    assert spelling_variants({one: 10, other: 2}) == []


def test_a_slipped_letter_needs_the_other_spelling_to_be_much_commoner():
    assert spelling_variants({"Marten": 400, "Martin": 380}) == []
    assert spelling_variants({"Marten": 400, "Martin": 81}) == []
    assert spelling_variants({"Marten": 400, "Martin": 80}) != []


def test_groups_come_with_the_most_rows_first_and_propose_the_commonest_spelling():
    groups = spelling_variants(
        {"b-1": 2, "B1": 1, "Ostrel": 3, "OSTREL": 5, "ost rel": 3, "": 9, "alone": 7}
    )

    assert [(group.proposed, list(group.counts)) for group in groups] == [
        ("OSTREL", ["OSTREL", "Ostrel", "ost rel"]),
        ("b-1", ["b-1", "B1"]),
    ]


def test_a_group_is_offered_as_lines_that_a_mapping_takes():
    groups = spelling_variants({'Ost "rel"': 9, "ostrel": 2, "OSTREL": 1, "ost rel": 1})

    lines = mapping_lines("cable_supplier", *groups)

    assert lines == (
        "[codes.cable_supplier]\n"
        r'"ostrel" = "Ost \"rel\""'
        "\n"
        r'"ost rel" = "Ost \"rel\""'
    )
    change = parse_mapping(lines, name="m.toml").changes("cable_supplier")
    assert {change(word) for word in groups[0].counts} == {'Ost "rel"'}


def test_several_groups_of_one_field_share_one_table():
    groups = spelling_variants({"Ostrel": 9, "OSTREL": 1, "Wend": 5, "w-end": 1})

    lines = mapping_lines("cable_supplier", *groups)

    assert tomllib.loads(lines) == {
        "codes": {"cable_supplier": {"OSTREL": "Ostrel", "w-end": "Wend"}}
    }
