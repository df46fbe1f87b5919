import pytest

from analytics.rollup.rules import LifeRules, ModelRules
from dashboard.settings import Place
from ingest.errors import UsageError


def test_without_a_file_every_key_has_its_default(tmp_path):
    assert Place(tmp_path).settings().life_rules() == LifeRules()


def test_the_settings_of_a_model_reach_the_life_rules(tmp_path):
    (tmp_path / "mendfleet.toml").write_text(
        'failures_seen = "in_warranty"\nconfirmation_delay_days = 20\n'
        '[models."A 1"]\nwarranty_months = 24\nreporting_lag_days = 5\n'
    )

    assert Place(tmp_path).settings().life_rules() == LifeRules(
        failures_seen="in_warranty",
        confirmation_delay_days=20,
        models={"A 1": ModelRules(reporting_lag_days=5, warranty_months=24)},
    )


def test_an_unknown_key_names_the_nearest(tmp_path):
    (tmp_path / "mendfleet.toml").write_text("failure_seen = 'always'\n")

    with pytest.raises(UsageError, match=r"failure_seen is not a known key") as raised:
        Place(tmp_path).settings()

    assert raised.value.hint == "The nearest known key is failures_seen."


def test_an_unknown_key_with_nothing_near_points_to_the_list(tmp_path):
    (tmp_path / "mendfleet.toml").write_text("xyzzy = 1\n")

    with pytest.raises(UsageError, match=r"xyzzy is not a known key\.\nKnown keys"):
        Place(tmp_path).settings()


def test_a_value_out_of_range_is_named(tmp_path):
    (tmp_path / "mendfleet.toml").write_text("confirmation_delay_days = -3\n")

    with pytest.raises(UsageError, match=r"confirmation_delay_days: .*got -3"):
        Place(tmp_path).settings()


def test_a_file_that_is_not_toml_is_named(tmp_path):
    (tmp_path / "mendfleet.toml").write_text("failures_seen = \n")

    with pytest.raises(UsageError, match=r"mendfleet\.toml is not TOML"):
        Place(tmp_path).settings()
