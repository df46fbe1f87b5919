"""Units, repairs and readings: the only rule book of what a row must be.

Rules between fields sit at the later field and look back at the earlier ones, so that
a row with several faults names them all at once. That is why a few fields come in
another order than in the file description: an earlier day before a later one.
"""

import datetime as dt
from collections.abc import Callable
from dataclasses import dataclass
from operator import attrgetter
from typing import Annotated, Any, Literal

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
    Whole,
    code_of,
    codes_of,
    problem,
)
from ingest.readings import Measured, Reading

__all__ = ["KINDS", "KindSpec", "Reading", "Record", "Repair", "Unit"]

# Which recorded day must not lie after this one, nearest first; True: nor on it.
EARLIER: dict[str, tuple[tuple[str, bool], ...]] = {
    "shipped_on": (("manufactured_on", False),),
    "in_service_on": (("shipped_on", False), ("manufactured_on", False)),
    "retired_on": (
        ("in_service_on", False),
        ("shipped_on", False),
        ("manufactured_on", False),
    ),
    "failed_on": (("last_known_good_on", True),),
    "received_on": (("failed_on", False), ("last_known_good_on", True)),
    "confirmed_on": (("received_on", False),),
    "closed_on": (("confirmed_on", False), ("received_on", False)),
}


def _in_order(day: dt.date, info: ValidationInfo) -> dt.date:
    for name, strictly in EARLIER[str(info.field_name)]:
        before = info.data.get(name)
        if before is None:
            continue
        if day < before or (strictly and day == before):
            words = "must be after" if strictly else "must not be before"
            raise problem("date_order", f"{words} {name} {before}")
        break
    return day


class Unit(Record):
    """One charger in the field, returned or not."""

    serial: Serial
    model: Text
    hardware_revision: Text | None = None
    firmware_version: Text | None = None
    production_lot: Text | None = None
    cable_supplier: Text | None = None
    manufactured_on: Day | None = None
    shipped_on: Day | None = None
    in_service_on: Day | None = None
    retired_on: Day | None = None
    registered_on: Day | None = None
    site: Text | None = None
    region: Text | None = None
    environment: Annotated[Text, code_of("environments")] | None = None
    duty: Annotated[Text, code_of("duties")] | None = None
    connector: Annotated[Text, code_of("connectors")] | None = None
    phases: Annotated[int, Whole] | None = None
    supply_connection: Annotated[Text, code_of("supply_connections")] | None = None
    cable_length_m: Annotated[float, Number, Field(ge=0, le=50)] | None = None
    conductor_area_mm2: Annotated[float, Number, Field(ge=0.5, le=50)] | None = None
    earth_area_mm2: Annotated[float, Number, Field(ge=0.5, le=50)] | None = None
    rated_current_a: Annotated[float, Number, Field(ge=1, le=125)] | None = None
    supply_system: Annotated[Text, code_of("supply_systems")] | None = None
    ground_fault_device: Annotated[Codes, codes_of("ground_fault_devices")] | None = (
        None
    )
    warranty_months: Annotated[int, Whole, Field(ge=0, le=240)] | None = None
    warranty_extended_to: Day | None = None
    sale_type: Text | None = None

    @field_validator("phases")
    @classmethod
    def _one_or_three(cls, phases: int | None) -> int | None:
        if phases not in (1, 3):
            raise problem("out_of_range", "must be 1 or 3")
        return phases

    _dates = field_validator("shipped_on", "in_service_on", "retired_on")(_in_order)


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
        _in_order
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


def _reading_row(reading: Any) -> tuple[object, ...]:
    return (*_READING_FIELDS(reading), *reading.measured())


@dataclass(frozen=True, slots=True)
class KindSpec:
    """One kind of file.

    Attributes
    ----------
    name : str
    model : type of Record
    key : tuple of str
        Fields that tell one record from another.
    table : str
        Where every version is kept; the view `name` shows the newest.
    columns : tuple of str
        Columns of the table that a record fills, in the order of `values`.
    values : callable
        From a record to its values.
    """

    name: str
    model: type[Record]
    key: tuple[str, ...]
    table: str
    columns: tuple[str, ...]
    values: Callable[[Any], tuple[object, ...]]

    @property
    def fields(self) -> tuple[str, ...]:
        """The column names that a file may have."""
        return tuple(self.model.model_fields)

    @property
    def required(self) -> tuple[str, ...]:
        """The column names that a file must have."""
        fields = self.model.model_fields.items()
        return tuple(name for name, field in fields if field.is_required())


_READING_FIELDS = attrgetter(*Reading.model_fields)
READING_KEY = (
    "case_id", "check", "stage", "point", "condition", "taken_at", "sequence",
)  # fmt: skip

# In the order in which files of one call are taken in: a repair looks for its unit,
# a reading for its case.
KINDS: dict[str, KindSpec] = {
    "units": KindSpec(
        name="units",
        model=Unit,
        key=("serial",),
        table="unit_versions",
        columns=tuple(Unit.model_fields),
        values=attrgetter(*Unit.model_fields),
    ),
    "repairs": KindSpec(
        name="repairs",
        model=Repair,
        key=("case_id",),
        table="repair_versions",
        columns=tuple(Repair.model_fields),
        values=attrgetter(*Repair.model_fields),
    ),
    "readings": KindSpec(
        name="readings",
        model=Reading,
        key=READING_KEY,
        table="reading_versions",
        columns=(*Reading.model_fields, *Measured._fields),
        values=_reading_row,
    ),
}
