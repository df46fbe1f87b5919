"""What the settings say about lives and the watch: what publishing needs of them."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Literal

FailuresSeen = Literal["always", "in_warranty"]


@dataclass(frozen=True, slots=True)
class ModelRules:
    """What is known of a model; None means not known, never guessed.

    Attributes
    ----------
    reporting_lag_days : int
        Days from failure to receipt, used where no failure date was reported.
    warranty_months : int or None
        Term from the in-service day.
    control_supply_v, coil_ohm, coil_v, contactor_open_ohm : float or None
        The maker's values that limits of the bench depend on.
    """

    reporting_lag_days: int = 0
    warranty_months: int | None = None
    control_supply_v: float | None = None
    coil_ohm: float | None = None
    coil_v: float | None = None
    contactor_open_ohm: float | None = None


@dataclass(frozen=True, slots=True)
class LifeRules:
    """Rules from records to lives.

    Attributes
    ----------
    failures_seen : {"always", "in_warranty"}
        Whether failures after the warranty term reach this register.
    confirmation_delay_days : int
        How late reports come in, used when too few delays are on record.
    false_alarms_per_year : float
        How many alarms a year the watch may raise in a fleet where nothing changes.
    models : mapping of model name to ModelRules
    """

    failures_seen: FailuresSeen = "always"
    confirmation_delay_days: int = 0
    false_alarms_per_year: float = 2.0
    models: Mapping[str, ModelRules] = field(default_factory=dict)
