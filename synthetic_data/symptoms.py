"""What is seen and said when a unit comes in, given its true fault."""

from typing import Any

import numpy as np

from synthetic_data import scenario
from synthetic_data.scenario import ModeLaw, read_table

# All chances below are guesses: they make evidence that helps but does not settle.
VARIANT_A = 0.6  # every fault shows in one of two hidden ways
VOLUNTEERED = 0.78
STRAY_SYMPTOM = 0.08
NONE_REPORTED_WRITTEN = 0.5
ASKED = 0.25
INSPECTED = 0.6
STRAY_FINDING = 0.04
OPENED = {"no": 0.6, "unknown": 0.25, "yes": 0.05}
OPENINGS = ("", "", "customer says ", "since last week ", "after the storm ")
SHORT_WORD = 4  # words this short are spelt right


class Intake:
    """Draws the intake evidence of one case after another."""

    def __init__(self, rng: np.random.Generator) -> None:
        self._random = rng.random
        self._phrases: dict[str, list[str]] = {}
        for row in read_table("phrases.csv"):
            self._phrases.setdefault(row["symptom"], []).append(row["phrase"])
        self._symptoms = list(self._phrases)
        laws = scenario.mode_laws()
        self._findings = sorted({word for law in laws for word in law.findings})
        self._error_words = sorted({word for law in laws for word in law.error_words})

    def evidence(self, law: ModeLaw) -> dict[str, Any]:
        """Return the intake cells of a repair row for a unit with this fault."""
        shown = self._drawn(law.variants[self._random() > VARIANT_A])
        shown = shown or list(law.variants[0])[:1]
        told = [word for word in shown if self._random() < VOLUNTEERED]
        told = [word for word in told if word != "none_reported"]
        if told and self._random() < STRAY_SYMPTOM:
            told.append(self._one(self._symptoms))
        told = list(dict.fromkeys(told))
        none = "none_reported" if self._random() < NONE_REPORTED_WRITTEN else None
        return {
            "symptoms": ";".join(told) or none,
            "symptoms_denied": self._denied({*shown, *told}),
            "symptom_text": self._text(told),
            "charger_error_codes": self._error_word(law),
            "opened_before_arrival": self._opened(),
            "intake_findings": self._inspection(law),
        }

    def _one(self, choices: list[str] | tuple[str, ...]) -> str:
        return choices[int(self._random() * len(choices))]

    def _drawn(self, chances: dict[str, float]) -> list[str]:
        return [word for word, chance in chances.items() if self._random() < chance]

    def _denied(self, present: set[str]) -> str | None:
        if self._random() > ASKED:
            return None
        asked = {self._one(self._symptoms) for _ in range(3)}
        return ";".join(sorted(asked - present)) or None

    def _error_word(self, law: ModeLaw) -> str | None:
        if self._random() < scenario.SHARE_WITHOUT_ERROR_WORD:
            return None
        pick = self._random()
        for word, chance in law.error_words.items():
            pick -= chance
            if pick < 0:
                return word
        return self._one(self._error_words)

    def _opened(self) -> str | None:
        pick = self._random()
        for word, chance in OPENED.items():
            pick -= chance
            if pick < 0:
                return word
        return None

    def _inspection(self, law: ModeLaw) -> str | None:
        if self._random() > INSPECTED:
            return None
        seen = [word for word in self._drawn(law.findings) if word != "clean"]
        if self._random() < STRAY_FINDING:
            seen.append(self._one(self._findings))
        seen = [word for word in dict.fromkeys(seen) if word != "clean"]
        return ";".join(seen) or "clean"

    def _text(self, told: list[str]) -> str | None:
        if not told or self._random() < scenario.SHARE_WITHOUT_TEXT:
            return None
        phrases = [self._one(self._phrases[symptom]) for symptom in told]
        words = (self._one(OPENINGS) + ", ".join(phrases)).split(" ")
        return " ".join(self._spelt(word) for word in words)

    def _spelt(self, word: str) -> str:
        """Return the word, or, seldom, with a letter lost or two swapped."""
        if len(word) <= SHORT_WORD or self._random() > scenario.SHARE_MISSPELT_WORDS:
            return word
        at = 1 + int(self._random() * (len(word) - 3))
        if self._random() < 0.5:  # noqa: PLR2004 - either kind of slip
            return word[:at] + word[at + 1 :]
        return word[:at] + word[at + 1] + word[at] + word[at + 2 :]
