"""Whether the store holds other files than the figures shown rest on."""

from analytics.rollup import sql_files
from analytics.rollup.snapshot import About
from dashboard.settings import Place
from ingest import store
from ingest.errors import UserError


def newer_files(place: Place, about: About) -> int:
    """Return how many files were taken in, or back, since the figures were published.

    Parameters
    ----------
    place : Place
    about : About
        The figures shown.

    Returns
    -------
    int
        0 also where the store cannot be asked now: the figures do not depend on it.
    """
    question = sql_files.statement("questions", "batches")
    taken_back = sql_files.statement("questions", "taken_back")
    asked = {"since": about.published_at, "latest_batch": about.latest_batch}
    try:
        with store.open_for_reading(place.store, wait_s=place.wait_s) as connection:
            batches = sql_files.run(connection, question, {}).fetchall()
            back = sql_files.run(connection, taken_back, asked)
            ((n_back,),) = back.fetchall()
    except UserError:
        return 0
    return int(n_back) + sum(int(batch) > about.latest_batch for batch, *_ in batches)
