"""Data quality, files and problems: counted by hand on a few rows."""

import pytest

from analytics.rollup.publish import publish
from analytics.rollup.snapshot import current_snapshot
from analytics.statistics.intervals import binomial_interval
from dashboard.filters import Filters
from dashboard.queries.quality import left_out, part, quality
from dashboard.settings import Place
from ingest.pipeline import ingest_paths
from ingest.quarantine import rejected_rows
from ingest.upkeep.undo import undo
from tests import small_fleet
from tests.small_fleet import case, unit


@pytest.fixture
def taken_in(tmp_path):
    """Return a function that takes files of rows in, in order, and publishes them."""
    place = Place(tmp_path)

    def answer(*files, filters=None):
        for number, rows in enumerate(files):
            file = small_fleet.write_rows(tmp_path / f"file{number}.csv", rows)
            ingest_paths(place.store, [file])
        publish(place.store, place.published, as_of=small_fleet.AS_OF)
        return quality(current_snapshot(place.published), filters or Filters())

    return answer


def wrong(serial, day="soon"):
    return unit(serial, in_service_on=day)


def test_every_file_balances_and_shows_the_share_set_aside_with_its_interval(taken_in):
    answer = taken_in(
        [unit("A001"), unit("A002"), wrong("A003"), unit("A002")],
        [unit("A001"), unit("A002", site="Harbour"), unit("A004")],
    )

    first, second = answer.more["files"]
    names = ["n_read", "n_accepted", "n_unchanged", "n_replaced", "n_rejected"]
    assert [first[name] for name in names] == [4, 2, 1, 0, 1]
    assert [second[name] for name in names] == [3, 1, 1, 1, 0]
    low, high = binomial_interval([1, 0], [4, 3])
    assert [row["share_rejected"] for row in (first, second)] == [0.25, 0]
    assert [row["low"] for row in (first, second)] == pytest.approx(low)
    assert [row["high"] for row in (first, second)] == pytest.approx(high)


def test_all_files_together_add_up(taken_in):
    total = taken_in([unit("A001"), wrong("A003")], [unit("A002")]).more["total"]

    assert total["n_files"] == 2
    assert total["n_read"] == 3
    assert total["n_rejected"] == 1
    assert total["share_rejected"] == pytest.approx(1 / 3)


def test_a_file_of_a_header_alone_has_no_share(taken_in, tmp_path):
    (tmp_path / "empty.csv").write_text("serial,model\n")
    ingest_paths(Place(tmp_path).store, [tmp_path / "empty.csv"])

    empty, _ = taken_in([unit("A001")]).more["files"]

    assert empty["n_read"] == 0
    assert empty["share_rejected"] is None
    assert empty["low"] is None


def test_problems_come_most_rows_first_over_all_files_with_what_to_do(taken_in):
    answer = taken_in(
        [unit("A001"), wrong("A002"), unit("A003", model="")],
        [wrong("A004"), wrong("A005")],
    )

    problems = answer.more["problems"]
    assert [(p["field"], p["code"], p["n_rows"], p["n_files"]) for p in problems] == [
        ("in_service_on", "not_a_date", 3, 2),
        ("model", "missing", 1, 1),
    ]
    assert "YYYY-MM-DD" in problems[0]["what_to_do"]
    assert [row["n_rows"] for row in answer.rows] == [1, 1, 2]


def test_a_problem_has_up_to_three_examples_the_newest_file_first(taken_in):
    answer = taken_in(
        [wrong("A001", "lately"), wrong("A002")],
        [wrong(f"B00{n}", f"day {n}") for n in range(2)],
    )

    (problem,) = answer.more["problems"]
    examples = [(e["row_no"], e["cell"]) for e in problem["examples"]]
    assert examples == [(2, "day 0"), (3, "day 1"), (2, "lately")]
    assert problem["examples"][0]["file"].endswith("file1.csv")
    assert problem["examples"][0]["message"] == (
        "must be a day as YYYY-MM-DD, got 'day 0'"
    )


def test_an_example_of_an_empty_cell_has_none_and_a_long_one_is_cut(taken_in):
    long = "x" * 80
    answer = taken_in([unit("A001", model=""), unit("A002", site=long)])

    cells = {p["field"]: p["examples"][0]["cell"] for p in answer.more["problems"]}
    assert cells == {"model": None, "site": "x" * 59 + "…"}


def test_a_row_corrected_since_is_an_example_only_after_those_that_wait(
    taken_in, tmp_path
):
    place = Place(tmp_path)
    taken_in([wrong("A001"), wrong("A002")])
    (tmp_path / "again.csv").write_text(_corrected(place, "A001"))
    ingest_paths(place.store, [tmp_path / "again.csv"])

    (problem,) = taken_in([unit("C001")]).more["problems"]

    assert [(e["row_no"], e["is_corrected"]) for e in problem["examples"]] == [
        (3, False),
        (2, True),
    ]


def _corrected(place, serial):
    names = {r.cells["serial"]: r.rejected_row for r in rejected_rows(place.store)}
    header = "serial,model,in_service_on,rejected_row"
    return f"{header}\n{serial},Model A,2025-01-01,{names[serial]}\n"


def test_a_file_taken_back_is_left_out_with_its_problems_and_examples(
    taken_in, tmp_path
):
    taken_in([unit("A001")], [wrong("A002")])
    undo(Place(tmp_path).store, 2)

    answer = taken_in()

    assert [row["batch"] for row in answer.more["files"]] == [1]
    assert answer.more["problems"] == []
    assert part(answer, "examples").rows == []
    assert "taken back" in answer.method


def test_notices_stand_apart_from_problems(taken_in):
    answer = taken_in([unit("A001", paint="red"), wrong("A002")])

    kinds = {(p["code"], p["is_notice"]) for p in answer.more["problems"]}
    assert kinds == {("unknown_column", True), ("not_a_date", False)}
    assert [row["code"] for row in part(answer, "problems").rows] == ["not_a_date"]


def test_filters_choose_no_files_and_are_stated_with_the_parts_about_cases(taken_in):
    filters = Filters.of({"model": ["Model B"]})
    answer = taken_in([unit("A001"), wrong("A002")], filters=filters)

    assert answer.more["total"]["n_read"] == 2
    assert part(answer, "files").filters == Filters()
    assert part(answer, "months").filters == filters


def test_units_without_life_data_are_listed_with_the_reason(taken_in, tmp_path):
    taken_in([unit("A001"), unit("A002", in_service_on="")], [case("R1", "A001")])

    units = left_out(current_snapshot(Place(tmp_path).published))

    assert list(units.rows) == [{"serial": "A002", "reason": "no_dates"}]
