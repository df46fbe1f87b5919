"""How far the readings confirm a mode, in words."""

from collections.abc import Iterable, Sequence

from ingest.catalogue import checks, failure_modes


def verdict_words(
    mode: str,
    *,
    by: Sequence[str],
    against: Sequence[str],
    missing: Sequence[str],
    asks: Sequence[str],
    denied: Sequence[str],
) -> str:
    """Return what the readings say of a mode, as one sentence.

    Parameters
    ----------
    mode : str
    by, against : sequence of str
        Failed checks that confirm it, and checks that speak against it.
    missing : sequence of str
        What must still be seen, in words.
    asks, denied : sequence of str
        What no reading can say: still to be answered, and answered no.
    """
    label = failure_modes()[mode].label
    if against:
        return f"{_labels(against)} speaks against {label}."
    if not by:
        return f"No check that confirms {label} has failed yet."
    start = f"{_labels(by)} failed"
    if denied:
        no = "; ".join(denied)
        return f"{start}, but not so: {no}. That does not confirm {label}."
    if missing:
        return f"{start}; before {label} counts as confirmed: {'; '.join(missing)}."
    if asks:
        return f"{start}, which confirms {label} if: {'; '.join(asks)}."
    return f"{start}, with what must be seen beside it: {label} is confirmed."


def _labels(codes: Iterable[str]) -> str:
    return ", ".join(checks()[code].label for code in codes)
