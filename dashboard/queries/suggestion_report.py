"""How good the suggestions are, measured on cases the suggester had not seen."""

from analytics.advice.evaluation import Evaluation
from analytics.errors import InsufficientDataError
from analytics.rollup.snapshot import Snapshot
from dashboard import text
from dashboard.filters import Filters
from dashboard.queries import suggestion_report_parts as parts
from dashboard.queries import suggestion_report_words as words
from dashboard.queries.answer import Answer
from dashboard.queries.suggestion_report_fared import (
    refuse_filters,
    suggestions_fared,
)
from dashboard.queries.trained import trained_suggester

METHOD = (
    "Confirmed cases in the order received: a suggester fitted on the oldest 70 %, its "
    "evidence weighed on the next 15 %, names the mode of the newest 15 %. Only labels "
    "confirmed before the newer cases came in are used, and all returns of one unit "
    "stand on one side. Beside it, the same cases named by how often each mode was "
    "confirmed before, without any evidence. Shares with Wilson's 95 % interval; log "
    "loss with the interval of a mean (normal), in nats per case. Calibration error: "
    "mean difference of confidence and share right over ten bins of equal width; by "
    "chance: what 95 % of 500 drawn suggesters stay below whose confidence is exactly "
    "right. The suggester in use is fitted on all cases and may be better than this."
)


def suggestion_report(snapshot: Snapshot, filters: Filters) -> Answer:
    """Return how often suggestions were right, and whether their shares can be read.

    Parameters
    ----------
    snapshot : Snapshot
    filters : Filters
        None may be set: the suggester is scored as a whole.

    Returns
    -------
    Answer
        Rows: measure, label, of, value, low, high, n, n_of, by_chance. More:
        fared (how suggestions kept for open cases fared, as `suggestions_fared`),
        calibration, coverage, modes, months (the further tables), fared_sentences,
        fared_suggesters, n_fitted,
        n_weighed, n_scored, n_repeated_texts, n_cases, n_unlabelled, trained_to,
        source, temperature, weights, half_life_days, sentence, calibration_sentence,
        answered_sentence, notes.

    Raises
    ------
    InsufficientDataError
        Too few confirmed cases to score suggestions.
    NotPublishedError
        The suggester beside the figures cannot be used.
    UsageError
        A filter is set.
    """
    refuse_filters(filters)
    suggester = trained_suggester(snapshot.suggester_folder)
    found = suggester.evaluation
    if found is None:
        missing = suggester.not_scored
        if missing is None:  # our own mistake: it is one or the other
            raise RuntimeError("a suggester without scores says why")
        raise InsufficientDataError(
            missing.what, needed=missing.needed, found=missing.found
        )
    causes = [str(cause) for cause in suggester.causes]
    fared = suggestions_fared(snapshot, filters)
    return Answer(
        about=snapshot.about,
        filters=filters,
        method=METHOD,
        rows=parts.measures(found),
        more={
            "fared": fared.rows,
            "fared_sentences": fared.more["sentences"],
            "fared_suggesters": fared.more["suggesters"],
            "calibration": parts.calibration(found),
            "coverage": parts.coverage(found),
            "modes": parts.modes(found, causes),
            "months": parts.months(found),
            "n_fitted": found.n_fitted,
            "n_weighed": found.n_weighed,
            "n_scored": found.n_scored,
            "n_repeated_texts": found.n_repeated_texts,
            "n_cases": suggester.n_cases,
            "n_unlabelled": suggester.n_unlabelled,
            "trained_to": suggester.as_of,
            "source": suggester.source,
            "temperature": found.temperature,
            "weights": suggester.weights,
            "half_life_days": suggester.half_life,
            "sentence": words.answer(found),
            "calibration_sentence": words.calibration(found),
            "answered_sentence": words.answered(found),
            "notes": [*words.notes(found), _unconfirmed(found)],
        },
        invented=snapshot.about.is_invented,
    )


def _unconfirmed(found: Evaluation) -> str:
    scored = [month for month in found.months if month.n_scored]
    n_cases = sum(month.n_cases for month in scored)
    n_open = sum(month.n_unlabelled for month in scored)
    if not n_cases:
        return "Only confirmed cases are scored; those never confirmed are harder."
    return (
        f"Only confirmed cases are scored. Of the {text.counted(n_cases, 'case')} "
        f"received from {scored[0].month} to {scored[-1].month}, "
        f"{text.count(n_open)} ({text.share(n_open / n_cases, n_cases)}) have no "
        "confirmed mode; they are the harder ones, so the figures are too good for "
        "them."
    )
