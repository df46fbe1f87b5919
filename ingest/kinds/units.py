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
    """Serial number; upper-cased"""
    model: Text
    """Sales model"""
    hardware_revision: Text | None = None
    """Hardware revision, as the maker marks it"""
    firmware_version: Text | None = None
    """Firmware version when shipped"""
    production_lot: Text | None = None
    """Production lot"""
    cable_supplier: Text | None = None
    """Supplier of the cable with its handle"""
    manufactured_on: Day | None = None
    """Day it was made"""
    shipped_on: Day | None = None
    """Day it left for the customer"""
    in_service_on: Day | None = None
    """Day it went into service; units without it and shipped_on give no life data"""
    retired_on: Day | None = None
    """Day it was taken out of service for another reason than a failure"""
    registered_on: Day | None = None
    """Day it entered this register; no failure before it could have been seen"""
    site: Text | None = None
    """Site where it stands"""
    region: Text | None = None
    """Region where it stands"""
    environment: Annotated[Text, code_of("environments")] | None = None
    """How it is exposed to weather"""
    duty: Annotated[Text, code_of("duties")] | None = None
    """Who charges at it"""
    connector: Annotated[Text, code_of("connectors")] | None = None
    """Vehicle connector of the tethered cable"""
    phases: Annotated[int, Whole, OneOf((1, 3))] | None = None
    """Phases of the supply"""
    supply_connection: Annotated[Text, code_of("supply_connections")] | None = None
    """How it is connected to the supply"""
    cable_length_m: Annotated[float, Number, Field(ge=0, le=50)] | None = None
    """Length of the tethered cable, in m"""
    conductor_area_mm2: Annotated[float, Number, Field(ge=0.5, le=50)] | None = None
    """Cross-section of a power conductor of the cable, in mm²"""
    earth_area_mm2: Annotated[float, Number, Field(ge=0.5, le=50)] | None = None
    """Cross-section of the earth conductor of the cable, in mm²"""
    rated_current_a: Annotated[float, Number, Field(ge=1, le=125)] | None = None
    """Rated current, in A"""
    supply_system: Annotated[Text, code_of("supply_systems")] | None = None
    """Supply it is made for; picks the limits of supply_voltage"""
    ground_fault_device: Annotated[Codes, codes_of("ground_fault_devices")] | None = (
        None
    )
    """Ground-fault protection inside; picks the trip limits"""
    warranty_months: Annotated[int, Whole, Field(ge=0, le=240)] | None = None
    """Warranty from in service, in months; else the model's term in the settings"""
    warranty_extended_to: Day | None = None
    """Last day of an extended warranty"""
    sale_type: Text | None = None
    """How it was sold, as the settings name it"""

    _dates = field_validator("shipped_on", "in_service_on", "retired_on")(in_order)
