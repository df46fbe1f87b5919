"""What is known of a return at intake, and the checks done so far, as typed."""

from collections.abc import Mapping
from typing import Annotated, Self

from pydantic import (
    BaseModel,
    BeforeValidator,
    ConfigDict,
    Field,
    ValidationError,
    model_validator,
)
from pydantic_core import PydanticCustomError

from analytics.advice.confirming import all_asks
from analytics.advice.label_support import OUTSIDE_MODES
from analytics.advice.limits_pilot import LEAST_A, MOST_A
from analytics.advice.protocol import ELSEWHERE
from dashboard.filters import Words, listed_code
from dashboard.queries.typed_readings import TypedReading, typed_reading
from ingest import catalogue
from ingest.errors import UsageError

# What was read, seen or said of the one unit on the bench: never kept, never in the
# address of a page.
AT_THE_BENCH = (
    *("reading", "met", "not_met", "mended", "disposition", "after_reading"),
    *("claim", "claim_reason"),
)
OPENED = ("yes", "no", "unknown")


def _blank_is_unknown(value: object) -> object:
    return None if isinstance(value, str) and not value.strip() else value


def _upper(value: object) -> object:
    known = _blank_is_unknown(value)
    return known.strip().upper() if isinstance(known, str) else known


def _not_both(some: Words, others: Words, how: str) -> None:
    both = sorted(set(some) & set(others))
    if both:
        raise PydanticCustomError(
            "both",
            "{codes} cannot be both {how}",
            {"codes": ", ".join(both), "how": how},
        )


Word = Annotated[str | None, BeforeValidator(_blank_is_unknown)]
LongText = Annotated[str, Field(max_length=2000)]


class Intake(BaseModel):
    """Evidence from intake; a field left out is unknown, never absent.

    `symptom` was reported, `not_symptom` was asked about and denied; anything else is
    unknown. `serial` names the unit on the bench: what the register holds of it fills
    in what was not typed.

    `met` and `not_met` answer what no reading can say (`asks` of a verdict, in its
    words); `mended` is the mode that was repaired and `disposition` what was done,
    after which only `after_reading` opens the gate; `claim` is said of the whole case,
    by the protocol or for `claim_reason`; `what_if` asks what a check would tell.
    """

    model_config = ConfigDict(extra="forbid", frozen=True)

    symptom: Words = ()
    not_symptom: Words = ()
    finding: Words = ()
    error_word: Words = ()
    reading: Words = ()
    text: Annotated[LongText | None, BeforeValidator(_blank_is_unknown)] = None
    model: Word = None
    environment: Word = None
    connector: Word = None
    age_days: Annotated[int | None, Field(ge=0, le=36_525)] = None
    opened_before_arrival: Word = None
    serial: Annotated[str | None, BeforeValidator(_upper)] = None
    current_setting_a: Annotated[float | None, Field(ge=LEAST_A, le=MOST_A)] = None
    met: Words = ()
    not_met: Words = ()
    mended: Word = None
    disposition: Word = None
    after_reading: Words = ()
    claim: Word = None
    claim_reason: Annotated[LongText | None, BeforeValidator(_blank_is_unknown)] = None
    what_if: Word = None

    @model_validator(mode="after")
    def _known(self) -> Self:
        asks = (*all_asks(), ELSEWHERE)
        for name, known, words in (
            ("symptom", catalogue.codes("symptoms"), self.symptom),
            ("not_symptom", catalogue.codes("symptoms"), self.not_symptom),
            ("finding", catalogue.codes("findings"), self.finding),
            ("error_word", catalogue.codes("charger_error_codes"), self.error_word),
            ("environment", catalogue.codes("environments"), (self.environment,)),
            ("connector", catalogue.codes("connectors"), (self.connector,)),
            ("opened_before_arrival", OPENED, (self.opened_before_arrival,)),
            ("met", asks, self.met),
            ("not_met", asks, self.not_met),
            ("mended", catalogue.failure_modes(), (self.mended,)),
            ("disposition", catalogue.codes("dispositions"), (self.disposition,)),
            ("claim", OUTSIDE_MODES, (self.claim,)),
            ("what_if", catalogue.checks(), (self.what_if,)),
        ):
            for word in words:
                if word is not None:
                    listed_code(name, word, known)
        _not_both(self.symptom, self.not_symptom, "reported and denied")
        _not_both(self.met, self.not_met, "met and not met")
        self.readings()
        self.after_readings()
        return self

    @model_validator(mode="after")
    def _whole(self) -> Self:
        for name, other, what in (
            ("mended", "disposition", "say what was done with the unit"),
            ("disposition", "mended", "say which mode was repaired"),
            ("after_reading", "mended", "say first what was repaired"),
            ("claim_reason", "claim", "say what it is a reason for"),
        ):
            if getattr(self, name) and not getattr(self, other):
                raise PydanticCustomError(
                    "goes_together",
                    "{name} needs {other}: {what}",
                    {"name": name, "other": other, "what": what},
                )
        return self

    @classmethod
    def of(cls, words: Mapping[str, object]) -> "Intake":
        """Make an intake from words as typed; an error says which is not known."""
        given = {k: v for k, v in words.items() if v not in (None, "", (), [])}
        try:
            return cls.model_validate(given)
        except ValidationError as error:
            first = error.errors()[0]
            where = "".join(f"{part}: " for part in first["loc"])
            raise UsageError(
                f"{where}{first['msg']}.",
                hint="Correct it; `mendfleet suggest --help` shows the form.",
            ) from None

    def readings(self) -> list[TypedReading]:
        """Return the readings as typed, in the order given."""
        return [typed_reading(text) for text in self.reading]

    def after_readings(self) -> list[TypedReading]:
        """Return the readings taken after the repair, in the order given."""
        return [typed_reading(text) for text in self.after_reading]

    def evidence(self) -> dict[str, object]:
        """Return the evidence by the fields of a case; what is unknown is left out."""
        found: dict[str, object] = {
            "symptoms": ";".join(self.symptom),
            "symptoms_denied": ";".join(self.not_symptom),
            "intake_findings": ";".join(self.finding),
            "charger_error_codes": ";".join(self.error_word),
            "symptom_text": self.text,
            "model": self.model,
            "environment": self.environment,
            "connector": self.connector,
            "age_days": self.age_days,
            "opened_before_arrival": self.opened_before_arrival,
        }
        return {name: value for name, value in found.items() if value not in ("", None)}
