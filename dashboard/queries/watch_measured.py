"""How often this watch raises false alarms, as the study of it measured."""

import csv
from importlib import resources

from dashboard.queries.answer import Row


def measured() -> list[Row]:
    """Return realised over stated false alarms, a row a scene of the study.

    Returns
    -------
    list of dict
        scene, words, ratio, standard_error, n_fleets, command.
    """
    file = resources.files("dashboard") / "tables" / "watch_measured.csv"
    return [
        {
            "scene": row["scene"],
            "words": row["words"],
            "ratio": float(row["ratio"]),
            "standard_error": float(row["standard_error"]),
            "n_fleets": int(row["fleets"]),
            "command": row["command"],
        }
        for row in csv.DictReader(file.read_text(encoding="utf-8").splitlines())
    ]
