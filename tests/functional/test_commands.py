"""The command `mendfleet` on files: what it prints, and the code it ends with."""

import json
import subprocess
import sys
from pathlib import Path

import pytest
from typer.testing import CliRunner

from dashboard.cli import main as command
from dashboard.cli.main import cli
from dashboard.filters import Filters
from dashboard.queries import life, modes
from ingest import store
from tests.small_fleet import case, published, unit, write_rows


def run(place, *words):
    """Run the command as a process would, and return code, stdout and stderr."""
    data = getattr(place, "data", place)
    done = CliRunner().invoke(cli, ["--data", str(data), *words])
    if done.exception and not isinstance(done.exception, SystemExit):
        raise done.exception
    return done


def ended(monkeypatch, capsys, *words):
    """Run the whole command with its answer to errors; return code and stderr."""
    monkeypatch.setattr(sys, "argv", ["mendfleet", *map(str, words)])
    with pytest.raises(SystemExit) as stopped:
        command.main()
    return stopped.value.code or 0, capsys.readouterr().err


def test_page_route_and_command_give_the_same_numbers(place, snapshot):
    printed = json.loads(run(place, "modes", "--json", "--component", "handle").stdout)
    lives = json.loads(run(place, "life", "--json").stdout)

    assert printed == modes.modes(snapshot, Filters(component=("handle",))).document()
    assert lives == life.life(snapshot, Filters()).document()


def test_every_report_says_that_the_data_are_invented(place):
    for words in (["modes"], ["life"], ["quality"], ["rejected"]):
        assert "invented data" in run(place, *words).stdout


def test_a_table_that_uses_no_filter_states_none(place, tmp_path):
    out = tmp_path / "quality.json"

    run(place, "export", "quality", "--out", str(out), "--component", "handle")

    assert json.loads(out.read_text("utf-8"))["filters"] == {}


def test_a_life_report_names_what_is_left_out(place):
    shown = run(place, "life", "--distribution", "exponential").stdout

    assert "exponential scale" in shown
    assert "left out:" in shown


def test_suggest_shows_the_caution_first_and_nothing_live(place):
    shown = run(place, "suggest", "--symptom", "stops_when_cable_moved").stdout

    assert shown.startswith("CAUTION: Qualified persons only")
    assert "Mains present" not in shown


def test_case_and_unit_show_their_history(place, snapshot):
    first = snapshot.ask("cases", Filters().parameters(), chosen="chosen_cases").iloc[0]

    case_shown = run(place, "case", first["case_id"]).stdout
    unit_shown = run(place, "unit", first["serial"], "--json").stdout

    assert f"Case {first['case_id']}" in case_shown
    assert json.loads(unit_shown)["rows"][0]["serial"] == first["serial"]


def test_ingest_prints_what_happened_to_the_rows(tmp_path):
    file = write_rows(tmp_path / "units.csv", [unit("U-001"), unit("!")])

    done = run(tmp_path / "data", "ingest", str(file), "--json")

    row = json.loads(done.stdout)["rows"][0]
    assert done.exit_code == 1
    assert (row["read"], row["accepted"], row["rejected"]) == (2, 1, 1)
    assert row["problems"] == {"serial": {"bad_pattern": 1}}
    assert "mendfleet rejected" in done.stderr


def test_the_whole_path_from_files_to_an_answer(tmp_path):
    units = write_rows(tmp_path / "u.csv", [unit(f"U-{n:03}") for n in range(9)])
    repairs = write_rows(
        tmp_path / "r.csv",
        [
            case(
                f"R{n}",
                f"U-{n:03}",
                received_on=f"2025-0{n + 2}-01",
                confirmed_mode="contactor_welded",
            )
            for n in range(4)
        ],
    )

    taken = run(tmp_path, "ingest", str(units), str(repairs))
    shown = run(tmp_path, "publish")
    answer = json.loads(run(tmp_path, "modes", "--json").stdout)

    assert (taken.exit_code, shown.exit_code) == (0, 0)
    assert shown.stdout.strip() == answer["snapshot"]
    assert answer["as_of"] == "2025-05-01"
    assert answer["rows"][0]["n_cases"] == 4


def test_a_dry_run_stores_nothing(tmp_path):
    file = write_rows(tmp_path / "units.csv", [unit("U-001")])

    run(tmp_path / "data", "ingest", "--dry-run", str(file))

    assert store.origin(tmp_path / "data" / "store.duckdb") is None


def test_rows_set_aside_go_out_corrected_and_come_back(tmp_path):
    file = write_rows(tmp_path / "units.csv", [unit("U-001"), unit("U-002", phases=2)])
    run(tmp_path, "ingest", str(file))
    out = tmp_path / "to-correct.csv"
    run(tmp_path, "rejected", "--out", str(out))
    out.write_text(out.read_text("utf-8-sig").replace(",2,", ",3,"), "utf-8")

    done = run(tmp_path, "ingest", str(out))

    assert done.exit_code == 0
    assert json.loads(run(tmp_path, "rejected", "--json").stdout)["rows"] == []
    assert "none" in run(tmp_path, "rejected").stdout


def test_export_writes_the_table_with_its_filters(place, tmp_path):
    out = tmp_path / "modes.csv"

    run(place, "export", "modes", "--out", str(out), "--component", "handle")

    assert "component: handle" in out.read_text("utf-8-sig")


@pytest.mark.parametrize(
    ("words", "code", "says"),
    [
        (["modes", "--mode", "nonsense_mode"], 2, "is not known"),
        (["case", "NONE"], 16, "There is no case NONE"),
        (["unit", "NONE-1"], 16, "There is no unit NONE-1"),
        (["life", "--model", "No Such Model"], 15, "The data cannot answer yet"),
        (["export", "nothing", "--out", "x.csv"], 16, "There is no table nothing"),
        (["export", "modes", "--out", "x.pdf"], 2, "can be written as"),
        (
            ["export", "modes", "--out", "x.csv", "--csv-dialect", "pipe"],
            2,
            "CSV dialect pipe",
        ),
        (["suggest", "--reading", "proved_dead"], 2, "is not CHECK"),
        (["suggest", "--symptom", "stops_when_cable_move"], 2, "the nearest is"),
        (["ingest", "missing.csv"], 10, "missing.csv"),
    ],
)
def test_an_error_is_two_lines_with_a_code_of_its_own(
    place, monkeypatch, capsys, words, code, says
):
    ended_with, err = ended(monkeypatch, capsys, "--data", place.data, *words)

    assert ended_with == code
    assert says in err
    assert "Traceback" not in err


def test_without_a_store_there_is_a_code_and_what_to_do(tmp_path, monkeypatch, capsys):
    code, err = ended(monkeypatch, capsys, "--data", tmp_path, "publish")

    assert code == 13
    assert "ingest" in err


def test_without_figures_there_is_a_code_and_what_to_do(tmp_path, monkeypatch, capsys):
    write_rows(tmp_path / "units.csv", [unit("U-001")])
    run(tmp_path, "ingest", str(tmp_path / "units.csv"))

    code, err = ended(monkeypatch, capsys, "--data", tmp_path, "modes")

    assert code == 14
    assert "mendfleet publish" in err


def test_without_returns_the_day_must_be_named(tmp_path, monkeypatch, capsys):
    write_rows(tmp_path / "units.csv", [unit("U-001")])
    run(tmp_path, "ingest", str(tmp_path / "units.csv"))

    code, err = ended(monkeypatch, capsys, "--data", tmp_path, "publish")

    assert code == 2
    assert "--as-of" in err


def test_complete_through_moves_the_day_the_data_speak_for(tmp_path):
    write_rows(tmp_path / "units.csv", [unit("U-001")])
    write_rows(tmp_path / "repairs.csv", [case("R1", "U-001")])

    run(
        tmp_path, "ingest", "--complete-through", "2025-06-30",
        str(tmp_path / "units.csv"), str(tmp_path / "repairs.csv"),
    )  # fmt: skip

    assert run(tmp_path, "publish").stdout.startswith("2025-06-30-")


def test_the_demo_runs_from_files_to_answers_and_runs_again(tmp_path):
    first = run(tmp_path, "demo", "--units", "120", "--no-serve")
    again = run(tmp_path, "demo", "--units", "150", "--seed", "2", "--no-serve")

    assert first.exit_code == again.exit_code == 0
    assert "An invented fleet" in first.stdout
    assert "http://127.0.0.1:8501/life" in first.stdout
    assert (tmp_path / "files" / "repairs.xlsx").exists()


def test_the_demo_refuses_a_store_it_did_not_make(tmp_path, monkeypatch, capsys):
    published(tmp_path, [unit("U-001")], [])
    before = (tmp_path / "store.duckdb").read_bytes()

    code, err = ended(monkeypatch, capsys, "--data", tmp_path, "demo", "--no-serve")

    assert code == 2
    assert "did not make" in err
    assert (tmp_path / "store.duckdb").read_bytes() == before


def test_the_demo_refuses_its_own_store_once_it_holds_other_files(
    tmp_path, monkeypatch, capsys
):
    run(tmp_path, "demo", "--units", "60", "--no-serve")
    file = write_rows(tmp_path / "mine" / "units.csv", [unit("U-001")])
    run(tmp_path, "ingest", str(file))

    code, _ = ended(monkeypatch, capsys, "--data", tmp_path, "demo", "--no-serve")

    assert code == 2


def test_the_demo_uses_a_folder_of_its_own(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    monkeypatch.delenv("MENDFLEET_DATA", raising=False)

    CliRunner().invoke(cli, ["demo", "--units", "60", "--no-serve"])

    assert (tmp_path / "demo-data" / "store.duckdb").exists()


def test_the_command_is_installed_and_helps():
    command_file = Path(sys.executable).with_name("mendfleet")

    done = subprocess.run(
        [command_file, "--help"], check=True, capture_output=True, text=True
    )

    assert "what to check first" in " ".join(done.stdout.split())


def test_an_ingest_tells_what_was_found_in_each_file(tmp_path):
    text = "case_id,serial,received_on,symptom_text,Extra\n" + "".join(
        f"R{n},U-00{n},{day},call 0171 2345678,x\n"
        for n, day in enumerate(("2026-01-02", "2026-01-03", "2. Jan."))
    )
    (tmp_path / "r.csv").write_text(text, encoding="utf-8")

    done = run(tmp_path / "data", "ingest", str(tmp_path / "r.csv"))

    told = [line.split()[1:] for line in done.stdout.splitlines()]
    assert ["serial", "unknown_serial", "2"] in told
    assert ["symptom_text", "personal_data_masked", "3"] in told
    assert ["received_on", "not_a_date", "1"] in told
    assert ["Extra", "unknown_column", "3"] in told


def test_publish_says_when_the_figures_speak_for_a_day_to_come(tmp_path):
    rows = "case_id,serial,received_on\nR1,U-001,2925-06-02\n"
    (tmp_path / "repairs.csv").write_text(rows)
    run(tmp_path, "ingest", str(tmp_path / "repairs.csv"))

    told = run(tmp_path, "publish")

    assert told.exit_code == 0
    assert "2925-06-02, which is still to come" in told.stderr
    assert "to come" not in run(tmp_path, "publish", "--as-of", "2925-06-02").stderr
