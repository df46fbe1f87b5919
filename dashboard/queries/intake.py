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

from dashboard.filters import Words, listed_code
from dashboard.queries.typed_readings import TypedReading, typed_reading
from ingest import catalogue
from ingest.errors import UsageError

OPENED = ("yes", "no", "unknown")


def _blank_is_unknown(value: object) -> object:
    return None if isinstance(value, str) and not value.strip() else value


def _upper(value: object) -> object:
    known = _blank_is_unknown(value)
    return known.strip().upper() if isinstance(known, str) else known


Word = Annotated[str | None, BeforeValidator(_blank_is_unknown)]
LongText = Annotated[str, Field(max_length=2000)]


class Intake(BaseModel):
    """Evidence from intake; a field left out is unknown, never absent.

    `symptom` was reported, `not_symptom` was asked about and denied; anything else is
    unknown. `serial` names the unit on the bench: what the register holds of it fills
    in what was not typed.
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

    @model_validator(mode="after")
    def _known(self) -> Self:
        for name, kind, words in (
            ("symptom", "symptoms", self.symptom),
            ("not_symptom", "symptoms", self.not_symptom),
            ("finding", "findings", self.finding),
            ("error_word", "charger_error_codes", self.error_word),
            ("environment", "environments", (self.environment,)),
            ("connector", "connectors", (self.connector,)),
        ):
            for word in words:
                if word is not None:
                    listed_code(name, word, catalogue.codes(kind))
        if self.opened_before_arrival is not None:
            listed_code("opened_before_arrival", self.opened_before_arrival, OPENED)
        both = sorted(set(self.symptom) & set(self.not_symptom))
        if both:
            raise PydanticCustomError(
                "both",
                "{codes} cannot be both reported and denied",
                {"codes": ", ".join(both)},
            )
        self.readings()
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
