"""Time to failure, two groups: choice in the address, the query's numbers, refusals."""

import pytest

from analytics.rollup.snapshot import current_snapshot
from dashboard import text
from dashboard.filters import Filters
from dashboard.queries.life import life
from dashboard.settings import Place
from tests import small_fleet


@pytest.fixture(scope="module")
def two_models(tmp_path_factory):
    """Return a folder with two models, of which one fails sooner, and a third."""
    place = Place(tmp_path_factory.mktemp("models"))
    start = small_fleet.dt.date(2025, 1, 1)
    units = [
        small_fleet.unit(f"{model}{n:02}", model=f"Model {model}", region=region)
        for model in "ABC"
        for n, region in enumerate(["north", "south"] * 20)
    ]
    days = {"A": [10 + 3 * n for n in range(30)], "B": [20 + 25 * n for n in range(10)]}
    cases = [
        small_fleet.case(
            f"R{model}{n}",
            f"{model}{n:02}",
            received_on=str(start + small_fleet.dt.timedelta(days=day)),
            failed_on=str(start + small_fleet.dt.timedelta(days=day)),
            confirmed_mode="handle_pilot_open",
        )
        for model, own in days.items()
        for n, day in enumerate(own)
    ]
    small_fleet.published(place.data, units, cases)
    return place


@pytest.fixture
def compared(two_models):
    """Return the comparison of models as the query gives it."""
    snapshot = current_snapshot(two_models.published)
    return life(snapshot, Filters(), by="model").more["comparison"]


def test_nothing_is_compared_until_a_word_is_chosen(open_page, two_models, table_with):
    page = open_page("life", of=two_models)

    assert not [box for box in page.multiselect if box.key == "life_group"]
    with pytest.raises(AssertionError):
        table_with(page, "p_value")


def test_a_word_chosen_compares_the_two_groups_with_most_failures(
    open_page, two_models, compared, read
):
    page = open_page("life", of=two_models)

    page.selectbox(key="life_by").set_value("model").run()

    assert page.query_params["by"] == "model"
    assert [group["group"] for group in compared["groups"]] == ["Model A", "Model B"]
    assert f"**{compared['sentence']}**" in read(page)
    assert "Model A fails more often than Model B" in compared["sentence"]


def test_sizes_tests_and_units_at_risk_are_those_of_the_query(
    open_page, two_models, compared, table_with
):
    page = open_page("life", of=two_models, by="model", age=["180"])

    sizes = table_with(page, "first_year", "n_units")
    assert list(sizes["n_units"]) == [40, 40]
    assert list(sizes["n_failed"]) == [30, 10]
    assert list(sizes["median"]) == [
        text.estimate(group["median_days"]) for group in compared["groups"]
    ]
    tests = table_with(page, "statistic", "p_value")
    assert list(tests["statistic"]) == [
        f"{test['statistic']:.2f}" for test in compared["tests"]
    ]
    shares = table_with(page, "group", "n_at_risk")
    # By hand: of model A, failures up to day 97 are 30; of B, those from day 20 on
    # every 25 days, so that 7 came before day 180.
    assert list(shares["n_at_risk"]) == [10, 33]
    assert list(shares["n_failed"]) == [30, 7]
    assert list(shares["share"]) == ["75.0", "17.5"]


def test_a_group_not_seen_to_an_age_is_told_so(open_page, two_models, table_with):
    page = open_page("life", of=two_models, by="model", age=["5000"])

    shares = table_with(page, "group", "n_at_risk")

    assert list(shares["share"]) == ["not seen", "not seen"]
    assert list(shares["interval"]) == ["", ""]


def test_two_groups_named_go_into_the_address_and_one_alone_waits(
    open_page, two_models, read
):
    page = open_page("life", of=two_models, by="model")
    box = page.multiselect(key="life_group")

    box.set_value(["Model C"]).run()
    assert "group" not in page.query_params
    assert page.multiselect(key="life_group").value == ["Model C"]

    page.multiselect(key="life_group").set_value(["Model C", "Model B"]).run()
    assert page.query_params["group"] == ["Model C", "Model B"]
    assert "Model C" in read(page)


def test_units_are_compared_within_a_second_word(open_page, two_models, read):
    page = open_page("life", of=two_models, by="model")

    page.selectbox(key="life_within").set_value("region").run()

    assert page.query_params["within"] == "region"
    assert "of the same region" in read(page)
    assert "model" not in page.selectbox(key="life_within").options


def test_another_word_forgets_the_groups_of_the_first(open_page, two_models):
    page = open_page(
        "life", of=two_models, by="model", group=["Model A", "Model C"], within="region"
    )

    page.selectbox(key="life_by").set_value("region").run()

    assert page.query_params["by"] == "region"
    assert "group" not in page.query_params
    assert "within" not in page.query_params


@pytest.mark.parametrize(
    ("words", "told"),
    [
        ({"by": "lot"}, "Needed: at least 2 groups of lot"),
        ({"by": "model", "model": ["Model A"]}, "Needed: at least 2 groups of model"),
        ({"by": "model", "group": ["Model A", "Model Z"]}, "has model Model Z"),
        ({"by": "model", "group": ["Model A", "Model Z"]}, "nearest is Model C"),
        ({"by": "model", "within": "model"}, "cannot be compared within model"),
    ],
)
def test_groups_that_cannot_be_compared_leave_the_rest_of_the_page(
    open_page, two_models, read, words, told
):
    page = open_page("life", of=two_models, **words)

    assert told in read(page)
    assert "10 % of units have failed by" in read(page)
    assert page.get("vega_lite_chart")
