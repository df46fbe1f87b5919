"""Returns of the invented fleet as a suggester is given them, with the true faults."""

from dataclasses import dataclass
from unittest import mock

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from analytics.advice import suggest
from analytics.advice.evaluation import NotScored
from analytics.advice.expert_table import default_expert_table
from analytics.advice.suggest import FaultSuggester
from synthetic_data import scenario
from synthetic_data.fleet import draw_fleet
from synthetic_data.lives import Events
from synthetic_data.register import Register
from synthetic_data.scenario import MODELS, day_of, mode_laws
from synthetic_data.symptoms import Intake
from tests.truth import suggest_bayes
from tests.truth.suggest_bayes import Codes, Floats

CASES_A_UNIT = 0.10  # returns for each unit of the fleet, at least


@dataclass(frozen=True, slots=True)
class Returns:
    """n returns, oldest first: their cells, and the true mode of each.

    `mode` indexes the modes of the scenario; `cases` has the columns that training
    reads. Rows before `first` have no evidence: they are there for the histories of
    the units.
    """

    register: Register
    events: Events
    cases: pd.DataFrame
    first: int

    def __len__(self) -> int:
        return len(self.cases)

    @property
    def mode(self) -> NDArray[np.int64]:
        return self.events.mode

    @property
    def cause(self) -> list[str]:
        laws = mode_laws()
        return [laws[mode].mode for mode in self.mode.tolist()]

    def take(self, rows: NDArray[np.int64]) -> "Returns":
        cases = self.cases.iloc[rows].reset_index(drop=True)
        return Returns(self.register, self.events.take(rows), cases, 0)

    def without_evidence(self) -> "Returns":
        """Return the same returns with nothing known of them but dates and units."""
        cases = self.cases[["received_on", "confirmed_on", "serial"]]
        return Returns(self.register, self.events, cases, self.first)

    def confirmed_before(self, row: int) -> NDArray[np.int64]:
        """Return the earlier rows whose fault was known when this one came in."""
        known = self.events.confirmed[:row] <= self.events.received[row]
        return np.flatnonzero(known & (np.arange(row) >= self.first))

    def bayes(self, rows: NDArray[np.int64]) -> Floats:
        """Return Bayes' rule for some of the returns, shape (rows, modes)."""
        # Repairs before count, whoever is asked about: the rates are those of all.
        rates = suggest_bayes.log_intensity(self.register, self.events)[rows]
        some = self.cases.iloc[rows]
        found = suggest_bayes.log_likelihood(
            [_codes(cell) - {"none_reported"} for cell in some["symptoms"]],
            [_codes(cell) for cell in some["symptoms_denied"]],
            some["charger_error_codes"].tolist(),
            [
                _codes(cell) - {"clean"} if isinstance(cell, str) else None
                for cell in some["intake_findings"]
            ],
        )
        return suggest_bayes.posterior(rates, found)


def draw_returns(n_cases: int, rng: np.random.Generator) -> Returns:
    """Draw a fleet with so many returns and more, and take the newest of them."""
    seed = int(rng.integers(2**31))
    fleet = draw_fleet(int(n_cases / CASES_A_UNIT) + 1, seed)
    register, events = fleet.register, fleet.events
    first = len(events) - n_cases
    if first < 0:
        raise ValueError(f"the fleet has only {len(events)} returns, not {n_cases}")
    return Returns(register, events, _cases(register, events, first, rng), first)


def trained(returns: Returns) -> FaultSuggester:
    """Train as publishing does, but for the scores of its own, which nobody reads."""
    unscored = NotScored("cases to score", needed=1, found=0)
    with mock.patch.object(suggest, "evaluate", return_value=unscored):
        return suggest.FaultSuggester.fit(
            returns.cases,
            returns.cause,
            expert_table=default_expert_table(),
            rng=np.random.default_rng(1),
        )


def _cases(
    register: Register, events: Events, first: int, rng: np.random.Generator
) -> pd.DataFrame:
    intake, laws = Intake(rng), mode_laws()
    n = len(events)
    rows = [
        {} if row < first else intake.evidence(laws[mode])
        for row, mode in enumerate(events.mode.tolist())
    ]
    columns = (
        *("symptoms", "symptoms_denied", "symptom_text", "charger_error_codes"),
        *("opened_before_arrival", "intake_findings"),
    )
    cases = pd.DataFrame(rows, columns=list(columns), dtype=object)
    cases = cases.where(cases.notna(), None)
    model = register.model[events.unit].tolist()
    environment = rng.choice(
        list(scenario.ENVIRONMENTS), n, p=list(scenario.ENVIRONMENTS.values())
    )
    return cases.assign(
        model=[MODELS[number].name for number in model],
        connector=[MODELS[number].connector for number in model],
        environment=environment,
        age_days=(events.failed - register.in_service[events.unit]).astype(float),
        received_on=[day_of(day) for day in events.received.tolist()],
        confirmed_on=[day_of(day) for day in events.confirmed.tolist()],
        serial=[str(unit) for unit in events.unit.tolist()],
    )


def _codes(cell: object) -> Codes:
    return frozenset(cell.split(";")) if isinstance(cell, str) else frozenset()
