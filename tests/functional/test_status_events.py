"""What a charger reported by itself: from files to the evidence of its case."""

import datetime as dt
import json

import pytest

from analytics.rollup.publish import publish
from analytics.rollup.rules import LifeRules, ModelRules
from analytics.rollup.snapshot import current_snapshot
from dashboard.queries import history
from dashboard.settings import Place
from ingest.charger_events import charger_events
from ingest.pipeline import ingest_paths
from tests.small_fleet import AS_OF, case, unit, write_rows

LAG_DAYS = 5
RULES = LifeRules(models={"Model B": ModelRules(reporting_lag_days=LAG_DAYS)})


def status(serial, day, word, *, vendor=None, received=None):
    payload = {
        "connectorId": 1,
        "errorCode": word,
        "status": "Faulted",
        "timestamp": f"{day}T12:00:00Z",
    }
    if vendor:
        payload["vendorErrorCode"] = vendor
    return {
        "serial": serial,
        "received_at": f"{received or day}T12:00:01Z",
        "message": json.dumps([2, f"{day}-{word}", "StatusNotification", payload]),
    }


class Fleet:
    """One unit of each of two models, its cases, and what its charger sent."""

    def __init__(self, folder, cases, events):
        self.store = folder / "store.duckdb"
        self.published = folder / "published"
        files = {
            "units": [unit("U-1"), unit("U-2", model="Model B")],
            "repairs": cases,
            "status": events,
        }
        paths = [
            write_rows(folder / f"{name}.csv", rows) for name, rows in files.items()
        ]
        report = ingest_paths(self.store, paths)
        assert report.exit_code == 0, report

    def evidence(self, as_of=AS_OF):
        publish(self.store, self.published, as_of=as_of, rules=RULES)
        found = current_snapshot(self.published).ask("evidence")
        return {
            row["case_id"]: None if word != word else word  # noqa: PLR0124 - NaN
            for row in found.to_dict("records")
            for word in [row["charger_error_codes"]]
        }

    def events(self, case_id):
        found = charger_events(
            self.store, case_id, lag_days_of_model={"Model B": LAG_DAYS}
        )
        return [event["words"] for event in found]


@pytest.fixture
def fleet(tmp_path):
    return lambda cases, *events: Fleet(tmp_path, cases, events)


FAILED = {"failed_on": "2025-05-31"}  # received the day after


def test_json_lines_hold_one_wrapped_message_each(tmp_path):
    kept = status("U-1", "2025-05-20", "GroundFailure")
    wrapped = kept | {"message": json.loads(kept["message"])}
    lines = [
        json.dumps(wrapped),
        json.dumps(wrapped | {"message": [2, "m2", "StatusNotification", {}]}),
        json.dumps(wrapped | {"message": [3, "m3", {}]}),
        json.dumps(wrapped)[:40],
    ]
    file = tmp_path / "status.jsonl"
    file.write_text("\n".join(lines), encoding="utf-8")

    report = ingest_paths(tmp_path / "store.duckdb", [file]).files[0]

    assert (report.kind, report.read, report.accepted, report.rejected) == (
        "status", 4, 1, 3,
    )  # fmt: skip
    assert report.problems["message"] == {"malformed_message": 2}
    assert report.problems["serial"] == {"malformed_row": 1, "unknown_serial": 1}


@pytest.mark.parametrize(
    ("day", "fits"),
    [
        ("2025-04-30", False),
        ("2025-05-01", True),
        ("2025-05-31", True),
        ("2025-06-01", True),
        ("2025-06-02", False),
    ],
)
def test_a_word_of_the_30_days_before_the_failure_up_to_receipt_is_evidence(
    fleet, day, fits
):
    made = fleet([case("R1", "U-1", **FAILED)], status("U-1", day, "GroundFailure"))

    assert made.evidence() == {"R1": "GroundFailure" if fits else None}
    assert made.events("R1") == (["GroundFailure"] if fits else [])


def test_without_a_failure_day_the_reporting_lag_of_the_model_moves_the_window(fleet):
    made = fleet(
        [case("R1", "U-1"), case("R2", "U-2")],
        status("U-1", "2025-04-28", "WeakSignal"),
        status("U-2", "2025-04-28", "WeakSignal"),
    )

    assert made.evidence() == {"R1": None, "R2": "WeakSignal"}
    assert (made.events("R1"), made.events("R2")) == ([], ["WeakSignal"])


def test_words_reported_at_intake_come_first_and_none_comes_twice(fleet):
    made = fleet(
        [case("R1", "U-1", charger_error_codes="CX014;GroundFailure")],
        status("U-1", "2025-05-20", "OtherError", vendor="CX019"),
        status("U-1", "2025-05-21", "GroundFailure"),
        status("U-1", "2025-05-19", "HighTemperature"),
        status("U-1", "2025-05-22", "OtherError", vendor="CX019"),
    )

    assert made.evidence() == {
        "R1": "CX014;GroundFailure;HighTemperature;OtherError;CX019"
    }


def test_words_the_catalogue_does_not_know_stay_in_the_history_of_the_case(fleet):
    made = fleet(
        [case("R1", "U-1")],
        status("U-1", "2025-05-20", "OtherError", vendor="F 27"),
        status("U-1", "2025-05-21", "NoError"),
    )

    assert made.evidence() == {"R1": "OtherError"}
    assert made.events("R1") == ["OtherError;F 27", None]


def test_an_event_that_fits_two_cases_belongs_to_the_earlier(fleet):
    made = fleet(
        [
            case("R1", "U-1", received_on="2025-06-10", failed_on="2025-05-31"),
            case("R0", "U-1", received_on="2025-06-20", failed_on="2025-06-15"),
        ],
        status("U-1", "2025-06-05", "GroundFailure"),
        status("U-1", "2025-06-15", "WeakSignal"),
    )

    assert made.evidence() == {"R0": "WeakSignal", "R1": "GroundFailure"}
    assert made.events("R0") == ["WeakSignal"]


def test_events_of_another_unit_are_not_mixed_in(fleet):
    made = fleet([case("R1", "U-1")], status("U-2", "2025-05-20", "GroundFailure"))

    assert made.evidence() == {"R1": None}
    assert made.events("R1") == []


def test_an_event_received_after_the_day_the_data_speak_for_is_not_known_yet(fleet):
    late = status("U-1", "2025-05-20", "GroundFailure", received="2025-07-01")
    made = fleet([case("R1", "U-1")], late)

    assert made.evidence(dt.date(2025, 6, 30)) == {"R1": None}
    assert made.evidence(dt.date(2025, 7, 1)) == {"R1": "GroundFailure"}


def test_the_history_of_a_case_shows_what_its_charger_sent(fleet, tmp_path):
    (tmp_path / "mendfleet.toml").write_text(
        f'[models."Model B"]\nreporting_lag_days = {LAG_DAYS}\n'
    )
    sent = status("U-2", "2025-04-28", "OtherError", vendor="F 27")
    fleet([case("R2", "U-2")], sent)

    (shown,) = history.case(Place(tmp_path), "R2").more["charger_events"]

    assert shown == {
        "happened_at": "2025-04-28T12:00:00",
        "received_at": "2025-04-28T12:00:01",
        "action": "StatusNotification",
        "words": "OtherError;F 27",
        "message": sent["message"],
    }


def test_a_case_that_is_not_there_has_no_events(fleet):
    made = fleet([case("R1", "U-1")], status("U-1", "2025-05-20", "GroundFailure"))

    assert made.events("R2") == []
