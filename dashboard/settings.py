"""Where the data live, and what `mendfleet.toml` beside them says."""

import difflib
import ipaddress
import tomllib
from dataclasses import dataclass
from pathlib import Path
from typing import Annotated
from urllib.parse import urlsplit

from pydantic import AfterValidator, BaseModel, ConfigDict, Field, ValidationError

from analytics.rollup.rules import FailuresSeen, LifeRules, ModelRules
from ingest.errors import UsageError
from ingest.pipeline import Care


class ModelSettings(BaseModel):
    """What is known of one model; a value left out is not known, never guessed."""

    model_config = ConfigDict(extra="forbid", frozen=True)

    warranty_months: Annotated[int, Field(ge=0, le=240)] | None = None
    reporting_lag_days: Annotated[int, Field(ge=0, le=365)] = 0
    control_supply_v: Annotated[float, Field(gt=0)] | None = None
    coil_ohm: Annotated[float, Field(gt=0)] | None = None
    coil_v: Annotated[float, Field(gt=0)] | None = None
    contactor_open_ohm: Annotated[float, Field(gt=0)] | None = None


def is_loopback(host: str) -> bool:
    """Return whether a host is this machine itself."""
    try:
        return ipaddress.ip_address(host).is_loopback
    except ValueError:
        return host == "localhost"


def _safe_address(url: str) -> str:
    parts = urlsplit(url)
    port = parts.port  # says so itself where it is no number
    if not url.isascii():
        raise ValueError("has letters beyond ASCII; write them as %xx or xn--")
    if parts.username is not None or parts.password is not None:
        raise ValueError("no name or password belongs in it")
    if not parts.hostname or port == 0 or any(c.isspace() for c in url):
        raise ValueError("names no place")
    is_own = parts.scheme == "http" and is_loopback(parts.hostname)
    if parts.scheme != "https" and not is_own:
        raise ValueError("must begin with https://, or name this machine")
    return url


class WebhookSettings(BaseModel):
    """Where new alarms are sent; the secret is never in the file."""

    model_config = ConfigDict(extra="forbid", frozen=True)

    url: Annotated[str, AfterValidator(_safe_address)]


class Settings(BaseModel):
    """The settings file; every key has a default."""

    model_config = ConfigDict(extra="forbid", frozen=True)

    failures_seen: FailuresSeen = "always"
    confirmation_delay_days: Annotated[int, Field(ge=0, le=3650)] = 0
    false_alarms_per_year: Annotated[float, Field(gt=0, le=100)] = 2.0
    keep_unknown_columns: bool = False
    mask_personal_data: bool = True
    models: dict[str, ModelSettings] = Field(default_factory=dict)
    webhook: WebhookSettings | None = None

    def care(self) -> Care:
        """Return the part of the settings that ingest needs."""
        return Care(
            mask=self.mask_personal_data, keep_unknown=self.keep_unknown_columns
        )

    def life_rules(self) -> LifeRules:
        """Return the part of the settings that publishing needs."""
        return LifeRules(
            failures_seen=self.failures_seen,
            confirmation_delay_days=self.confirmation_delay_days,
            false_alarms_per_year=self.false_alarms_per_year,
            models={
                name: ModelRules(**model.model_dump())
                for name, model in self.models.items()
            },
        )


@dataclass(frozen=True, slots=True)
class Place:
    """The folder that holds the store, the published figures and the settings.

    Attributes
    ----------
    data : pathlib.Path
    wait_s : float
        Seconds to wait for another that writes the store: a command says at once who
        does, a page or route waits a little.
    """

    data: Path
    wait_s: float = 0

    @property
    def store(self) -> Path:
        """The store."""
        return self.data / "store.duckdb"

    @property
    def published(self) -> Path:
        """Folder of the published figures."""
        return self.data / "published"

    @property
    def settings_file(self) -> Path:
        """The settings, which need not be there."""
        return self.data / "mendfleet.toml"

    def settings(self) -> Settings:
        """Read `mendfleet.toml`, or take the defaults where there is none.

        Raises
        ------
        UsageError
            Not TOML, an unknown key or a value out of range; names the nearest key.
        """
        file = self.settings_file
        if not file.is_file():
            return Settings()
        try:
            return Settings.model_validate(
                tomllib.loads(file.read_text(encoding="utf-8"))
            )
        except (tomllib.TOMLDecodeError, UnicodeDecodeError) as error:
            raise UsageError(
                f"{file} is not TOML: {error}.", hint="Correct it, then run it again."
            ) from None
        except ValidationError as error:
            raise _explained(error, file) from None


def _explained(error: ValidationError, file: Path) -> UsageError:
    first = error.errors()[0]
    key = ".".join(str(part) for part in first["loc"])
    if first["type"] != "extra_forbidden":
        return UsageError(
            f"{file}: {key}: {first['msg']}, got {first['input']!r}.",
            hint="Correct the value, then run it again.",
        )
    models = (Settings, ModelSettings, WebhookSettings)
    known = [name for model in models for name in model.model_fields]
    near = difflib.get_close_matches(str(first["loc"][-1]), known, n=1)
    hint = f"The nearest known key is {near[0]}." if near else "Known keys: README."
    return UsageError(f"{file}: {key} is not a known key.", hint=hint)
