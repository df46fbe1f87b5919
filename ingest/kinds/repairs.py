"""One return of a unit: a case, from intake to close."""

from typing import Annotated, Literal

from pydantic import Field, ValidationInfo, field_validator

from ingest.cells import (
    Codes,
    Currency,
    Day,
    LongText,
    Money,
    Number,
    Parts,
    Record,
    Serial,
    ShortText,
    Text,
    code_of,
    codes_of,
    problem,
)
from ingest.kinds.day_order import in_order


class Repair(Record):
    """One return of a unit ("case"), from intake to close."""

    case_id: ShortText
    serial: Serial
    last_known_good_on: Day | None = None
    failed_on: Day | None = None
    received_on: Day
    symptoms: Annotated[Codes, codes_of("symptoms")] | None = None
    symptoms_denied: Annotated[Codes, codes_of("symptoms")] | None = None
    symptom_text: LongText | None = None
    charger_error_codes: Annotated[Codes, codes_of("charger_error_codes")] | None = None
    opened_before_arrival: Literal["yes", "no", "unknown"] | None = None
    intake_findings: Annotated[Codes, codes_of("findings")] | None = None
    firmware_version: Text | None = None
    confirmed_mode: Annotated[Text, code_of("failure_modes")] | None = None
    mechanism: Annotated[Text, code_of("mechanisms")] | None = None
    cause_category: Annotated[Text, code_of("cause_categories")] | None = None
    confirmed_on: Day | None = None
    closed_on: Day | None = None
    disposition: Annotated[Text, code_of("dispositions")] | None = None
    replaced_by_serial: Serial | None = None
    labour_minutes: Annotated[float, Number, Field(ge=0, le=10_000)] | None = None
    parts_used: Parts | None = None
    parts_cost: Money | None = None
    freight_cost: Money | None = None
    currency: Currency | None = Field(default=None, validate_default=True)
    technician: ShortText | None = None

    _dates = field_validator("failed_on", "received_on", "confirmed_on", "closed_on")(
        in_order
    )

    @field_validator("symptoms_denied")
    @classmethod
    def _not_both(cls, denied: str | None, info: ValidationInfo) -> str | None:
        reported = (info.data.get("symptoms") or "").split(";")
        both = [code for code in (denied or "").split(";") if code in reported]
        if both:
            raise problem(
                "out_of_range",
                f"`{both[0]}` is in symptoms too; it is one or the other",
            )
        return denied

    @field_validator("currency")
    @classmethod
    def _with_a_cost(cls, currency: str | None, info: ValidationInfo) -> str | None:
        if currency is None:
            for name in ("parts_cost", "freight_cost"):
                if (cost := info.data.get(name)) is not None:
                    raise problem("currency_missing", f"{name} {cost} has no currency")
        return currency
