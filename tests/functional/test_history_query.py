"""One unit: the state of its warranty, and what that rests on."""

import pytest

from dashboard.queries import history
from dashboard.settings import Place
from ingest.pipeline import Care, ingest_paths
from ingest.upkeep.undo import undo
from tests.small_fleet import case, unit, write_rows


def asked(tmp_path, **fields):
    place = Place(tmp_path)
    file = write_rows(tmp_path / "units.csv", [unit("U-001", **fields)])
    ingest_paths(place.store, [file])
    return history.unit(place, "u-001").rows[0]


@pytest.mark.parametrize(
    ("fields", "until", "basis"),
    [
        ({"warranty_months": 24}, "2027-01-01", "of the unit"),
        (
            {"in_service_on": "2024-01-31", "warranty_months": 1},
            "2024-02-29",
            "of the unit",
        ),
        (
            {"in_service_on": "2024-12-15", "warranty_months": 12},
            "2025-12-15",
            "of the unit",
        ),
        (
            {"warranty_months": 6, "warranty_extended_to": "2028-05-05"},
            "2028-05-05",
            "extended",
        ),
        ({}, None, "not known"),
    ],
)
def test_the_warranty_of_a_unit_and_what_it_rests_on(tmp_path, fields, until, basis):
    row = asked(tmp_path, **fields)

    assert (row["warranty_until"], row["warranty_basis"]) == (until, basis)


def test_the_term_of_the_model_is_taken_from_the_settings(tmp_path):
    (tmp_path / "mendfleet.toml").write_text(
        '[models."Model A"]\nwarranty_months = 36\n'
    )

    row = asked(tmp_path)

    assert (row["warranty_until"], row["warranty_basis"]) == (
        "2028-01-01",
        "of the model",
    )


def test_a_unit_known_only_from_its_case_has_no_row_of_its_own(tmp_path):
    place = Place(tmp_path)
    ingest_paths(place.store, [write_rows(tmp_path / "r.csv", [case("R1", "U-9")])])

    answer = history.unit(place, "U-9")

    assert answer.rows == []
    assert [row["case_id"] for row in answer.more["cases"]] == ["R1"]


def test_an_older_version_of_a_case_is_shown_beside_the_one_that_stands(tmp_path):
    place = Place(tmp_path)
    old = write_rows(tmp_path / "old.csv", [case("R1", "U-001")])
    new = write_rows(
        tmp_path / "new.csv", [case("R1", "U-001", confirmed_mode="fuse_open")]
    )
    ingest_paths(place.store, [old])
    ingest_paths(place.store, [new])

    answer = history.case(place, "R1")

    assert answer.rows[0]["confirmed_mode"] == "fuse_open"
    assert [row["confirmed_mode"] for row in answer.more["versions"]] == [
        None,
        "fuse_open",
    ]


def test_of_each_version_the_file_and_the_changed_fields_are_told(tmp_path):
    place = Place(tmp_path)
    for name, mode, text in (("a", "", ""), ("b", "fuse_open", "dead"), ("c", "", "")):
        row = case("R1", "U-001", confirmed_mode=mode, symptom_text=text, shelf=name)
        file = write_rows(tmp_path / f"{name}.csv", [row])
        ingest_paths(place.store, [file], care=Care(keep_unknown=name == "b"))

    versions = history.case(place, "R1").more["versions"]

    assert [(row["batch"], row["changed"]) for row in versions] == [
        (1, None),
        (2, "symptom_text, confirmed_mode"),
    ]
    assert versions[1]["file"].endswith("b.csv")
    assert [row["unknown_columns"] for row in versions] == [None, "shelf: b"]


def test_a_version_of_a_file_taken_back_is_not_shown(tmp_path):
    place = Place(tmp_path)
    for name, model in (("a", "A"), ("b", "B")):
        file = write_rows(tmp_path / f"{name}.csv", [unit("U-001", model=model)])
        ingest_paths(place.store, [file])

    undo(place.store, 2)

    answer = history.unit(place, "U-001")
    assert [row["batch"] for row in answer.more["versions"]] == [1]
    assert answer.rows[0]["model"] == "A"
