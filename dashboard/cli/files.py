"""Commands about files and figures: ingest, rejected, publish."""

import datetime as dt
import json
from pathlib import Path
from typing import Annotated

import typer

from analytics.rollup.publish import publish as publish_snapshot
from dashboard import text, webhook
from dashboard.cli.options import Json, heading, place_of, print_json
from dashboard.cli.progress import progress_bar
from dashboard.queries import rejected as rejected_query
from ingest.errors import UsageError
from ingest.mapping import draft
from ingest.mapping.mapping_file import read_mapping
from ingest.pipeline import FileReport, IngestReport, ingest_paths
from ingest.quarantine import write_correction_files
from ingest.records import KINDS

SHOWN = 20  # problems of a call


# Somewhere on earth it is tomorrow already.
A_DAY = dt.timedelta(days=1)


def register(cli: typer.Typer) -> None:
    """Add the commands of this module."""
    for command in (ingest, rejected, publish):
        cli.command()(command)


def ingest(
    context: typer.Context,
    paths: Annotated[
        list[str] | None,  # told as it was given: a Path would drop `./`
        typer.Argument(metavar="PATH...", help="Files, packed files or folders."),
    ] = None,
    *,
    kind: Annotated[
        str | None,
        typer.Option(help=f"{', '.join(KINDS)}; else told from the columns."),
    ] = None,
    mapping: Annotated[
        Path | None,
        typer.Option(help="TOML file: your columns, dates, units and words as ours."),
    ] = None,
    sheet: Annotated[
        str | None,
        typer.Option(
            help="Sheet of a workbook.", show_default="the one whose columns fit"
        ),
    ] = None,
    complete_through: Annotated[
        dt.datetime | None,
        typer.Option(
            formats=["%Y-%m-%d"], help="Every return up to this day is in the files."
        ),
    ] = None,
    dry_run: Annotated[
        bool, typer.Option("--dry-run", help="Check only; store nothing.")
    ] = False,
    suggest_mapping: Annotated[
        Path | None,
        typer.Option(
            metavar="FILE",
            help="Print the draft of a mapping for this file, and store nothing.",
        ),
    ] = None,
    as_json: Json = False,
) -> None:
    r"""Check files of records, and store their rows.

    \b
    Example:
        mendfleet ingest units.csv repairs.xlsx readings.csv.gz
        mendfleet ingest --suggest-mapping returns.xlsx > mapping.toml
        mendfleet ingest returns.xlsx --mapping mapping.toml
    """
    if suggest_mapping:
        if paths:
            raise UsageError(
                "`--suggest-mapping` takes one file and stores nothing; there are"
                f" other files: {', '.join(paths)}.",
                hint="Ask for the draft by itself, then ingest with `--mapping`.",
            )
        typer.echo(draft.suggest_mapping(suggest_mapping, kind=kind), nl=False)
        return
    if not paths:
        raise UsageError(
            "No file was named.", hint="Name files or folders: `mendfleet ingest PATH`."
        )
    place = place_of(context)
    settings = place.settings()
    with progress_bar(unit="rows") as tell:
        report = ingest_paths(
            place.store,
            paths,
            kind=kind,
            mapping=read_mapping(mapping) if mapping else None,
            sheet=sheet,
            complete_through=complete_through.date() if complete_through else None,
            dry_run=dry_run,
            care=settings.care(),
            progress=tell,
        )
    print_ingest(report, as_json=as_json)
    if report.exit_code:
        raise typer.Exit(report.exit_code)


def print_ingest(report: IngestReport, *, as_json: bool = False) -> None:
    """Print what happened to the rows of each file."""
    rows = [_file_row(file) for file in report.files]
    if as_json:
        document: dict[str, object] = {
            "snapshot": None,
            "as_of": None,
            "filters": {},
            "method": "read = accepted + unchanged + replaced + rejected, per file",
            "rows": rows,
        }
        typer.echo(json.dumps(document, ensure_ascii=False, indent=2))
    else:
        columns = ("file", "kind", "read", "accepted", "unchanged", "replaced")
        names = {name: name for name in columns}
        last = {"rejected": "set aside", "batch": "batch"}
        typer.echo(text.table(rows, names | last))
        _print_problems(report)
    for file in report.files:
        for notice in file.notices:
            typer.echo(f"{file.file}: {notice}", err=True)
        if file.error:
            typer.echo(f"error: {file.error.message}\n{file.error.hint}", err=True)
    if any(file.rejected for file in report.files):
        typer.echo(
            "Rows were set aside; `mendfleet rejected` says why, `mendfleet rejected "
            "--out FILE` writes them for correction.",
            err=True,
        )


def _print_problems(report: IngestReport) -> None:
    rows = [
        {"file": file.file, "field": name, "problem": code, "rows": n_rows}
        for file in report.files
        for name, codes in file.problems.items()
        for code, n_rows in codes.items()
    ]
    if rows:
        columns = {name: name for name in rows[0]} | {"problem": "problem or notice"}
        typer.echo(f"\n{text.table(rows[:SHOWN], columns)}")
    if len(rows) > SHOWN:
        typer.echo(f"and {len(rows) - SHOWN} more (`--json` gives all)")


def _file_row(file: FileReport) -> dict[str, object]:
    row: dict[str, object] = {
        name: getattr(file, name)
        for name in (
            "file", "kind", "sha256", "batch", "read", "accepted", "unchanged",
            "replaced", "rejected", "problems",
        )
    }  # fmt: skip
    if file.error:
        row["error"] = f"{file.error.message} {file.error.hint}"
    return row


def rejected(
    context: typer.Context,
    *,
    out: Annotated[
        Path | None,
        typer.Option(help="Write the rows to correct to a .csv or .xlsx file."),
    ] = None,
    as_json: Json = False,
) -> None:
    r"""Show the rows set aside and why, or write them to a file to correct.

    \b
    Example:
        mendfleet rejected --out to-correct.xlsx
    """
    place = place_of(context)
    answer = rejected_query.rejected(place)
    if out:
        for file in write_correction_files(place.store, out):
            typer.echo(file)
    elif as_json:
        print_json(answer)
    else:
        typer.echo(heading(answer, "Rows set aside"))
        columns = {"kind": "kind", "file": "file", "row_no": "row", "messages": "why"}
        typer.echo(text.table(answer.rows, columns) if answer.rows else "none")


def publish(
    context: typer.Context,
    *,
    as_of: Annotated[
        dt.datetime | None,
        typer.Option(
            formats=["%Y-%m-%d"],
            help="Last day the data speak for.",
            show_default="the latest day of receipt on record",
        ),
    ] = None,
    train: Annotated[
        bool, typer.Option("--train", help="Train the fault suggestion in any case.")
    ] = False,
) -> None:
    r"""Recompute all figures and show them; prints their id.

    \b
    Example:
        mendfleet publish --as-of 2026-06-30
    """
    place = place_of(context)
    with progress_bar() as tell:
        published = publish_snapshot(
            place.store,
            place.published,
            as_of=as_of.date() if as_of else None,
            rules=place.settings().life_rules(),
            train=train,
            progress=tell,
        )
    typer.echo(published.snapshot)
    if not as_of and published.as_of > dt.datetime.now(dt.UTC).date() + A_DAY:
        typer.echo(
            f"The figures speak for {published.as_of}, which is still to come: a case "
            "is on record as received that day, or files as complete through it. "
            "Correct the day, or name the last one: `mendfleet publish --as-of DAY`.",
            err=True,
        )
    if problem := webhook.send_new(place):
        typer.echo(problem, err=True)
