"""Reading the catalogue."""

import dataclasses

import pytest

from ingest import catalogue


def test_a_code_carries_its_label_definition_and_source():
    code = catalogue.codes("mechanisms")["corrosion"]
    assert code.label == "Corrosion"
    assert code.source.startswith("ISO 14224")


def test_a_list_that_does_not_exist_is_refused_with_those_that_do():
    with pytest.raises(ValueError, match=r"'colours'; there are components"):
        catalogue.codes("colours")


def test_rows_cannot_be_changed():
    check = catalogue.checks()["fuse_continuity"]
    with pytest.raises(dataclasses.FrozenInstanceError, match="minutes"):
        check.minutes = 0.0


def test_fixed_limits_are_numbers_and_others_are_none():
    checks = catalogue.checks()
    assert (checks["pilot_frequency"].low, checks["pilot_frequency"].high) == (
        980,
        1020,
    )
    assert (checks["fuse_continuity"].low, checks["fuse_continuity"].high) == (None, 1)
    assert (checks["pilot_duty"].low, checks["pilot_duty"].high) == (None, None)


def test_cells_that_are_empty_in_the_file_are_none_and_yes_is_true():
    checks = catalogue.checks()
    assert checks["fuse_continuity"].needs is None
    assert checks["fuse_continuity"].connector is None
    assert checks["earth_continuity"].gate is True
    assert checks["fuse_continuity"].gate is False


def test_a_list_is_read_once():
    assert catalogue.checks() is catalogue.checks()


def test_a_confirming_link_says_what_must_be_good_beside_it():
    link = next(
        link
        for link in catalogue.check_modes()
        if (link.check, link.mode) == ("pilot_continuity", "handle_pilot_open")
    )
    assert link.confirms
    assert "core_localisation" in link.beside


def test_dead_checks_stand_before_live_ones():
    hazards = [check.hazard for check in catalogue.checks().values()]
    first_live = hazards.index("live")
    proved_dead = list(catalogue.checks()).index("proved_dead")
    assert proved_dead < first_live
