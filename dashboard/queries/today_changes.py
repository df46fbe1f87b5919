"""What changed against the figures published before: one sentence, and the counts."""

import datetime as dt
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from analytics.rollup.snapshot import About, Snapshot, previous_snapshot
from dashboard import text
from dashboard.filters import Filters
from dashboard.queries.answer import Row
from ingest import catalogue
from ingest.errors import NotPublishedError

FIRST = "No figures were published before these."
NAMED = 3  # modes named in the sentence

Counts = Mapping[str | None, int]  # cases by confirmed mode; None: open


@dataclass(frozen=True, slots=True)
class Changes:
    """What changed since the figures published before.

    Attributes
    ----------
    sentence : str
        For every page; says why where nothing can be compared.
    before : About or None
        The figures compared with; None where there are none that compare.
    rows : sequence of dict
        what, label, now, before, difference: counts as numbers, days as ISO text.
    modes : sequence of dict
        mode, label, now, before, difference: modes confirmed more or less often, the
        largest difference first.
    """

    sentence: str
    before: About | None = None
    rows: Sequence[Row] = ()
    modes: Sequence[Row] = ()


def changes(snapshot: Snapshot, filters: Filters) -> Changes:
    """Return what changed against the figures published before.

    Parameters
    ----------
    snapshot : Snapshot
    filters : Filters
        Choose cases in both; `from` and `to` mean the day of receipt. Units and days
        are those of the whole fleet.

    Returns
    -------
    Changes
    """
    if snapshot.about.previous is None:
        return Changes(FIRST)
    previous = previous_snapshot(snapshot)
    try:
        before = _counts(previous, filters) if previous else None
    except NotPublishedError:
        before = None
    if previous is None or before is None:
        return Changes(
            f"The figures published before ({snapshot.about.previous}) are gone or "
            "were made by another version of the program: not comparable."
        )
    now = _counts(snapshot, filters)
    modes = _modes(now, before)
    return Changes(
        sentence=_sentence(snapshot.about, previous.about, now, before, modes, filters),
        before=previous.about,
        rows=_rows(snapshot.about, previous.about, now, before),
        modes=modes,
    )


def without_days(filters: Filters) -> Filters:
    """Return the filters without first and last day.

    For reports about units, where they mean the in-service day.
    """
    return filters.model_copy(update={"from_": None, "to": None})


def more_or_fewer(difference: int, thing: str) -> str:
    """Return a difference of counts in words: "12 more cases", "no more case"."""
    if difference == 0:
        return f"no more {thing}s"
    word = "more" if difference > 0 else "fewer"
    plural = "" if abs(difference) == 1 else "s"
    return f"{text.count(abs(difference))} {word} {thing}{plural}"


def _counts(snapshot: Snapshot, filters: Filters) -> Counts:
    found = snapshot.ask("mode_counts", filters.parameters(), chosen="chosen_cases")
    return {
        mode if isinstance(mode, str) else None: int(n_cases)
        for mode, n_cases in zip(found["mode"], found["n_cases"], strict=True)
    }


def _n_confirmed(counts: Counts) -> int:
    return sum(n for mode, n in counts.items() if mode is not None)


def _modes(now: Counts, before: Counts) -> list[Row]:
    known = catalogue.failure_modes()
    rows: list[Row] = [
        {
            "mode": code,
            "label": known[code].label,
            "now": now.get(code, 0),
            "before": before.get(code, 0),
            "difference": now.get(code, 0) - before.get(code, 0),
        }
        for code in known
        if now.get(code, 0) != before.get(code, 0)
    ]
    return sorted(rows, key=lambda row: -abs(int(str(row["difference"]))))


def _rows(about: About, past: About, now: Counts, before: Counts) -> list[Row]:
    pairs: list[tuple[str, str, int, int]] = [
        ("units", "units of the register, whole fleet", about.n_units, past.n_units),
        ("cases", "cases received", sum(now.values()), sum(before.values())),
        ("confirmed", "confirmed cases", _n_confirmed(now), _n_confirmed(before)),
        (
            "open",
            "cases without a confirmed mode",
            now.get(None, 0),
            before.get(None, 0),
        ),
    ]
    days: list[tuple[str, str, dt.date, dt.date]] = [
        ("as_of", "day the figures speak for", about.as_of, past.as_of),
        (
            "observation_end",
            "failures known up to (observation end)",
            about.observation_end,
            past.observation_end,
        ),
    ]
    counts: list[Row] = [
        {"what": what, "label": label, "now": n, "before": m, "difference": n - m}
        for what, label, n, m in pairs
    ]
    return counts + [
        {
            "what": what,
            "label": label,
            "now": day.isoformat(),
            "before": past_day.isoformat(),
            "difference": (day - past_day).days,
        }
        for what, label, day, past_day in days
    ]


def _sentence(
    about: About,
    past: About,
    now: Counts,
    before: Counts,
    modes: Sequence[Row],
    filters: Filters,
) -> str:
    cases = more_or_fewer(sum(now.values()) - sum(before.values()), "case")
    confirmed = more_or_fewer(
        _n_confirmed(now) - _n_confirmed(before), "confirmed case"
    )
    under = filters.under
    named = [f"{row['label']} {row['before']} → {row['now']}" for row in modes[:NAMED]]
    if len(modes) > NAMED:
        named.append(f"{len(modes) - NAMED} further modes changed")
    by_mode = f" ({'; '.join(named)})" if named else ""
    moved = (
        f"failures are known up to {about.observation_end}, before "
        f"{past.observation_end}"
        if about.observation_end != past.observation_end
        else f"failures are known up to {about.observation_end}, as before"
    )
    return (
        f"Since the figures published on {past.published_at:%Y-%m-%d} (as of "
        f"{past.as_of}): {cases}, {confirmed}{by_mode}{under}; {moved}."
    )
