"""The watch on the command line: the list, its exit code, and notes."""

import datetime as dt
import json

import pytest
from typer.testing import CliRunner

from dashboard.cli.main import cli
from dashboard.queries import watch as watch_query
from ingest import store
from ingest.alarms import alarm_notes
from ingest.errors import NotFoundError, StoreBusyError, UsageError
from tests.watch_answers import (
    LOT,
    OLD,
    SUPPLIER,
    alarm_row,
    store_with,
    watch_answer,
)


@pytest.fixture
def folder(tmp_path):
    return store_with(tmp_path, SUPPLIER, LOT)


@pytest.fixture
def answering(monkeypatch):
    """Return a function that sets what the watch answers."""

    def answers(*rows, **more):
        monkeypatch.setattr(
            watch_query,
            "watch",
            lambda _place, filters, *, only_new=False: watch_answer(
                rows, filters=filters, only_new=only_new, **more
            ),
        )

    return answers


def run(folder, *words):
    done = CliRunner().invoke(cli, ["--data", str(folder), "watch", *words])
    if done.exception and not isinstance(done.exception, SystemExit):
        raise done.exception
    return done


def test_the_list_says_what_how_much_and_on_what_evidence(folder, answering):
    answering(alarm_row(SUPPLIER, severity="critical"), alarm_row(LOT))

    done = run(folder)

    assert done.exit_code == 0
    lines = done.stdout.splitlines()
    first, second = (
        next(n for n, line in enumerate(lines) if line.startswith(f"{key.alarm}  "))
        for key in (SUPPLIER, LOT)
    )
    assert first < second
    for word in ("critical", "Ostrel", "2025-01", "14", "4.90", "2.86", "1.60 to 5.10"):
        assert word in lines[first], word
    assert "Set to about 2 false alarms a year over the whole fleet" in done.stdout
    assert "14 failures in 3 months where about 4.9 were expected." in done.stdout
    assert "Associated with this supplier; compare the joints." in done.stdout
    assert "A ratio is that at the alarm, which tends to read high" in done.stdout
    assert "since the alarm" not in done.stdout
    assert "nothing here is a verdict" in done.stdout
    assert "Region is not recorded for half of the units." in done.stdout
    assert "not enough data to watch" in done.stdout
    assert "within a year): 3 groups" in done.stdout


def test_from_the_month_after_an_alarm_the_months_since_are_told(folder, answering):
    answering(
        alarm_row(
            SUPPLIER, n_after=1, expected_after=2.0, ratio_after=0.5, low_after=0.1,
            high_after=2.2, state="under_action", note="asked",
            noted_on=dt.date(2025, 5, 2),
        ),
        alarm_row(LOT, n_after=0, expected_after=0.4),
        alarm_row(OLD, n_after=0, expected_after=0.0),
    )  # fmt: skip

    text = run(folder).stdout

    assert (
        f"{SUPPLIER.alarm}: since the alarm 1 failure, 2.00 expected; ratio 0.500 "
        "(0.100 to 2.20).\n" in text
    )
    assert f"{LOT.alarm}: since the alarm 0 failures, 0.400 expected.\n" in text
    assert f"{OLD.alarm}: since the alarm" not in text
    assert f"{SUPPLIER.alarm}, noted 2025-05-02: asked\n" in text
    assert "under action: 1; new: 2" in text


def test_new_alarms_alone_are_listed_and_give_their_exit_code(folder, answering):
    answering(alarm_row(SUPPLIER, state="acknowledged"), alarm_row(LOT))

    done = run(folder, "--new", "--exit-code")

    assert done.exit_code == 3
    assert SUPPLIER.alarm not in done.stdout
    assert LOT.alarm in done.stdout
    assert run(folder, "--exit-code").exit_code == 3
    assert run(folder, "--new").exit_code == 0


def test_without_a_new_alarm_the_exit_code_is_0(folder, answering):
    answering(alarm_row(SUPPLIER, state="acknowledged"))

    done = run(folder, "--new", "--exit-code")

    assert done.exit_code == 0
    assert "No new alarm.\n" in done.stdout
    assert run(folder, "--exit-code").exit_code == 0


def test_where_nothing_can_be_watched_the_reason_stands_there(folder, answering):
    answering(can_watch=False, why_not="The records reach over 5 months.")

    done = run(folder)

    assert "The records reach over 5 months." in done.stdout
    assert "No alarm stands" not in done.stdout
    assert "not enough data to watch" not in done.stdout


def test_under_filters_that_no_alarm_meets_none_is_said_to_be_among_them(
    folder, answering
):
    answering()

    done = run(folder, "--lot", "L9")

    assert "No alarm that stands has a case under these filters.\n" in done.stdout
    assert "No alarm stands.\n" not in done.stdout


def test_where_no_alarm_stands_that_is_said_with_the_past(folder, answering):
    answering(past=[alarm_row(OLD, state="closed")])

    done = run(folder)

    assert "No alarm stands.\n" in done.stdout
    assert "alarms closed, or older than 12 months: 1\n" in done.stdout


def test_the_document_is_the_answer_under_the_filters(folder, answering):
    answering(alarm_row(SUPPLIER), alarm_row(LOT, state="closed"))

    document = json.loads(run(folder, "--json", "--new", "--model", "A").stdout)

    assert document["filters"] == {"model": ["A"]}
    assert document["asked"] == {"new": True}
    assert document["false_alarms_per_year"] == 2.0
    (row,) = document["rows"]
    assert row["alarm"] == SUPPLIER.alarm
    assert row["first_seen_on"] == "2025-04-02"


def test_what_is_new_is_not_guessed_while_the_store_is_busy(folder, answering):
    answering(alarm_row(SUPPLIER))

    with store.open_for_writing(folder / "store.duckdb"):
        assert run(folder).exit_code == 0
        for words in (["--new"], ["--exit-code"]):
            with pytest.raises(StoreBusyError):
                run(folder, *words)


def test_a_note_is_kept_and_shown_as_stored(folder):
    done = run(
        folder,
        "note",
        SUPPLIER.alarm,
        "--state",
        "closed",
        "--text",
        "call a@b.example",
    )

    assert done.exit_code == 0
    assert done.stdout == f"{SUPPLIER.alarm}: closed\ncall [e-mail]\n"
    assert "were masked" in done.stderr
    (note,) = alarm_notes(folder / "store.duckdb")
    assert (note.state, note.text) == ("closed", "call [e-mail]")
    assert dt.datetime.now(dt.UTC).replace(tzinfo=None) - note.noted_at < dt.timedelta(
        minutes=5
    )


def test_the_settings_say_whether_a_note_is_masked(folder):
    (folder / "mendfleet.toml").write_text("mask_personal_data = false\n")

    done = run(
        folder, "note", LOT.alarm, "--state", "acknowledged", "--text", " a@b.example "
    )

    assert done.stdout == f"{LOT.alarm}: acknowledged\na@b.example\n"
    assert done.stderr == ""


def test_a_note_needs_no_text_unless_it_closes(folder):
    done = run(folder, "note", LOT.alarm, "--state", "under_action")

    assert done.stdout == f"{LOT.alarm}: under_action\n"
    with pytest.raises(UsageError, match="closed with a word"):
        run(folder, "note", LOT.alarm, "--state", "closed")


def test_an_unknown_alarm_names_the_nearest(folder):
    with pytest.raises(NotFoundError) as raised:
        run(folder, "note", LOT.alarm[:-1] + "x", "--state", "closed", "--text", "x")

    assert "The nearest is 2025-03-" in raised.value.hint


@pytest.mark.parametrize(
    "words", [["--new"], ["--exit-code"], ["--json"], ["--model", "A"]]
)
def test_options_of_the_list_are_not_lost_before_a_note(folder, words):
    with pytest.raises(UsageError, match="stand before `note`"):
        run(folder, *words, "note", LOT.alarm, "--state", "new")


def test_new_alarms_are_sent_and_a_failure_is_said_on_the_side(
    folder, answering, monkeypatch
):
    answering(alarm_row(SUPPLIER))
    (folder / "mendfleet.toml").write_text(
        '[webhook]\nurl = "https://receiver.example/"\n'
    )
    monkeypatch.delenv("MENDFLEET_WEBHOOK_SECRET", raising=False)

    done = run(folder, "--new", "--json")

    assert done.exit_code == 0
    assert json.loads(done.stdout)["rows"]
    assert "webhook: nothing was sent" in done.stderr
    assert run(folder).stderr == ""


def test_publish_sends_new_alarms_and_never_fails_for_it(folder, monkeypatch):
    asked = []

    def send_new(place):
        asked.append((place.data, (place.published / "CURRENT").exists()))
        return "webhook: it answered 500."

    monkeypatch.setattr("dashboard.webhook.send_new", send_new)

    done = CliRunner().invoke(
        cli, ["--data", str(folder), "publish", "--as-of", "2025-03-31"]
    )

    assert done.exit_code == 0
    assert asked == [(folder, True)]
    assert "webhook: it answered 500.\n" in done.stderr
