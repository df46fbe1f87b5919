"""The filters every report shares: the same words on page, route and command."""

import datetime as dt
import difflib
from collections.abc import Iterable, Mapping
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

from ingest import catalogue
from ingest.errors import UsageError


def listed(value: object) -> object:
    """Return one word and several as the same thing: a choice."""
    if isinstance(value, str | int | float):
        return (value,)
    return () if value is None else value


Words = Annotated[tuple[str, ...], BeforeValidator(listed)]
Day = dt.date | None


MOST_NAMED = 60  # a hint is read; lots may be thousands


def nearest_hint(word: str, known: Iterable[str]) -> str:
    """Return which known word is nearest, or what is known where none is near."""
    words = list(known)
    near = difflib.get_close_matches(word, words, n=1)
    if near:
        return f"the nearest is {near[0]}"
    rest = len(words) - MOST_NAMED
    more = f" and {rest} more" if rest > 0 else ""
    return f"known are {', '.join(words[:MOST_NAMED])}{more}"


def listed_code(name: str, word: str, known: Iterable[str]) -> None:
    """Raise the error of pydantic that says a word is not one of those known."""
    words = list(known)
    if word not in words:
        raise PydanticCustomError(
            "unknown_code",
            "{name} {word} is not known; {hint}",
            {"name": name, "word": word, "hint": nearest_hint(word, words)},
        )


def _known_codes() -> dict[str, tuple[str, ...]]:
    modes = catalogue.failure_modes()
    return {
        "environment": tuple(catalogue.codes("environments")),
        "duty": tuple(catalogue.codes("duties")),
        "connector": tuple(catalogue.codes("connectors")),
        "opened_before_arrival": ("yes", "no", "unknown"),
        "mode": tuple(modes),
        "component": tuple(catalogue.codes("components")),
        "mechanism": tuple(catalogue.codes("mechanisms")),
        "cause": tuple(catalogue.codes("cause_categories")),
        "severity": ("critical", "degraded", "incipient"),
    }


class Filters(BaseModel):
    """A choice of units and cases; a filter left empty chooses all.

    Several values of one filter mean any of them; several filters mean all of them.
    `from` and `to` are days, both included: received on in reports about cases, in
    service since in reports about units.
    """

    model_config = ConfigDict(extra="forbid", frozen=True, populate_by_name=True)

    model: Words = ()
    lot: Words = ()
    hardware_revision: Words = ()
    firmware_version: Words = ()
    site: Words = ()
    region: Words = ()
    environment: Words = ()
    duty: Words = ()
    connector: Words = ()
    opened_before_arrival: Words = ()
    cable_supplier: Words = ()
    mode: Words = ()
    component: Words = ()
    mechanism: Words = ()
    cause: Words = ()
    severity: Words = ()
    from_: Annotated[Day, Field(alias="from")] = None
    to: Day = None

    @model_validator(mode="after")
    def _known_and_ordered(self) -> Self:
        for name, known in _known_codes().items():
            for word in getattr(self, name):
                listed_code(name, word, known)
        if self.from_ and self.to and self.from_ > self.to:
            raise PydanticCustomError(
                "date_order",
                "from {first} is after to {last}",
                {"first": self.from_.isoformat(), "last": self.to.isoformat()},
            )
        return self

    @classmethod
    def of(cls, words: Mapping[str, object]) -> "Filters":
        """Make filters from words as typed; an error says which word is not known."""
        try:
            return cls.model_validate({k: v for k, v in words.items() if v})
        except ValidationError as error:
            first = error.errors()[0]
            where = "".join(f"{part}: " for part in first["loc"])
            raise UsageError(
                f"Filter {where}{first['msg']}.",
                hint="Correct the filter, or leave it out to see all.",
            ) from None

    def stated(self) -> dict[str, object]:
        """Return the filters in use, by the words of address and command."""
        return self.model_dump(mode="json", by_alias=True, exclude_defaults=True)

    @property
    def under(self) -> str:
        """The words " under these filters" where there are any, else none."""
        return " under these filters" if self.stated() else ""

    def sentence(self) -> str:
        """Return the filters in use as one line; empty when there are none."""
        parts = []
        for name, value in self.stated().items():
            shown = ", ".join(value) if isinstance(value, list) else str(value)
            parts.append(f"{name.replace('_', ' ')}: {shown}")
        return "; ".join(parts)

    @property
    def names_failures(self) -> bool:
        """Whether only some kinds of failure are asked for."""
        return bool(
            self.mode
            or self.component
            or self.severity
            or self.mechanism
            or self.cause
            or self.opened_before_arrival
        )

    def parameters(self) -> dict[str, object]:
        """Return the values for the questions of a snapshot; None chooses all."""
        values: dict[str, object] = {
            name: list(getattr(self, name)) or None
            for name in type(self).model_fields
            if name not in {"mode", "component", "severity", "from_", "to"}
        }
        values |= {"from": self.from_, "to": self.to, "modes": self._modes()}
        return values

    def _modes(self) -> list[str] | None:
        if not (self.mode or self.component or self.severity):
            return None
        return [
            mode.code
            for mode in catalogue.failure_modes().values()
            if (not self.mode or mode.code in self.mode)
            and (not self.component or mode.component in self.component)
            and (not self.severity or mode.severity in self.severity)
        ]
