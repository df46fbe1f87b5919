"""What a technician reads beside a check."""

from ingest import catalogue


def test_every_check_has_points_caution_expectation_and_source():
    for check in catalogue.checks().values():
        for text in (check.label, check.measures, check.expected, check.source):
            assert text, check.code
        assert check.points, check.code
        assert check.caution, check.code


def test_every_live_caution_says_that_mains_may_be_present_and_who_may_work():
    for check in catalogue.checks().values():
        if check.hazard == "live":
            assert "mains" in check.caution.lower(), check.code
            assert "qualified persons only" in check.caution, check.code
        if check.hazard == "dead_500v":
            assert "500 V" in check.caution, check.code
