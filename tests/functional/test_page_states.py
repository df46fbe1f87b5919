"""What every page shows while there is nothing to answer with, or newer records."""

import pytest
from streamlit.testing.v1 import AppTest

from analytics.rollup.publish import publish
from dashboard.app import PAGES
from dashboard.place import VARIABLE
from dashboard.queries.answer import INVENTED
from dashboard.settings import Place
from ingest.pipeline import ingest_paths
from tests import small_fleet

ADDRESSES = [page.address for page in PAGES]
ALL_PAGES = pytest.mark.parametrize("page", ADDRESSES)


@pytest.fixture(scope="module")
def records(tmp_path_factory):
    """Return a folder with a few records of one's own, published."""
    place = Place(tmp_path_factory.mktemp("records"))
    units = [small_fleet.unit(f"A{number:03}") for number in range(30)]
    cases = [
        small_fleet.case("R1", "A001", confirmed_mode="no_fault_found"),
        small_fleet.case("R2", "A002"),
    ]
    small_fleet.published(place.data, units, cases)
    return place


@pytest.fixture
def outdated(tmp_path):
    """Return a folder where a file was taken in after the publish."""
    place = Place(tmp_path)
    units = [small_fleet.unit(f"A{number:03}") for number in range(30)]
    small_fleet.published(place.data, units, [small_fleet.case("R1", "A001")])
    late = small_fleet.write_rows(tmp_path / "late.csv", [small_fleet.unit("B001")])
    ingest_paths(place.store, [late])
    return place


@ALL_PAGES
def test_a_page_without_a_store_says_how_to_take_files_in(
    open_page, read, tmp_path, page
):
    shown = read(open_page(page, of=Place(tmp_path)))

    assert "Nothing is stored yet" in shown
    assert "`mendfleet ingest`" in shown


@ALL_PAGES
def test_a_page_with_a_store_and_no_figures_says_how_to_publish(
    open_page, read, tmp_path, page
):
    place = Place(tmp_path)
    file = small_fleet.write_rows(tmp_path / "units.csv", [small_fleet.unit("A001")])
    ingest_paths(place.store, [file])

    shown = read(open_page(page, of=place))

    assert "No figures have been published" in shown
    assert "`mendfleet publish`" in shown


@ALL_PAGES
def test_a_page_says_that_invented_data_are_invented(open_page, page):
    shown = open_page(page)

    assert [part.value for part in shown.markdown if INVENTED in part.value]


@pytest.mark.parametrize("page", ["modes", "suggest", "quality"])
def test_a_page_on_real_records_does_not_call_them_invented(
    open_page, read, records, page
):
    assert INVENTED not in read(open_page(page, of=records))


@pytest.mark.parametrize("page", ["modes", "suggest", "quality"])
def test_a_page_says_that_newer_records_wait_to_be_published(
    open_page, read, outdated, page
):
    assert "Other records are stored" in read(open_page(page, of=outdated))


def test_a_page_says_nothing_of_newer_records_after_the_publish(
    open_page, read, outdated
):
    publish(outdated.store, outdated.published, as_of=small_fleet.AS_OF)

    assert "Other records" not in read(open_page("modes", of=outdated))


@pytest.mark.parametrize("page", ["modes", "life"])
def test_a_word_of_the_address_that_is_not_known_is_told_with_the_nearest(
    open_page, read, page
):
    shown = read(open_page(page, mode=["handle_pilot_opn"]))

    assert "the nearest is handle_pilot_open" in shown
    assert "leave it out" in shown


def test_settings_that_cannot_be_read_are_told_where_they_are_needed(
    open_page, read, tmp_path
):
    place = Place(tmp_path)
    small_fleet.published(
        tmp_path,
        [small_fleet.unit("A1X")],
        [
            small_fleet.case("R1", "A1X"),
        ],
    )
    (tmp_path / "mendfleet.toml").write_text("failure_seen = 'always'")

    shown = read(open_page("suggest", of=place))

    assert "failure_seen is not a known key" in shown


def test_the_start_leads_on_to_the_first_page(place, monkeypatch):
    monkeypatch.setenv(VARIABLE, str(place.data))
    file = PAGES[0].file.parents[1] / "app.py"

    shown = AppTest.from_file(str(file), default_timeout=60).run()

    assert not shown.exception
    assert shown.title[0].value == "What needs attention today?"


def test_every_script_of_the_folder_is_a_page_and_every_page_a_script():
    scripts = {file.stem for file in PAGES[0].file.parent.glob("*.py")}

    assert scripts == set(ADDRESSES)


def test_pages_do_not_read_each_other():
    for page in PAGES:
        assert "app_pages" not in page.file.read_text("utf-8")


def test_a_page_is_quiet_about_newer_records_while_the_store_is_gone(
    open_page, read, tmp_path
):
    place = Place(tmp_path)
    small_fleet.published(
        tmp_path,
        [small_fleet.unit("A1X")],
        [
            small_fleet.case("R1", "A1X"),
        ],
    )
    place.store.unlink()

    shown = read(open_page("modes", of=place))

    assert "Other records" not in shown
    assert "open 1." in shown


@pytest.mark.parametrize("page", ["modes", "life"])
def test_words_of_an_address_are_shown_as_typed_and_fetch_no_picture(open_page, page):
    picture = "![x](http://192.0.2.7/x.png)"

    shown = open_page(page, model=[picture])

    chip = next(b for b in shown.button if "192.0.2.7" in b.label)
    assert r"\!\[x\]" in chip.label


def test_a_wrong_word_of_an_address_is_shown_as_typed(open_page):
    shown = open_page("modes", mode=["![x](http://192.0.2.7/x.png)"])

    assert r"\!\[x\]" in shown.error[0].value
