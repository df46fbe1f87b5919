"""What an ingest tells: per file how its rows fared, and the exit code of the call."""

from dataclasses import dataclass, field

from ingest.errors import UserError

REJECTED = 1  # exit code: done, but rows were set aside


@dataclass(frozen=True, slots=True)
class FileReport:
    """What happened to one file; read = accepted + unchanged + replaced + rejected.

    Attributes
    ----------
    file : str
        As it was given.
    kind, sha256 : str or None
    batch : int or None
        None when nothing was stored; for a file that changed nothing, the batch in
        which it first came.
    read, accepted, unchanged, replaced, rejected : int
        Rows.
    problems : dict of str to dict of str to int
        Field or column, code, rows; notices too.
    notices : tuple of str
        Sentences.
    error : UserError or None
        Why nothing of the file was stored.
    """

    file: str
    kind: str | None = None
    sha256: str | None = None
    batch: int | None = None
    read: int = 0
    accepted: int = 0
    unchanged: int = 0
    replaced: int = 0
    rejected: int = 0
    problems: dict[str, dict[str, int]] = field(default_factory=dict)
    notices: tuple[str, ...] = ()
    error: UserError | None = None


@dataclass(frozen=True, slots=True)
class IngestReport:
    """One report per file, in the order given."""

    files: tuple[FileReport, ...]

    @property
    def exit_code(self) -> int:
        """0 done, 1 rows were set aside, or the highest code of a file that failed."""
        failed = [file.error.exit_code for file in self.files if file.error]
        rejected = [REJECTED for file in self.files if file.rejected]
        return max([*failed, *rejected], default=0)
