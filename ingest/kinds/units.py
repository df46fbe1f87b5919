"""One charger in the field, returned or not."""

from typing import Annotated

from pydantic import Field, field_validator

from ingest.cells import (
    Codes,
    Day,
    Number,
    OneOf,
    Record,
    Serial,
    Text,
    Whole,
    code_of,
    codes_of,
)
from ingest.kinds.day_order import in_order


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
    phases: Annotated[int, Whole, OneOf((1, 3))] | None = None
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

    _dates = field_validator("shipped_on", "in_service_on", "retired_on")(in_order)
