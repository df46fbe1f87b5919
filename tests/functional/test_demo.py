"""The demo shows every kind of record, and labels that its readings back."""

import tomllib

import pytest
from typer.testing import CliRunner

from analytics.rollup.snapshot import current_snapshot
from dashboard.cli.main import cli
from dashboard.filters import Filters
from dashboard.settings import Place
from ingest.history import files_taken_in
from synthetic_data.scenario import MODELS


def demo(folder, *options):
    arguments = ["--data", str(folder), "demo", "--no-serve", *options]
    result = CliRunner().invoke(cli, arguments)
    assert result.exit_code == 0, result.output
    return result


@pytest.fixture(scope="module")
def place(tmp_path_factory):
    place = Place(tmp_path_factory.mktemp("demo"))
    demo(place.data, "--units", "1500")
    return place


def test_a_file_of_every_kind_is_taken_in(place):
    names = {name.rpartition("/")[2] for name in files_taken_in(place.store)}

    assert names == {
        "units.csv", "repairs.xlsx", "readings.csv", "shipments.csv",
        "planned_sales.csv", "usage.csv", "status.jsonl",
    }  # fmt: skip


def test_the_maker_s_values_of_every_model_are_settings(place):
    models = place.settings().models

    assert set(models) == {model.name for model in MODELS}
    for model in models.values():
        assert model.control_supply_v
        assert model.coil_ohm
        assert model.coil_v
        assert model.contactor_open_ohm


def test_settings_of_the_user_s_own_stay(tmp_path):
    own = 'failures_seen = "in_warranty"\n'
    (tmp_path / "mendfleet.toml").write_text(own, encoding="utf-8")

    demo(tmp_path, "--units", "60")

    assert tomllib.loads((tmp_path / "mendfleet.toml").read_text("utf-8")) == {
        "failures_seen": "in_warranty"
    }


def test_readings_back_what_the_maker_s_values_and_d_c_trips_are_needed_for(place):
    labels = current_snapshot(place.published).ask(
        "label_support", Filters().parameters(), chosen="chosen_cases"
    )

    for mode in ("no_fault_found", "vehicle_side_fault", "control_supply_failed"):
        found = labels.loc[labels["mode"] == mode, "support"]
        assert len(found) > 3
        assert set(found) == {"backed"}, mode


def test_what_chargers_sent_is_evidence_beside_what_was_told_at_intake(place):
    found = current_snapshot(place.published).ask("evidence")["charger_error_codes"]
    words = ";".join(found.dropna()).split(";")

    assert any("/" in word for word in words)
    assert "EVCommunicationError" in words
