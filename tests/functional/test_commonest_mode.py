"""Which mode was confirmed most often, in the same sentence on page and command."""

import pytest
from typer.testing import CliRunner

from dashboard.cli.main import cli
from dashboard.settings import Place
from tests import small_fleet

PILOT, WELDED, NOTHING = "handle_pilot_open", "contactor_welded", "no_fault_found"
FUSE, RELAY = "fuse_open", "contactor_not_closing"


@pytest.fixture
def said(tmp_path, open_page, read):
    """Return the sentence for given confirmed modes, the same in both places."""

    def said(*modes):
        place = Place(tmp_path)
        cases = [
            small_fleet.case(f"R{n}", f"A{n:03}", confirmed_mode=mode)
            for n, mode in enumerate(modes)
        ]
        units = [small_fleet.unit(f"A{n:03}") for n in range(9)]
        small_fleet.published(tmp_path, units, cases)
        printed = CliRunner().invoke(cli, ["--data", str(tmp_path), "modes"])
        assert printed.exit_code == 0
        sentence = printed.stdout.splitlines()[2]
        assert sentence in read(open_page("modes", of=place))
        return sentence

    return said


def test_the_commonest_is_named_with_share_interval_and_rate(said):
    # 2 of 3, exact limits of Clopper and Pearson (1934): 9.4 to 99.2 %.
    sentence = said(PILOT, PILOT, WELDED)

    assert sentence.startswith("Most often: ")
    assert "2 of 3 confirmed cases (67 %, 95 % interval 9 to 99 %); " in sentence
    assert sentence.endswith("2 cases in complete months).")


def test_no_mode_stands_out_where_two_are_equally_common(said):
    # 1 of 3, exact limits of Clopper and Pearson (1934): 0.8 to 90.6 %. What is no
    # failure of the unit is no rival.
    sentence = said(PILOT, WELDED, NOTHING)

    assert sentence.startswith("No mode stands out: ")
    assert sentence.endswith(
        "have 1 of 3 confirmed cases each (33 %, 95 % interval 1 to 91 %)."
    )
    assert sentence.count("; ") == 1
    assert "Most often" not in sentence


def test_of_many_equally_common_modes_three_are_named(said):
    assert " and 1 more have 1 of 4 confirmed cases each" in said(
        PILOT, WELDED, FUSE, RELAY
    )


@pytest.mark.parametrize("modes", [(NOTHING,), ("",)])
def test_without_a_failure_there_is_none_to_name(said, modes):
    assert said(*modes) == (
        "No failure of a unit is confirmed among these returns yet."
    )
