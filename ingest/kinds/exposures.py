"""Shipments, planned sales and usage: what failures are counted against."""

from typing import Annotated

from pydantic import Field, ValidationInfo, field_validator

from ingest.cells import Month, Number, Record, Serial, Text, Whole, problem

# More is a slip of the keyboard: no fleet ships a thousand million a month, no
# charger is plugged in every other second or puts out a megawatt all month long.
MOST_SHIPPED = 1_000_000_000
MOST_SESSIONS = 1_000_000
MOST_KWH = 1_000_000
# 31 days, and the hour that is there twice when the clocks go back.
HOURS_OF_A_MONTH = 745

Quantity = Annotated[int, Whole, Field(ge=0, le=MOST_SHIPPED)]


class Shipment(Record):
    """How many units of a model left in one month, where no serials are kept."""

    model: Text
    """Sales model"""
    production_lot: Text | None = None
    """Production lot"""
    shipped_month: Month
    """Month in which the units left"""
    region: Text | None = None
    """Region they went to"""
    quantity: Quantity
    """How many units"""


class PlannedSale(Record):
    """How many units of a model are expected to be sold in one month."""

    model: Text
    """Sales model"""
    month: Month
    """Month of the sales to come"""
    region: Text | None = None
    """Region they go to"""
    quantity: Quantity
    """How many units"""


class Usage(Record):
    """What one unit was used for in one month; at least one of three is recorded."""

    serial: Serial
    """Serial number of the unit; it may be unknown to the units so far"""
    month: Month
    """Month of the use"""
    sessions: Annotated[int, Whole, Field(ge=0, le=MOST_SESSIONS)] | None = None
    """How often a vehicle was plugged in: mating cycles of the connector"""
    energy_kwh: Annotated[float, Number, Field(ge=0, le=MOST_KWH)] | None = None
    """Energy put out, in kWh"""
    connected_hours: (
        Annotated[float, Number, Field(ge=0, le=HOURS_OF_A_MONTH)] | None
    ) = Field(default=None, validate_default=True)
    """How long a vehicle was plugged in, in hours"""

    @field_validator("connected_hours")
    @classmethod
    def _one_of_three(cls, hours: float | None, info: ValidationInfo) -> float | None:
        if hours is None:
            others = ("sessions", "energy_kwh")
            # One that is wrong itself is not in the data, and is no gap.
            if all(name in info.data and info.data[name] is None for name in others):
                raise problem(
                    "missing", "one of sessions, energy_kwh, connected_hours is needed"
                )
        return hours
