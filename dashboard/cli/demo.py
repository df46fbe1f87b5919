"""The command that shows the whole job on an invented fleet."""

import datetime as dt
import shutil
from pathlib import Path
from typing import Annotated

import typer

from analytics.rollup.publish import publish
from analytics.rollup.snapshot import current_snapshot
from dashboard.cli import (
    files,
    printing,
    printing_life,
    printing_modes,
    printing_suggest,
    printing_today,
    printing_watch,
)
from dashboard.cli import serve as serve_command
from dashboard.cli.options import place_of
from dashboard.cli.progress import progress_bar
from dashboard.filters import Filters
from dashboard.queries import life, modes, quality, suggest, today, watch
from dashboard.settings import Place
from ingest import store
from ingest.errors import UsageError
from ingest.history import files_taken_in
from ingest.pipeline import ingest_paths
from synthetic_data.fleet import write_fleet
from synthetic_data.scenario import LAST_DAY
from synthetic_data.settings_file import settings_text

DATA_GIVEN = "mendfleet.data_given"
DEMO_DATA = Path("demo-data")
FILES = "files"
EXAMPLE = ("stops_when_cable_moved", "vehicle_not_detected")


def register(cli: typer.Typer) -> None:
    """Add the command of this module."""
    cli.command()(demo)


def demo(
    context: typer.Context,
    *,
    units: Annotated[int, typer.Option(min=50, help="Units of the fleet.")] = 5000,
    seed: Annotated[int, typer.Option(help="The same seed, the same fleet.")] = 1,
    no_serve: Annotated[
        bool, typer.Option("--no-serve", help="Stop before serving the pages.")
    ] = False,
    port: Annotated[int, typer.Option(help="Port of the pages.")] = serve_command.PORT,
) -> None:
    r"""Show the whole job on an invented fleet, from files to pages.

    \b
    Example:
        mendfleet demo --units 2000 --no-serve
    """
    place = place_of(context) if context.meta[DATA_GIVEN] else Place(DEMO_DATA)
    context.obj = place
    _start_anew(place)
    _write_settings(place)
    with progress_bar() as tell:
        made = write_fleet(place.data / FILES, n_units=units, seed=seed, progress=tell)
        report = ingest_paths(
            place.store, made.records(), origin="invented", progress=tell
        )
        # The month before too, so that there is something to compare with.
        for day in (LAST_DAY.replace(day=1) - dt.timedelta(days=1), None):
            publish(
                place.store,
                place.published,
                as_of=day,
                rules=place.settings().life_rules(),
                progress=tell,
            )
    typer.echo("An invented fleet: units, makers and sites are not real.\n")
    files.print_ingest(report)
    _print_answers(place, f"http://127.0.0.1:{port}")
    if not no_serve:
        serve_command.serve(context, port=port)


def _start_anew(place: Place) -> None:
    # An earlier demo is made again; anything else in the folder is not ours to touch.
    origin = store.origin(place.store)
    if origin is None:
        return
    own = str(place.data / FILES)
    if origin == "records" or not all(
        name.startswith(own) for name in files_taken_in(place.store)
    ):
        raise UsageError(
            f"{place.store} holds records that the demo did not make.",
            hint="Name another folder: `mendfleet --data FOLDER demo`.",
        )
    place.store.unlink()
    place.store.with_name(f"{place.store.name}.wal").unlink(missing_ok=True)
    shutil.rmtree(place.published, ignore_errors=True)


def _write_settings(place: Place) -> None:
    # What the invented maker says of its models; settings of the user's own stay.
    place.data.mkdir(parents=True, exist_ok=True)
    if not place.settings_file.exists():
        place.settings_file.write_text(settings_text(), encoding="utf-8")


def _print_answers(place: Place, address: str) -> None:
    snapshot = current_snapshot(place.published)
    nothing = Filters()
    intake = suggest.Intake.of({"symptom": EXAMPLE})
    answers = (
        ("today", printing_today.today, today.today(place, nothing)),
        ("watch", printing_watch.watch, watch.watch(place, nothing)),
        ("modes", printing_modes.modes, modes.modes(snapshot, nothing)),
        ("life", printing_life.life, life.life(snapshot, nothing)),
        (
            "suggest?" + "&".join(f"symptom={code}" for code in EXAMPLE),
            printing_suggest.suggest,
            suggest.suggest(snapshot, intake, settings=place.settings()),
        ),
        ("quality", printing.quality, quality.quality(snapshot, nothing)),
    )
    for page, show, answer in answers:
        typer.echo("")
        show(answer)
        typer.echo(f"{address}/{page}")
