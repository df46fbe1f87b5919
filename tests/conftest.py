"""One invented fleet, taken in and published once, for all tests that read it."""

import os

import pytest
from hypothesis import settings

from analytics.rollup.publish import publish
from analytics.rollup.snapshot import current_snapshot
from dashboard.settings import Place
from ingest.pipeline import ingest_paths
from synthetic_data.fleet import write_fleet

N_UNITS = 600

# In CI the same examples every time: a red run is then a change, never a draw.
settings.register_profile("ci", derandomize=True)
if os.environ.get("CI") == "true":
    settings.load_profile("ci")


@pytest.fixture(scope="session")
def place(tmp_path_factory):
    """Return the data folder of a published invented fleet; only read it."""
    place = Place(tmp_path_factory.mktemp("fleet"))
    made = write_fleet(place.data / "files", n_units=N_UNITS, seed=1)
    ingest_paths(
        place.store, [made.units, made.repairs, made.readings], origin="invented"
    )
    publish(place.store, place.published)
    return place


@pytest.fixture
def snapshot(place):
    """Return the published figures of that fleet."""
    return current_snapshot(place.published)
