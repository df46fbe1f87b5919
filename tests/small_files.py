"""A few lines as a file, taken in, and questions to the store afterwards."""

from pathlib import Path

from ingest import store
from ingest.pipeline import FileReport, ingest_paths


def write_csv(folder: Path, name: str, text: str) -> Path:
    file = folder / name
    file.write_text(text, encoding="utf-8", newline="")
    return file


def ingested(folder: Path, text: str, *, name: str = "units.csv") -> FileReport:
    file = write_csv(folder, name, text)
    return ingest_paths(folder / "store.duckdb", [file]).files[0]


def asked(folder: Path, question: str) -> list[tuple[object, ...]]:
    with store.open_for_reading(folder / "store.duckdb") as connection:
        return connection.execute(question).fetchall()


def counts(report: FileReport) -> tuple[int, int, int, int, int]:
    """Return rows read, accepted, unchanged, replaced, rejected."""
    return (
        report.read, report.accepted, report.unchanged, report.replaced,
        report.rejected,
    )  # fmt: skip
