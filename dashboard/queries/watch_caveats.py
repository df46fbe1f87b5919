"""What a reader of the watch must know about these records, in sentences."""

import datetime as dt
from collections.abc import Collection, Iterable, Iterator, Sequence
from typing import cast

from dashboard import text
from dashboard.queries.answer import Row
from dashboard.queries.watch_words import (
    FAMILY_WORDS,
    SAID,
    failure_words,
    where_words,
)
from ingest.alarms import RecordedAlarm

MUCH = 0.1  # of the units without a value: said
HALF = 0.5
ONE_SITE = 0.3  # of all failures at one site: said
FEW_GROUPS = 10
NAMED = 3  # alarms whose group is gone


def caveats(about: Row, families: Sequence[Row], spelled: Sequence[Row]) -> list[str]:
    """Return the sentences that stand beside the alarms.

    Parameters
    ----------
    about : dict
        The row of `watch_about`.
    families : sequence of dict
        The rows of `watch_families`.
    spelled : sequence of dict
        Fields with values that may be one thing spelled in several ways.
    """
    if about["why_not"] is not None:
        return []
    return [
        *_not_recorded(families),
        *_spelled(families, spelled),
        *_one_site(about),
        *_few_groups(about),
        *_newest(about),
        *_way(about),
    ]


def _not_recorded(families: Sequence[Row]) -> Iterator[str]:
    for row in families:
        family = str(row["family"])
        if family not in SAID:  # all units, or what two families say already
            continue
        if not row["n_groups"]:
            yield (
                f"Not watched by {SAID[family]}: the register holds no two values of "
                f"it ({FAMILY_WORDS[family]})."
            )
            continue
        missing = cast("float", row["share_not_recorded"] or 0)
        if missing < MUCH:
            continue
        weak = (
            " Comparisons by it are weak: half of the units or more stand together."
            if missing >= HALF
            else ""
        )
        yield (
            f"The {SAID[family]} of {text.share(missing, 1)} of the units is not "
            f"recorded; they are a group of their own, put nowhere by guess.{weak}"
        )


def _spelled(families: Sequence[Row], spelled: Sequence[Row]) -> Iterator[str]:
    watched = {
        "production_lot" if row["family"] == "lot" else row["family"]
        for row in families
    }
    for row in spelled:
        if row["field"] in watched:
            groups = cast("Sequence[Row]", row["groups"])
            first = " and ".join(cast("dict[str, int]", groups[0]["values"]))
            more = len(groups) - 1
            also = f", and so may {text.count(more)} more" if more else ""
            yield (
                f"{SAID[str(row['field'])].capitalize()}: {first} may be one thing "
                f"spelled in several ways{also}. Each is watched for itself, so an "
                "excess is split; Data quality has the lines for a mapping file."
            )


def _one_site(about: Row) -> Iterator[str]:
    n, n_all = about["n_of_largest_site"], cast("int", about["n_failures"])
    if n is not None and cast("int", n) >= ONE_SITE * n_all:
        share = text.share(cast("int", n) / n_all, n_all)
        yield (
            f"{share} of all first failures ({text.count(cast('int', n))}) come from "
            f"one site, {about['largest_site']}: an alarm may speak of that site's use "
            "alone. The cases of an alarm name their sites."
        )


def _few_groups(about: Row) -> Iterator[str]:
    n = cast("int", about["n_groups"])
    if n < FEW_GROUPS:
        yield (
            f"Only {text.count(n)} groups are watched: with fewer than {FEW_GROUPS} "
            "the number of false alarms may be a third higher than stated."
        )


def _newest(about: Row) -> Iterator[str]:
    share = cast("float", about["completeness"])
    if share < 1:
        yield (
            f"Of the failures of {str(about['last_month'])[:7]} about "
            f"{text.share(share, 1)} are confirmed by now; what is expected of the "
            "newest months is lowered to match."
        )


def _way(about: Row) -> Iterator[str]:
    yield (
        "Not watched well: a rise of one group that takes years becomes part of its "
        "own past and may go unseen."
    )
    if not about["is_joint"]:
        yield (
            "The groups are too many to simulate together; the stated number of false "
            "alarms is then an upper figure."
        )


def gone(
    recorded: Iterable[RecordedAlarm],
    shown: Collection[object],
    *,
    last_month: dt.date,
) -> list[str]:
    """Return which alarms raised before these figures cannot show, in a sentence.

    Parameters
    ----------
    recorded : iterable of RecordedAlarm
        All that were raised.
    shown : collection of str
        Ids of the alarms of these figures.
    last_month : datetime.date
        First day of the last month of these figures; later alarms are left out.
    """
    lost = [
        one.key
        for one in recorded
        if one.key.alarm not in shown and one.key.look <= last_month
    ]
    if not lost:
        return []
    named = [
        f"{key.alarm}, {failure_words(key.family, key.failure)}, "
        f"{where_words(key.family, key.value)}"
        for key in lost[-NAMED:]
    ]
    more = f"; and {len(lost) - NAMED} more" if len(lost) > NAMED else ""
    said = (
        f"{text.counted(len(lost), 'alarm')} raised before cannot be shown: the "
        "records no longer hold that group under this name, or too little of it "
        f"({'; '.join(named)}{more}). What was noted about it is kept."
    )
    return [said]
