"""How suggestions kept for open cases fared: query, page, command and export agree.

Shares and sums are counted once more, from the suggestions as the store keeps them.
"""

import json
import math
import sys

import pytest
from fastapi.testclient import TestClient
from typer.testing import CliRunner

from analytics.rollup.publish import publish
from analytics.rollup.snapshot import current_snapshot
from analytics.statistics.intervals import binomial_interval
from dashboard.api.app import api
from dashboard.cli.main import cli, main
from dashboard.filters import Filters
from dashboard.place import VARIABLE
from dashboard.queries.suggestion_report import suggestion_report
from dashboard.queries.suggestion_report_fared import suggestions_fared
from dashboard.settings import Place
from ingest import store
from ingest.errors import UsageError
from ingest.pipeline import ingest_paths
from tests import scored_fleet, small_fleet
from tests.small_fleet import case, unit, write_rows

CLOSED, STAY_OPEN = 2, 3  # of the 25 open cases of the fleet


def kept(place):
    with store.open_for_reading(place.data / "store.duckdb") as connection:
        found = connection.execute("SELECT * FROM suggestions").df()
    return {row["case_id"]: row for row in found.to_dict("records")}


def settle(place, rows):
    file = write_rows(place.data / "settled.csv", rows)
    assert ingest_paths(place.data / "store.duckdb", [file]).exit_code == 0
    publish(
        place.data / "store.duckdb",
        place.data / "published",
        as_of=small_fleet.AS_OF,
    )
    return current_snapshot(place.published)


@pytest.fixture(scope="module")
def settled(tmp_path_factory):
    """Return a folder in which 20 cases were confirmed after a suggestion was kept."""
    place = Place(tmp_path_factory.mktemp("fared"))
    units, cases = scored_fleet.rows()
    small_fleet.published(place.data, units, cases)
    given = kept(place)
    rows = [row for row in cases if "confirmed_mode" not in row]
    closed, confirmed = rows[:CLOSED], rows[CLOSED : len(rows) - STAY_OPEN]
    settle(
        place,
        [
            *(row | {"closed_on": "2025-12-01"} for row in closed),
            *(
                row
                | {
                    # Every third was something that the suggester put second.
                    "confirmed_mode": given[row["case_id"]]["modes"][int(n % 3 == 0)],
                    "confirmed_on": "2025-12-01",
                }
                for n, row in enumerate(confirmed)
            ),
        ],
    )
    return place


@pytest.fixture
def fared(settled):
    return suggestions_fared(current_snapshot(settled.published), Filters())


def measures(answer):
    return {row["measure"]: row for row in answer.rows}


def test_what_became_of_each_suggestion_is_counted(fared):
    rows = measures(fared)

    found = {name: (row["n"], row["n_of"]) for name, row in rows.items()}
    assert found["kept"] == (25, 25)
    assert found["confirmed"] == (20, 25)
    assert found["open"] == (STAY_OPEN, 25)
    assert found["closed"] == (CLOSED, 25)
    assert found["late"] == (20, 20)  # the records are older than this test
    assert found["top_1"] == (13, 20)
    assert found["top_3"] == (20, 20)


def test_shares_of_those_confirmed_have_wilsons_limits(fared):
    for name in ("top_1", "top_3", "answered"):
        row = measures(fared)[name]
        assert row["value"] == row["n"] / row["n_of"]
        assert (row["low"], row["high"]) == binomial_interval(row["n"], row["n_of"])


def test_silent_and_answered_ones_make_up_all_and_few_get_no_share(fared, settled):
    rows = measures(fared)
    with_mode = {
        name for name, row in kept(settled).items() if row["is_enough"]
    } & confirmed_of(settled)

    answered, silent = rows["answered_top_1"], rows["silent_top_1"]

    assert answered["n_of"] == len(with_mode) == rows["answered"]["n"]
    assert answered["n_of"] + silent["n_of"] == 20
    assert answered["n"] + silent["n"] == rows["top_1"]["n"]
    for row in (answered, silent):
        assert (row["value"] is None) == (row["n_of"] < 10)


def confirmed_of(place):
    with store.open_for_reading(place.data / "store.duckdb") as connection:
        found = connection.execute(
            "SELECT case_id FROM repairs WHERE confirmed_mode IS NOT NULL"
        ).fetchall()
    return {name for (name,) in found}


def test_the_share_given_is_held_against_the_share_right(fared, settled):
    done = confirmed_of(settled)
    top = [
        row["probabilities"][0] for name, row in kept(settled).items() if name in done
    ]
    mean = math.fsum(top) / len(top)
    variance = math.fsum((p - mean) ** 2 for p in top) / (len(top) - 1)
    half = 1.959964 * math.sqrt(variance / len(top))

    given, less = (measures(fared)[name] for name in ("mean_given", "right_less_given"))

    assert given["value"] == pytest.approx(mean)
    assert given["high"] - given["value"] == pytest.approx(half)
    assert less["value"] == pytest.approx(13 / 20 - mean)
    chance = 1.959964 * math.sqrt(math.fsum(p * (1 - p) for p in top)) / len(top)
    assert less["by_chance"] == pytest.approx(chance)


def test_the_scores_made_afterwards_stand_beside(fared, settled):
    report = suggestion_report(current_snapshot(settled.published), Filters())
    top = next(row for row in report.rows if row["measure"] == "top_1")

    row = measures(fared)["top_1"]

    assert (row["afterwards_n"], row["afterwards_n_of"]) == (top["n"], top["n_of"])
    assert row["afterwards"] == top["value"]
    assert row["afterwards_low"] == top["low"]


def test_sentences_name_the_suggester_the_counts_and_what_was_taken_in_late(fared):
    said = " ".join(fared.more["sentences"])

    (by,) = fared.more["suggesters"]
    assert "25 suggestions kept for cases open at the time" in said
    assert by["suggester"] in said
    assert (by["n_kept"], by["n_confirmed"]) == (25, 20)
    assert "named first in 65 % (13; 95 % interval 43 to 82 %)" in said
    assert "20 of the 20 were confirmed, by the record, before" in said
    points = 100 * measures(fared)["right_less_given"]["by_chance"]
    assert f"share right of up to {points:.0f} points come about by chance" in said


def test_report_route_command_and_export_give_the_same(fared, settled, monkeypatch):
    monkeypatch.setenv(VARIABLE, str(settled.data))
    expected = json.loads(json.dumps(fared.document()))
    asked = ["--data", str(settled.data), "quality", "--suggestions"]

    with TestClient(api) as client:
        report = client.get("/suggestions").json()
        exported = client.get(
            "/export/suggestions-fared", params={"format": "json"}
        ).json()
    as_json = json.loads(CliRunner().invoke(cli, [*asked, "--json"]).stdout)
    shown = CliRunner().invoke(cli, asked).stdout

    assert report["fared"] == as_json["fared"] == exported["rows"] == expected["rows"]
    assert report["fared_sentences"] == expected["sentences"]
    assert fared.more["sentences"][1] in shown
    assert "given before the cause was known" in shown


def test_the_page_shows_the_table_and_the_sentences(settled, open_page, read):
    page = open_page("suggestions", of=settled)

    shown = read(page)

    assert (
        "How did suggestions fare that were given before the cause was known?" in shown
    )
    assert "named first in 65 % (13; 95 % interval 43 to 82 %)" in shown
    (table,) = [t.value for t in page.dataframe if "afterwards" in t.value.columns]
    row = table.set_index("label").loc["named first"]
    assert (row["value"], row["interval"]) == ("65 %", "43 to 82 %")
    assert row["n_of"] == 20
    assert row["afterwards"].endswith("%")


def test_filters_are_refused(settled):
    with pytest.raises(UsageError, match="scored as a whole"):
        suggestions_fared(
            current_snapshot(settled.published), Filters(model=["Model A"])
        )


def test_too_few_confirmed_since_are_counted_and_no_share_is_given(
    tmp_path, open_page, read, monkeypatch, capsys
):
    place = Place(tmp_path)
    units = [unit(f"A{n:03}") for n in range(20)]
    cases = [case(f"R{n:03}", f"A{n:03}") for n in range(14)]
    small_fleet.published(place.data, units, cases)
    snapshot = settle(
        place,
        [
            row | {"confirmed_mode": "fuse_open", "confirmed_on": "2025-07-01"}
            for row in cases[:9]
        ],
    )

    found = suggestions_fared(snapshot, Filters())
    shown = read(open_page("suggestions", of=place))

    few = "Not enough yet to say how they fared: 9 of the 10 confirmed cases needed."
    assert few in found.more["sentences"]
    assert few in shown
    assert all(row["value"] is None for row in found.rows)
    monkeypatch.setattr(
        sys, "argv", ["mendfleet", "--data", str(tmp_path), "quality", "--suggestions"]
    )
    with pytest.raises(SystemExit):
        main()
    assert "confirmed cases" in capsys.readouterr().err


def test_with_none_kept_the_next_publish_is_named(tmp_path):
    cases = [
        case(f"R{n:03}", f"A{n:03}", confirmed_mode="fuse_open") for n in range(12)
    ]
    units = [unit(f"A{n:03}") for n in range(12)]

    snapshot = small_fleet.published(tmp_path, units, cases)

    (sentence,) = suggestions_fared(snapshot, Filters()).more["sentences"]
    assert sentence.startswith("No suggestion is kept yet")
