"""Can the data be trusted: what happened to the rows of every file."""

from analytics.rollup.snapshot import Snapshot
from dashboard.filters import Filters
from dashboard.queries.answer import Answer, rows_of

METHOD = (
    "Rows of every file taken in up to the publish: read = accepted + unchanged + "
    "replaced + set aside. Each row counts once for each field and problem."
)


def quality(snapshot: Snapshot, filters: Filters) -> Answer:
    """Return what was read, kept and set aside, file by file and problem by problem.

    Parameters
    ----------
    snapshot : Snapshot
    filters : Filters
        Not used, and not stated in the answer: a row set aside belongs to no group
        yet.

    Returns
    -------
    Answer
        Rows: batch, file, kind, field, code, n_rows. More: files (one entry for each
        file with its counts), left_out (units without life data, by reason),
        n_unknown_serial, observation_end, delay_days, delay_source, n_delays.
    """
    found = snapshot.ask("intake_quality")
    of_file = ["batch", "file", "kind", "started_at"]
    counts = ["n_read", "n_accepted", "n_unchanged", "n_replaced", "n_rejected"]
    files = found[of_file + counts].drop_duplicates("batch")
    problems = found.loc[
        found["code"].notna(), ["batch", "file", "kind", "field", "code", "n_rows"]
    ].astype({"n_rows": "int64"})
    left_out = snapshot.ask(
        "life_left_out", Filters().parameters(), chosen="chosen_units"
    )
    unknown = snapshot.ask("unknown_serials")["n_cases"].iloc[0]
    about = snapshot.about
    del filters  # none is stated, since none is used
    return Answer(
        about=about,
        filters=Filters(),
        method=METHOD,
        rows=rows_of(problems),
        more={
            "files": rows_of(files),
            "left_out": dict(
                zip(left_out["reason"], map(int, left_out["n_units"]), strict=True)
            ),
            "n_unknown_serial": int(unknown),
            "observation_end": about.observation_end,
            "delay_days": about.delay_days,
            "delay_source": about.delay_source,
            "n_delays": about.n_delays,
        },
        invented=about.is_invented,
    )
