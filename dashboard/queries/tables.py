"""Tables that can be exported, by name: exactly what the pages show."""

import difflib
from collections.abc import Callable, Mapping
from dataclasses import replace

from analytics.rollup.snapshot import Snapshot, current_snapshot
from dashboard.filters import Filters
from dashboard.queries.alarm_units import alarm_units
from dashboard.queries.answer import Answer
from dashboard.queries.frequencies_parts import PARTS as MODES_PARTS
from dashboard.queries.frequencies_parts import part as modes_part
from dashboard.queries.life import life
from dashboard.queries.life_parts import PARTS as LIFE_PARTS
from dashboard.queries.life_parts import part as life_part
from dashboard.queries.life_words import LifeWords
from dashboard.queries.listings import cases, readings, units
from dashboard.queries.modes import modes
from dashboard.queries.quality import PARTS, left_out, part, quality
from dashboard.queries.rejected import rejected
from dashboard.queries.suggestion_report import suggestion_report
from dashboard.queries.suggestion_report_fared import suggestions_fared
from dashboard.queries.suggestion_report_parts import PARTS as SUGGESTIONS_PARTS
from dashboard.queries.suggestion_report_parts import part as suggestions_part
from dashboard.queries.today import PARTS as TODAY_PARTS
from dashboard.queries.today import part as today_part
from dashboard.queries.today import today
from dashboard.queries.watch import watch
from dashboard.queries.watch_parts import BY_ALARM, of_alarm
from dashboard.queries.watch_parts import PARTS as WATCH_PARTS
from dashboard.queries.watch_parts import flat as watch_flat
from dashboard.queries.watch_parts import part as watch_part
from dashboard.settings import Place
from ingest.errors import NotFoundError, UsageError


def _published(
    query: Callable[[Snapshot, Filters], Answer],
) -> Callable[[Place, Filters], Answer]:
    def ask(place: Place, filters: Filters) -> Answer:
        return query(current_snapshot(place.published), filters)

    return ask


def _modes(name: str) -> Callable[[Snapshot, Filters], Answer]:
    return lambda snapshot, filters: modes_part(modes(snapshot, filters), name)


def _part(name: str) -> Callable[[Snapshot, Filters], Answer]:
    return lambda snapshot, filters: part(quality(snapshot, filters), name)


def _quality(snapshot: Snapshot, filters: Filters) -> Answer:
    del filters  # a row of a file belongs to no group
    return quality(snapshot, Filters())


def _suggestions(name: str) -> Callable[[Snapshot, Filters], Answer]:
    if name == "fared":  # also where there is too little to score the rest
        return lambda snapshot, filters: replace(
            suggestions_fared(snapshot, filters), more={}
        )
    return lambda snapshot, filters: suggestions_part(
        suggestion_report(snapshot, filters), name
    )


def _left_out(snapshot: Snapshot, filters: Filters) -> Answer:
    del filters  # the whole register is asked
    return left_out(snapshot)


def _rejected(place: Place, filters: Filters) -> Answer:
    del filters  # a row set aside belongs to no group yet
    return rejected(place)


def _today(name: str) -> Callable[[Place, Filters], Answer]:
    return lambda place, filters: today_part(today(place, filters), name)


def _alarms(place: Place, filters: Filters) -> Answer:
    return watch_flat(watch(place, filters))


def _watch(name: str) -> Callable[[Place, Filters], Answer]:
    return lambda place, filters: watch_part(watch(place, filters), name)


WITH_ALARM = ("watch", *(f"watch-{name}" for name in BY_ALARM), "alarm-units")


def _one_alarm(place: Place, name: str, filters: Filters, alarm: str) -> Answer:
    if name == "alarm-units":
        return alarm_units(place, filters, alarm=alarm)
    answer = of_alarm(watch(place, filters), alarm)
    if name == "watch":
        return watch_flat(answer)
    return watch_part(answer, name.removeprefix("watch-"))


LIFE = ("life", *(f"life-{name}" for name in LIFE_PARTS))


def _life(place: Place, name: str, filters: Filters, words: LifeWords) -> Answer:
    answer = life(current_snapshot(place.published), filters, **words.asked())
    return answer if name == "life" else life_part(answer, name.removeprefix("life-"))


OTHERS: Mapping[str, Callable[[Place, Filters], Answer]] = {
    "today": today,
    **{f"today-{name}": _today(name) for name in TODAY_PARTS},
    "modes": _published(modes),
    **{f"modes-{name}": _published(_modes(name)) for name in MODES_PARTS},
    "watch": _alarms,
    **{f"watch-{name}": _watch(name) for name in WATCH_PARTS},
    "alarm-units": alarm_units,
    "cases": _published(cases),
    "units": _published(units),
    "readings": _published(readings),
    "quality": _published(_quality),
    **{f"quality-{name}": _published(_part(name)) for name in PARTS},
    "quality-left-out": _published(_left_out),
    "suggestions": _published(suggestion_report),
    **{
        f"suggestions-{name}": _published(_suggestions(name))
        for name in SUGGESTIONS_PARTS
    },
    "rejected": _rejected,
}


TABLES = ("modes", *LIFE, *(name for name in OTHERS if name != "modes"))


def table(
    place: Place,
    name: str,
    filters: Filters,
    words: LifeWords | None = None,
    *,
    alarm: str | None = None,
) -> Answer:
    """Return the table of that name under the filters.

    Parameters
    ----------
    place : Place
    name : str
        One of `TABLES`.
    filters : Filters
    words : LifeWords, optional
        What is asked of the tables about lives beside the filters.
    alarm : str, optional
        The id of the only alarm asked about, of the tables that have rows by alarm.

    Raises
    ------
    NotFoundError
        No table of that name, or no such alarm; names the nearest.
    UsageError
        Words about lives, or an alarm, beside another table.
    """
    if name not in TABLES:
        near = difflib.get_close_matches(name, TABLES, n=1)
        known = f"Known tables: {', '.join(TABLES)}."
        raise NotFoundError(
            f"There is no table {name}.",
            hint=f"The nearest is {near[0]}. {known}" if near else known,
        )
    if alarm is not None and name not in WITH_ALARM:
        raise UsageError(
            f"alarm cannot be asked of the table {name}.",
            hint=f"It belongs to {', '.join(WITH_ALARM)}; leave it out.",
        )
    asked = words or LifeWords()
    if name in LIFE:
        return _life(place, name, filters, asked)
    asked.refuse_beside(name)
    if alarm is not None:
        return _one_alarm(place, name, filters, alarm)
    return OTHERS[name](place, filters)
