"""The kinds of file: which model a row must fit, its key, and where it is kept."""

import inspect
from collections.abc import Callable
from dataclasses import dataclass
from operator import attrgetter
from typing import Any

from ingest.cells import Record
from ingest.kinds.exposures import PlannedSale, Shipment, Usage
from ingest.kinds.readings import Measured, Reading
from ingest.kinds.repairs import Repair
from ingest.kinds.status import DERIVED_FIELDS, StatusEvent
from ingest.kinds.units import Unit

__all__ = [
    "KINDS", "KindSpec", "PlannedSale", "Reading", "Record", "Repair", "Shipment",
    "StatusEvent", "Unit", "Usage",
]  # fmt: skip


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
    def about(self) -> str:
        """What one row is, in a sentence."""
        return inspect.cleandoc(self.model.__doc__ or "")

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
_STATUS_FIELDS = attrgetter(*StatusEvent.model_fields)
READING_KEY = (
    "case_id", "check", "stage", "point", "condition", "taken_at", "sequence",
)  # fmt: skip


def _reading_row(reading: Any) -> tuple[object, ...]:
    return (*_READING_FIELDS(reading), *reading.measured())


def _status_row(event: Any) -> tuple[object, ...]:
    return (*_STATUS_FIELDS(event), *event.derived())


def _as_it_is(
    name: str, model: type[Record], key: tuple[str, ...], table: str
) -> KindSpec:
    fields = tuple(model.model_fields)
    return KindSpec(name, model, key, table, fields, attrgetter(*fields))


# In the order in which files of one call are taken in: a repair looks for its unit,
# a reading for its case.
KINDS: dict[str, KindSpec] = {
    spec.name: spec
    for spec in (
        _as_it_is("units", Unit, ("serial",), "unit_versions"),
        _as_it_is(
            "shipments",
            Shipment,
            ("model", "production_lot", "shipped_month", "region"),
            "shipment_versions",
        ),
        _as_it_is(
            "planned_sales",
            PlannedSale,
            ("model", "month", "region"),
            "planned_sale_versions",
        ),
        _as_it_is("usage", Usage, ("serial", "month"), "usage_versions"),
        _as_it_is("repairs", Repair, ("case_id",), "repair_versions"),
        KindSpec(
            name="readings",
            model=Reading,
            key=READING_KEY,
            table="reading_versions",
            columns=(*Reading.model_fields, *Measured._fields),
            values=_reading_row,
        ),
        KindSpec(
            name="status",
            model=StatusEvent,
            key=("serial", "received_at", "message_id"),
            table="status_versions",
            columns=(*StatusEvent.model_fields, *DERIVED_FIELDS),
            values=_status_row,
        ),
    )
}
