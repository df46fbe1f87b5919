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
    """The workshop's own number of the return"""
    serial: Serial
    """Serial number of the unit; it may be unknown to the units so far"""
    last_known_good_on: Day | None = None
    """Day it still worked; brackets the failure"""
    failed_on: Day | None = None
    """Day first seen not working, as reported"""
    received_on: Day
    """Day the workshop received it"""
    symptoms: Annotated[Codes, codes_of("symptoms")] | None = None
    """What was reported or seen before any measurement"""
    symptoms_denied: Annotated[Codes, codes_of("symptoms")] | None = None
    """Asked about and answered no; what is in neither list is unknown, not absent"""
    symptom_text: LongText | None = None
    """What was reported, in free words; no names, addresses or telephone numbers"""
    charger_error_codes: Annotated[Codes, codes_of("charger_error_codes")] | None = None
    """Error words as the charger reported them: evidence, never a root cause"""
    opened_before_arrival: Literal["yes", "no", "unknown"] | None = None
    """Whether someone else worked on it before; weakens what is seen at intake"""
    intake_findings: Annotated[Codes, codes_of("findings")] | None = None
    """What was found on looking it over at intake"""
    firmware_version: Text | None = None
    """Firmware version as received"""
    confirmed_mode: Annotated[Text, code_of("failure_modes")] | None = None
    """Failure mode confirmed on the bench; empty while the case is open"""
    mechanism: Annotated[Text, code_of("mechanisms")] | None = None
    """Process that led to the failure"""
    cause_category: Annotated[Text, code_of("cause_categories")] | None = None
    """Circumstances that led to the failure"""
    confirmed_on: Day | None = None
    """Day the mode was confirmed"""
    closed_on: Day | None = None
    """Day the case was closed"""
    disposition: Annotated[Text, code_of("dispositions")] | None = None
    """What was done with the unit"""
    replaced_by_serial: Serial | None = None
    """Serial number of the unit given instead, with unit_replaced"""
    labour_minutes: Annotated[float, Number, Field(ge=0, le=10_000)] | None = None
    """Working time, in minutes"""
    parts_used: Parts | None = None
    """Parts used, by the workshop's own part codes"""
    parts_cost: Money | None = None
    """Cost of the parts; needs a currency"""
    freight_cost: Money | None = None
    """Cost of freight; needs a currency"""
    currency: Currency | None = Field(default=None, validate_default=True)
    """Currency of the costs; required with a cost"""
    technician: ShortText | None = None
    """Pseudonym of the technician, never a name"""

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
