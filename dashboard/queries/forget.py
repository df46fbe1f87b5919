"""A name forgotten: in the store, and in all that was published from it."""

from dataclasses import dataclass

from analytics.rollup.publish import Progress, publish
from analytics.rollup.published_files import day_shown, withdraw
from dashboard.settings import Place
from ingest.errors import UserError
from ingest.upkeep.forget import ForgetReport
from ingest.upkeep.forget import forget as forget_in_store


@dataclass(frozen=True, slots=True)
class Forgotten:
    """What forgetting a name did.

    Attributes
    ----------
    report : ForgetReport
        In the store.
    n_withdrawn : int
        Published files and suggesters that were deleted.
    snapshot : str or None
        Figures published anew, for the same day; None if none were shown.
    error : UserError or None
        Why none could be published, though there were some before.
    """

    report: ForgetReport
    n_withdrawn: int
    snapshot: str | None
    error: UserError | None = None


def forget(
    place: Place,
    name: str,
    *,
    kind: str | None = None,
    progress: Progress | None = None,
) -> Forgotten:
    """Put a random name in the place of a serial or a technician, and publish anew.

    All published figures and suggesters are deleted, whether or not they hold the
    name: an old one may hold it in a form that is not looked for.

    Parameters
    ----------
    place : Place
    name : str
    kind : {"serial", "technician"}, optional
        Needed only where the name is both.
    progress : callable, optional
        Called as progress(words, done, total) while publishing.

    Raises
    ------
    NotFoundError, RefusedError, UsageError
        The name is not known, is two things, or too short.
    NoStoreError, StoreBusyError, StoreNewerError, DiskError
        The store cannot be written.
    """
    rules = place.settings().life_rules()
    day = day_shown(place.published)
    report = forget_in_store(place.store, name, kind=kind)
    n_withdrawn = withdraw(place.published)
    if day is None:
        return Forgotten(report, n_withdrawn, None)
    try:
        published = publish(
            place.store, place.published, as_of=day, rules=rules, progress=progress
        )
    except UserError as error:
        return Forgotten(report, n_withdrawn, None, error)
    return Forgotten(report, n_withdrawn, published.snapshot)
