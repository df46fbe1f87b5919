"""`mendfleet modes` and its tables as files: the numbers of the query, in short."""

import csv
import json

from typer.testing import CliRunner

from analytics.rollup.snapshot import current_snapshot
from dashboard import text
from dashboard.cli.main import cli
from dashboard.filters import Filters
from dashboard.queries.modes import modes
from dashboard.queries.repeats import repeats
from dashboard.settings import Place
from tests import small_fleet


def run(place, *words):
    done = CliRunner().invoke(cli, ["--data", str(place.data), *words])
    if done.exception and not isinstance(done.exception, SystemExit):
        raise done.exception
    assert done.exit_code == 0, done.stderr
    return done.stdout


def test_the_table_holds_rate_and_change_of_each_mode(place, snapshot):
    answer = modes(snapshot, Filters())
    first = answer.rows[0]
    change = answer.more["change"]
    changed = next(r for r in change["rows"] if r["mode"] == first["mode"])

    shown = run(place, "modes")

    head = next(row for row in shown.splitlines() if row.startswith("mode "))
    assert "per 1 000 unit-years" in head
    assert "now before ratio of rates adjusted p" in " ".join(head.split())
    line = next(row for row in shown.splitlines() if row.startswith(first["mode"]))
    limits = text.interval(first["rate_low"], first["rate_high"])
    assert f"{text.estimate(first['rate'])} ({limits})" in line
    ratio = f"{text.TIMES}{text.estimate(changed['ratio'])}"
    limits = text.interval(changed["low"], changed["high"])
    counts = [text.count(changed[name]) for name in ("n_now", "n_before")]
    p = text.p_value(changed["adjusted_p"])
    beside = [*counts, *f"{ratio} ({limits})".split(" "), p]
    assert " ".join(beside) in " ".join(line.split())
    for sentence in (
        answer.more["rate_basis"]["sentence"],
        change["sentence"],
        repeats(snapshot, Filters()).more["sentence"],
    ):
        assert sentence in shown


def test_without_a_rate_the_columns_are_gone_and_the_reason_is_there(tmp_path):
    units = [small_fleet.unit("A001", in_service_on="")]
    cases = [small_fleet.case("R1", "A001", confirmed_mode="handle_pilot_open")]
    small_fleet.published(tmp_path, units, cases)

    shown = run(Place(tmp_path), "modes")

    assert "unit-years" not in shown
    # Said once, though rates and change both fail for it.
    assert shown.count("nobody knows how many were in service") == 1


def test_a_mode_that_was_not_there_before_says_so_and_notes_stand_below(tmp_path):
    units = [small_fleet.unit(f"A{n:03}", site="One Yard") for n in range(9)]
    days = ["2025-03-01", "2025-10-01", "2025-10-02"]
    cases = [
        small_fleet.case(
            f"R{n}", f"A{n:03}", received_on=day,
            confirmed_mode="contactor_welded" if n else "no_fault_found",
        )
        for n, day in enumerate(days)
    ]  # fmt: skip
    small_fleet.published(tmp_path, units, cases)

    shown = run(Place(tmp_path), "modes")

    changed = modes(current_snapshot(tmp_path / "published"), Filters()).more["change"]
    row = next(r for r in changed["rows"] if r["mode"] == "contactor_welded")
    assert (row["n_now"], row["n_before"]) == (2, 0)
    line = next(x for x in shown.splitlines() if x.startswith("contactor_welded"))
    limits = f"none before ({text.estimate(row['low'])} or more)"
    assert f"2 0 {limits} {text.p_value(row['adjusted_p'])}" in " ".join(line.split())
    assert "note: One site has most of the cases: One Yard, 3 of 3" in shown


def test_a_table_of_the_page_is_exported_as_it_is(place, snapshot, tmp_path):
    rows = modes(snapshot, Filters(region=())).more["groups"]["cable_supplier"]

    run(place, "export", "modes-by-cable-supplier", "--out", str(tmp_path / "t.csv"))
    run(place, "export", "modes-repeats", "--out", str(tmp_path / "t.json"))

    with (tmp_path / "t.csv").open(encoding="utf-8-sig", newline="") as file:
        written = list(csv.DictReader(file))
    assert [row["value"] for row in written] == [row["value"] for row in rows]
    assert float(written[0]["standardised"]) == rows[0]["standardised"]
    assert written[0]["data"] == "invented data"
    back = json.loads((tmp_path / "t.json").read_text("utf-8"))
    assert back["rows"] == repeats(snapshot, Filters()).document()["rows"]
    assert back["method"] == repeats(snapshot, Filters()).method
