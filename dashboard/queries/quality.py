"""Can the data be trusted: what was read, what is doubtful, and what to do about it."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from typing import cast

from analytics.rollup.snapshot import Snapshot
from dashboard.filters import Filters
from dashboard.queries import quality_doubts, quality_files
from dashboard.queries.answer import Answer, Row
from dashboard.queries.label_support import label_support
from dashboard.queries.quality_late import late_reports
from dashboard.queries.quality_spelling import flat_spelling, spelling

METHOD = (
    "Rows of every file taken in up to the publish, without files taken back: read = "
    "accepted + unchanged + replaced + set aside. Each row counts once for each field "
    "and problem. Shares with Wilson's 95 % interval, as if the files were a sample of "
    "what comes in. Delays: cases received in the 12 months to the day the figures "
    "speak for, corrected for reports not in yet; no longer delay than the longest "
    "seen is known of. The filters choose the cases of the delays and of the proved "
    "modes; a file and a row set aside belong to no group."
)
LEFT_OUT_METHOD = "Units of the register without life data, each with the reason."

# The parts that the filters choose.
OF_LABELS = {"label-support", "contradicted"}
OF_CASES = {"late", "months"} | OF_LABELS


def _more(name: str) -> Callable[[Mapping[str, object]], Sequence[Row]]:
    return lambda more: cast("Sequence[Row]", more[name])


def _late(name: str) -> Callable[[Mapping[str, object]], Sequence[Row]]:
    return lambda more: cast("Mapping[str, Sequence[Row]]", more["late"])[name]


def _support(more: Mapping[str, object]) -> Mapping[str, object]:
    return cast("Mapping[str, object]", more["label_support"])


# The further tables of the page, by the name each has as a file.
PARTS: Mapping[str, Callable[[Mapping[str, object]], Sequence[Row]]] = {
    "problems": lambda more: quality_files.flat_problems(_more("problems")(more)),
    "files": _more("files"),
    "examples": lambda more: quality_files.example_rows(_more("problems")(more)),
    "late": _late("steps"),
    "months": _late("months"),
    "label-support": lambda more: flat_support(_support(more)),
    "contradicted": lambda more: cast("Sequence[Row]", _support(more)["rows"]),
    "waiting": _more("waiting"),
    "spelling": lambda more: flat_spelling(_more("spelling")(more)),
}


def quality(snapshot: Snapshot, filters: Filters) -> Answer:
    """Return what was read, kept and set aside, and what makes the data doubtful.

    Parameters
    ----------
    snapshot : Snapshot
    filters : Filters
        `from` and `to` choose by the day of receipt. Only the parts about cases use
        them: label_support, late.

    Returns
    -------
    Answer
        Rows: batch, file, kind, field, code, n_rows, is_notice, what_to_do. More:
        files (one entry for each file with its counts and the share set aside),
        total, problems (over all files, most rows first, each with up to three
        examples), label_support (as the query of that name gives it, its rows the
        contradicted cases), late, asked (what to look at, in sentences), term_end,
        register, waiting, spelling, left_out (units without life data, by reason),
        n_unknown_serial, observation_end, delay_days, delay_source, n_delays.
    """
    rows = quality_files.problem_rows(snapshot)
    files = quality_files.files(snapshot)
    left_out = snapshot.ask(
        "life_left_out", Filters().parameters(), chosen="chosen_units"
    )
    unknown = snapshot.ask("unknown_serials")["n_cases"].iloc[0]
    about = snapshot.about
    register = quality_doubts.register(snapshot)
    term_end = quality_doubts.term_end(snapshot)
    support = label_support(snapshot, filters)
    return Answer(
        about=about,
        filters=filters,
        method=METHOD,
        rows=rows,
        more={
            "total": quality_files.total(files),
            "files": files,
            "problems": quality_files.top_problems(snapshot, rows),
            "label_support": {
                **support.more,
                "method": support.method,
                "rows": support.rows,
            },
            "late": late_reports(snapshot, filters),
            "asked": quality_doubts.asked(
                register, term_end, n_contradicted=len(support.rows)
            ),
            "term_end": term_end,
            "register": register,
            "waiting": quality_doubts.waiting(snapshot),
            "spelling": spelling(snapshot),
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


def part(answer: Answer, name: str) -> Answer:
    """Return one of the further tables of the page as an answer of its own.

    Parameters
    ----------
    answer : Answer
        As `quality` gives it.
    name : str
        One of `PARTS`.
    """
    return replace(
        answer,
        filters=answer.filters if name in OF_CASES else Filters(),
        rows=PARTS[name](answer.more),
        method=str(_support(answer.more)["method"])
        if name in OF_LABELS
        else answer.method,
        more={},
    )


def flat_support(support: Mapping[str, object]) -> list[Row]:
    """Return one row for each support a label may have: n_cases, share, low, high."""
    counts = cast("Mapping[str, int]", support["counts"])
    shares = cast("Mapping[str, Row]", support["shares"])
    return [
        {"support": name, "n_cases": n_cases} | dict(shares[name])
        for name, n_cases in counts.items()
    ]


def left_out(snapshot: Snapshot) -> Answer:
    """Return the units that tell nothing about time to failure, with the reasons."""
    return Answer(
        about=snapshot.about,
        filters=Filters(),
        method=LEFT_OUT_METHOD,
        rows=quality_doubts.left_out_units(snapshot),
        invented=snapshot.about.is_invented,
    )
