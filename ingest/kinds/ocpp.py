"""The OCPP calls that are read, each member with the limits of the protocol.

OCPP 1.6 StatusNotification; OCPP 2.0.1 and 2.1 StatusNotification and NotifyEvent.
Limits of the Open Charge Alliance's schemas, secondary reading; from memory: the
message id, the texts of component and variable, actualValue, transactionId, customData
and which members of an event are required.
"""

import datetime as dt
from typing import Annotated, Any, Literal

from pydantic import (
    AfterValidator,
    BaseModel,
    ConfigDict,
    Field,
    ValidationInfo,
    field_validator,
)
from pydantic.alias_generators import to_camel

from ingest.cells import moment_of, problem

ErrorWord = Literal[
    "ConnectorLockFailure", "EVCommunicationError", "GroundFailure",
    "HighTemperature", "InternalError", "LocalListConflict", "NoError", "OtherError",
    "OverCurrentFailure", "OverVoltage", "PowerMeterFailure", "PowerSwitchFailure",
    "ReaderFailure", "ResetFailure", "UnderVoltage", "WeakSignal",
]  # fmt: skip
ChargePointStatus = Literal[
    "Available", "Preparing", "Charging", "SuspendedEVSE", "SuspendedEV", "Finishing",
    "Reserved", "Unavailable", "Faulted",
]  # fmt: skip
# What the main controller, connector 0, may be.
OF_THE_CONTROLLER = ("Available", "Unavailable", "Faulted")
ConnectorStatus = Literal[
    "Available", "Occupied", "Reserved", "Unavailable", "Faulted"
]  # fmt: skip
Trigger = Literal["Alerting", "Delta", "Periodic"]
Notification = Literal[
    "HardWiredNotification", "HardWiredMonitor", "PreconfiguredMonitor",
    "CustomMonitor",
]  # fmt: skip


def _with_a_time(text: str) -> str:
    if "T" not in text:
        raise problem("not_a_date", "must be YYYY-MM-DDThh:mm:ss, with or without zone")
    moment_of(text)
    return text


Time = Annotated[str, AfterValidator(_with_a_time)]
Text36 = Annotated[str, Field(max_length=36)]
Text50 = Annotated[str, Field(max_length=50)]
Text255 = Annotated[str, Field(max_length=255)]
Text500 = Annotated[str, Field(max_length=500)]
Text2500 = Annotated[str, Field(max_length=2500)]
# A connector or EVSE of a station.
Place = Annotated[int, Field(ge=0)]


class Payload(BaseModel):
    """An object of a call: no text is turned into a number, no member is unknown."""

    model_config = ConfigDict(
        alias_generator=to_camel, extra="forbid", strict=True, frozen=True
    )


class CustomData(BaseModel):
    """What a vendor adds in OCPP 2.x; only its own id is laid down."""

    model_config = ConfigDict(
        alias_generator=to_camel, extra="allow", strict=True, frozen=True
    )

    vendor_id: Text255


class Payload2(Payload):
    """An object of OCPP 2.x, each of which a vendor may add to."""

    custom_data: CustomData | None = None


class StatusNotification16(Payload):
    """OCPP 1.6: a connector has another state or an error."""

    connector_id: Place
    error_code: ErrorWord
    status: ChargePointStatus
    info: Text50 | None = None
    timestamp: Time | None = None
    vendor_id: Text255 | None = None
    vendor_error_code: Text50 | None = None

    @field_validator("status")
    @classmethod
    def _of_the_controller(cls, status: str, info: ValidationInfo) -> str:
        if info.data.get("connector_id") == 0 and status not in OF_THE_CONTROLLER:
            allowed = ", ".join(OF_THE_CONTROLLER)
            raise problem("out_of_range", f"of connector 0 must be one of {allowed}")
        return status

    def happened_at(self) -> dt.datetime | None:
        """Return the charger's own time, in UTC, if it gives one."""
        return moment_of(self.timestamp) if self.timestamp else None

    def words(self) -> list[str]:
        """Return the error words; none when there is nothing to report."""
        error = None if self.error_code == "NoError" else self.error_code
        return [word for word in (error, self.vendor_error_code) if word]


class StatusNotification2(Payload2):
    """OCPP 2.x: a connector has another state; it carries no error word."""

    timestamp: Time
    connector_status: ConnectorStatus
    evse_id: Place
    connector_id: Place

    def happened_at(self) -> dt.datetime:
        """Return the charger's own time, in UTC."""
        return moment_of(self.timestamp)

    def words(self) -> list[str]:
        """Return no word: errors come as NotifyEvent."""
        return []


class Evse(Payload2):
    """Which EVSE and connector a component belongs to."""

    id: Place
    connector_id: Place | None = None


class Component(Payload2):
    """A component of the device model."""

    name: Text50
    instance: Text50 | None = None
    evse: Evse | None = None


class Variable(Payload2):
    """A variable of a component."""

    name: Text50
    instance: Text50 | None = None


class EventData(Payload2):
    """One event of a NotifyEvent."""

    event_id: int
    timestamp: Time
    trigger: Trigger
    cause: int | None = None
    actual_value: Text2500
    tech_code: Text50 | None = None
    tech_info: Text500 | None = None
    cleared: bool | None = None
    transaction_id: Text36 | None = None
    variable_monitoring_id: int | None = None
    event_notification_type: Notification
    component: Component
    variable: Variable
    severity: Annotated[int, Field(ge=0, le=9)] | None = None

    def words(self) -> list[str]:
        """Return `Component/Variable` and the technical code of what is wrong.

        An event says that something is wrong when it is not cleared and its value is
        true, or alerts without being false.
        """
        value = self.actual_value.strip().lower()
        wrong = value == "true" or (self.trigger == "Alerting" and value != "false")
        if self.cleared or not wrong:
            return []
        name = f"{self.component.name}/{self.variable.name}"
        return [name, self.tech_code] if self.tech_code else [name]


class NotifyEvent(Payload2):
    """OCPP 2.x: events of monitored variables."""

    generated_at: Time
    seq_no: Place
    tbc: bool | None = None
    event_data: Annotated[list[EventData], Field(min_length=1)]

    def happened_at(self) -> dt.datetime:
        """Return the charger's own time of the first event, in UTC."""
        return min(moment_of(event.timestamp) for event in self.event_data)

    def words(self) -> list[str]:
        """Return the words of all events, each once."""
        return list(
            dict.fromkeys(w for event in self.event_data for w in event.words())
        )


def payload_model(
    action: str, payload: dict[str, Any]
) -> type[StatusNotification16 | StatusNotification2 | NotifyEvent]:
    """Return the model of an action that is read; 1.6 and 2.x by their members."""
    if action == "NotifyEvent":
        return NotifyEvent
    if payload.keys() & {"connectorStatus", "evseId"}:
        return StatusNotification2
    return StatusNotification16
