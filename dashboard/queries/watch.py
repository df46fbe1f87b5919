"""Which failures recur: the alarms of the watch, and what they rest on."""

from typing import cast

from analytics.rollup.observation import COMPLETE
from analytics.rollup.snapshot import Snapshot, current_snapshot, previous_snapshot
from dashboard.filters import Filters
from dashboard.queries import watch_words as words
from dashboard.queries.answer import Answer, Row, rows_of
from dashboard.queries.quality_spelling import spelling
from dashboard.queries.repeats import repeats
from dashboard.queries.watch_caveats import caveats, gone
from dashboard.queries.watch_details import case_rows, series_rows
from dashboard.queries.watch_measured import measured
from dashboard.queries.watch_rows import Kept, WatchRows, alarm_rows
from dashboard.settings import Place
from ingest.alarms import Recorded, alarm_notes, recorded_alarms
from ingest.errors import NoStoreError, StoreBusyError

METHOD = (
    "First failures by month of failure against those expected by age and mode, in "
    "groups that each split all failures; the last 3, 6 and 12 months against the "
    "group's own earlier level, shrunk towards its siblings. The threshold is set by "
    "simulating this fleet with nothing recurring, so that it raises about the stated "
    "number of false alarms a year over all groups."
)
BUSY = (
    "Records are being taken in at this moment: what is being done about the alarms "
    "cannot be read, and all are shown as new."
)


def watch(place: Place, filters: Filters, *, only_new: bool = False) -> Answer:
    """Return the alarms that stand, most urgent first, and what they rest on.

    Parameters
    ----------
    place : Place
    filters : Filters
        Choose the alarms that have at least one case under them; the numbers of an
        alarm stay those of the whole fleet, for which the promise is made.
    only_new : bool, default False
        Leave out those that somebody has taken up.

    Returns
    -------
    Answer
        Rows: a row an alarm, or several that share their cases. More:
        false_alarms_per_year, can_watch, why_not, sentences, n_new, n_open, fleet,
        families, past, series, cases, comparison, lots, thin, early, repeats,
        measured.

    Raises
    ------
    NotPublishedError
        Nothing is published, or by another version.
    """
    snapshot = current_snapshot(place.published)
    about = rows_of(snapshot.ask("watch_about"))[0]
    found = WatchRows.read(snapshot, previous_snapshot(snapshot))
    kept, is_busy = _kept(place)
    last_month = snapshot.about.as_of.replace(day=1)
    standing: list[Row] = []
    past: list[Row] = []
    if about["why_not"] is None:
        standing, past = alarm_rows(found, kept, last_month=last_month)
    chosen = _chosen(snapshot, filters)
    standing, past = (
        [row for row in rows if chosen is None or row["lead"] in chosen]
        for rows in (standing, past)
    )
    n_new = sum(row["state"] == "new" for row in standing)
    n_open = len(standing)
    if only_new:
        standing = [row for row in standing if row["state"] == "new"]
    families = rows_of(snapshot.ask("watch_families"))
    repeated = repeats(snapshot, filters)
    return Answer(
        about=snapshot.about,
        filters=filters,
        method=METHOD,
        rows=[_shown(row) for row in standing],
        more={
            "false_alarms_per_year": _per_year(about, place),
            "can_watch": about["why_not"] is None,
            "why_not": words.why_not(about),
            "sentences": [
                *([BUSY] if is_busy else []),
                *caveats(about, families, spelling(snapshot)),
                *gone(
                    kept.recorded.values(),
                    frozenset(found.alarms["alarm"]),
                    last_month=last_month,
                ),
            ],
            "n_new": n_new,
            "n_open": n_open,
            "fleet": _fleet(about),
            "families": [_family(row) for row in families],
            "past": [_shown(row, months=False) for row in past],
            "series": series_rows(found, standing),
            "cases": case_rows(found, standing),
            "comparison": _of_alarms(rows_of(found.comparison), standing),
            "lots": _of_alarms(rows_of(snapshot.ask("watch_lots")), standing),
            "thin": [_thin(row) for row in rows_of(snapshot.ask("watch_thin"))],
            "early": rows_of(snapshot.ask("watch_early")),
            "repeats": repeated.rows,
            "measured": measured(),
        },
        invented=snapshot.about.is_invented,
        asked={"new": True} if only_new else {},
    )


def _per_year(about: Row, place: Place) -> float:
    # That of these figures; where they are not watched, that of the next.
    kept = cast("float | None", about["per_year"])
    return place.settings().false_alarms_per_year if kept is None else kept


def _kept(place: Place) -> tuple[Kept, bool]:
    # Figures can be read while somebody writes the store; states then wait.
    try:
        return (
            Kept.of(
                recorded_alarms(place.store, wait_s=place.wait_s),
                alarm_notes(place.store, wait_s=place.wait_s),
            ),
            False,
        )
    except StoreBusyError:
        return Kept.of(Recorded(), []), True
    except NoStoreError:
        return Kept.of(Recorded(), []), False


def _chosen(snapshot: Snapshot, filters: Filters) -> frozenset[object] | None:
    if not filters.stated():
        return None
    found = snapshot.ask("watch_chosen", filters.parameters(), chosen="chosen_cases")
    return frozenset(found["alarm"])


def _shown(row: Row, *, months: bool = True) -> Row:
    hidden = {"lead"} if months else {"lead", "months"}
    return {name: value for name, value in row.items() if name not in hidden}


def _fleet(about: Row) -> Row:
    names = ("n_months", "n_failures", "n_groups", "n_draws", "is_joint")
    return {
        "first_month": _month(about["first_month"]),
        "last_month": _month(about["last_month"]),
        "first_live": _month(about["first_live"]),
        **{name: about[name] for name in names},
        "is_complete": cast("float", about["completeness"] or 0) >= COMPLETE,
        "completeness": about["completeness"],
    }


def _month(value: object) -> str | None:
    return str(value)[:7] if value is not None else None


def _family(row: Row) -> Row:
    variance = cast("float | None", row["level_variance"])
    return {
        "family": row["family"],
        "words": words.FAMILY_WORDS[str(row["family"])],
        "n_groups": row["n_groups"],
        "n_failures": row["n_failures"],
        "n_too_thin": row["n_thin"],
        "share_not_recorded": row["share_not_recorded"],
        "level_cv": None if variance is None else variance**0.5,
        "dispersion": row["dispersion"],
        "threshold": row["threshold"],
    }


def _of_alarms(rows: list[Row], standing: list[Row]) -> list[Row]:
    # Details are kept by the alarm that speaks for its group; the group has its own id.
    shown = {row["lead"]: row["alarm"] for row in standing}
    return [
        row | {"alarm": shown[row["alarm"]]} for row in rows if row["alarm"] in shown
    ]


def _thin(row: Row) -> Row:
    family, failure = str(row["family"]), str(row["failure"])
    expected = cast("float", row["expected_year"])
    return {
        "failure": words.failure_words(family, failure),
        "where": words.where_words(family, cast("str | None", row["value"])),
        "n_failures": row["n_failures"],
        "expected_year": expected,
        "enough": words.enough(expected),
        "n_months": row["n_months"],
    }
