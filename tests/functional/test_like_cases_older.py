"""Like cases where the suggester does not rest on the figures shown: said in words."""

import pytest

from analytics.rollup import training
from analytics.rollup.publish import publish
from analytics.rollup.snapshot import current_snapshot
from dashboard.queries.like_cases import like_cases
from dashboard.queries.suggest import Intake
from dashboard.settings import Place, Settings
from ingest.errors import NotPublishedError
from ingest.pipeline import ingest_paths
from tests import small_fleet
from tests.small_fleet import case, unit, write_rows

MODE = "handle_pilot_open"
UNITS = [unit("A01"), unit("A02")]
CASES = [
    case(
        "R1",
        "A01",
        received_on="2025-05-01",
        symptoms="stops_when_cable_moved;breaker_trips",
        confirmed_mode=MODE,
    ),
    case(
        "R2",
        "A02",
        received_on="2025-06-01",
        symptoms="stops_when_cable_moved",
        confirmed_mode=MODE,
    ),
    case("R3", "A02", received_on="2025-07-01", confirmed_mode=MODE),
]


def listed(place, **words):
    answer = like_cases(
        current_snapshot(place.published), Intake.of(words), MODE, settings=Settings()
    )
    return [str(row["case_id"]) for row in answer.rows], answer


def test_where_the_suggester_is_older_than_the_figures_it_is_said(tmp_path):
    place = Place(tmp_path)
    many = [
        case(f"S{n:02}", "A01", symptoms="breaker_trips", confirmed_mode=MODE)
        for n in range(40)
    ]
    small_fleet.published(tmp_path, UNITS, [*CASES, *many])
    more = case("T1", "A02", symptoms="breaker_trips", confirmed_mode=MODE)
    ingest_paths(place.store, [write_rows(tmp_path / "more.csv", [more])])
    publish(place.store, place.published, as_of=small_fleet.AS_OF)

    found, answer = listed(place, symptom=["breaker_trips"])

    assert (answer.more["n_like"], len(found)) == (41, 42)
    assert "The bench counts 41: its suggester learned from" in answer.more["differs"]


def test_where_it_learned_from_the_newest_alone_it_is_said(tmp_path, monkeypatch):
    monkeypatch.setattr(training, "MOST_CASES", 2)
    place = Place(tmp_path)
    small_fleet.published(tmp_path, UNITS, CASES)

    found, answer = listed(place, symptom=["stops_when_cable_moved"])

    assert found == ["R2", "R1"]
    assert answer.more["n_like"] == 1
    assert "the newest" in answer.more["differs"]


def test_a_suggester_that_cannot_be_read_names_the_remedy(tmp_path):
    place = Place(tmp_path)
    snapshot = small_fleet.published(tmp_path, UNITS, CASES)
    (snapshot.suggester_folder / "suggester.json").unlink()

    with pytest.raises(NotPublishedError, match="no trained suggester"):
        listed(place, symptom=["breaker_trips"])
