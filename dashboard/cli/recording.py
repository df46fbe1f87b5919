"""Commands for people who record: templates and the data dictionary."""

import json
from dataclasses import asdict
from pathlib import Path
from typing import Annotated

import typer

from dashboard import text
from ingest.dictionary import Entry, entries
from ingest.file_kind import known_kind
from ingest.records import KINDS
from ingest.template import write_template

KINDS_IN_WORDS = f"{', '.join(list(KINDS)[:-1])} or {list(KINDS)[-1]}"
SHOWN = {
    "field": "field",
    "type": "type",
    "required": "required",
    "limits": "limits",
    "meaning": "meaning",
}


def register(cli: typer.Typer) -> None:
    """Add the commands of this module."""
    cli.command()(template)
    cli.command()(fields)


def template(
    kind: Annotated[str, typer.Argument(help=f"{KINDS_IN_WORDS}.")],
    out: Annotated[Path, typer.Option(help="The new workbook (.xlsx).")],
) -> None:
    r"""Write an empty workbook to record in, with lists of the codes and checks.

    \b
    Example:
        mendfleet template readings --out readings.xlsx
    """
    write_template(known_kind(kind), out)
    typer.echo(f"{out}: an empty sheet for {kind}, and one that explains its fields.")


def fields(
    kind: Annotated[
        str | None, typer.Argument(help=f"{KINDS_IN_WORDS}; all without it.")
    ] = None,
    *,
    as_json: Annotated[
        bool, typer.Option("--json", help="One JSON document instead.")
    ] = False,
) -> None:
    r"""Print the data dictionary: each field, its limits, codes and meaning.

    \b
    Example:
        mendfleet fields readings
    """
    specs = [known_kind(kind)] if kind else list(KINDS.values())
    told = [entries(spec) for spec in specs]
    if as_json:
        rows = [_document(entry) for part in told for entry in part]
        typer.echo(json.dumps({"rows": rows}, ensure_ascii=False, indent=2))
        return
    for spec, part in zip(specs, told, strict=True):
        typer.echo(f"\n{spec.name}: {spec.about}\nkey: {', '.join(spec.key)}\n")
        rows = [
            {"limits": entry.limits(), "required": entry.required}
            | {name: getattr(entry, name) for name in ("field", "type", "meaning")}
            for entry in part
        ]
        typer.echo(text.table(rows, SHOWN))
        for entry in part if kind else ():
            _print_codes(entry)
    if not kind:
        typer.echo("\nThe codes of a field: `mendfleet fields KIND`.")


def _print_codes(entry: Entry) -> None:
    if entry.codes:
        typer.echo(f"\ncodes of {entry.field}\n")
        rows = [asdict(word) for word in entry.codes]
        columns = {"code": "code", "label": "label", "definition": "definition"}
        if any(word.caution for word in entry.codes):
            columns["caution"] = "caution"
        typer.echo(text.table(rows, columns))


def _document(entry: Entry) -> dict[str, object]:
    return {
        "kind": entry.kind,
        "field": entry.field,
        "type": entry.type,
        "required": entry.required,
        "limits": entry.limits(),
        "longest": entry.longest,
        "least": entry.least,
        "most": entry.most,
        "codes": [asdict(word) for word in entry.codes],
        "meaning": entry.meaning,
    }
