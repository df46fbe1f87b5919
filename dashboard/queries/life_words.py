"""The words of the question about lives, beside the filters.

The same on page, route, command and export; `life_choice` says what they mean.
"""

from typing import Annotated, Any

from pydantic import BaseModel, BeforeValidator, ConfigDict

from analytics.statistics.distributions import Distribution
from dashboard.filters import Words, listed
from dashboard.queries.life_choice import GroupWord
from ingest.errors import UsageError

Numbers = Annotated[tuple[float, ...], BeforeValidator(listed)]


class LifeWords(BaseModel):
    """Law, ages, an assumed shape, and two groups to compare."""

    model_config = ConfigDict(extra="forbid", frozen=True)

    distribution: Distribution = "weibull"
    by: GroupWord | None = None
    group: Words = ()
    within: GroupWord | None = None
    age: Numbers = ()
    assumed_shape: Numbers = ()

    def asked(self) -> dict[str, Any]:
        """Return every word as the query takes it."""
        return self.model_dump()

    def stated(self) -> dict[str, object]:
        """Return the words in use; empty when nothing but the usual is asked."""
        return self.model_dump(mode="json", exclude_defaults=True)

    def refuse_beside(self, table: str) -> None:
        """Raise UsageError where words of this question stand beside another table."""
        words = ", ".join(self.stated())
        if words:
            raise UsageError(
                f"{words} cannot be asked of the table {table}.",
                hint="They belong to the tables of `life`; leave them out.",
            )
