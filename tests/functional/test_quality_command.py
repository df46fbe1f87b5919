"""The command for data quality: what it prints for those who have no page open."""

from typer.testing import CliRunner

from dashboard.cli.main import cli
from tests import small_fleet
from tests.small_fleet import case, unit


def printed(folder):
    done = CliRunner().invoke(cli, ["--data", str(folder), "quality"])
    assert done.exit_code == 0, done.output
    return done.stdout


def test_problems_come_with_what_to_do_and_delays_with_their_count(place):
    shown = printed(place.data)

    assert "Use a code of the list" in shown
    assert "confirmed modes backed: " in shown
    assert "within days" in shown
    assert "readings kept whose case is not known yet: 1 (1 case)" in shown


def test_what_the_data_make_one_ask_and_spellings_are_printed(tmp_path):
    units = [unit("A001", site="Harbour"), unit("A002", site="HARBOUR")]
    cases = [case("R1", "A001"), case("R2", "A002"), case("R3", "X9X")]
    small_fleet.published(tmp_path, units, [*cases, case("R4", "X8X")])

    shown = printed(tmp_path)

    assert "asked: The register holds mainly returned units" in shown
    assert "Nothing is merged by guess" in shown
    assert "[codes.site]" in shown
    assert "repairs kept whose unit is not known yet: 2 (2 units)" in shown
    assert "within days" not in shown
