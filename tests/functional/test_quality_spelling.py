"""Data quality, spellings: offered as lines of a mapping file, never merged."""

import tomllib

from dashboard.filters import Filters
from dashboard.queries.quality import part, quality
from tests import small_fleet
from tests.small_fleet import unit


def answer(folder, units):
    return quality(small_fleet.published(folder, units, []), Filters())


def test_spellings_of_a_supplier_are_offered_with_counts_and_lines(tmp_path):
    units = [unit(f"A{n}00", cable_supplier="Halvorn") for n in range(3)]
    units.append(unit("B100", cable_supplier="HALVORN."))

    found = answer(tmp_path, units)

    (of_field,) = found.more["spelling"]
    assert of_field["field"] == "cable_supplier"
    lines = tomllib.loads(of_field["mapping_lines"])
    assert lines == {"codes": {"cable_supplier": {"HALVORN.": "Halvorn"}}}
    assert list(part(found, "spelling").rows) == [
        {"field": "cable_supplier", "proposed": "Halvorn", "value": "Halvorn",
         "n_units": 3},
        {"field": "cable_supplier", "proposed": "Halvorn", "value": "HALVORN.",
         "n_units": 1},
    ]  # fmt: skip


def test_a_lot_goes_by_its_field_and_two_numbers_are_two_lots(tmp_path):
    lots = ["B2107", "B2108", "b-2107"]
    units = [unit(f"A{n}00", production_lot=lot) for n, lot in enumerate(lots)]

    (of_field,) = answer(tmp_path, units).more["spelling"]

    assert of_field["field"] == "production_lot"
    (group,) = of_field["groups"]
    assert set(group["values"]) == {"B2107", "b-2107"}


def test_nothing_is_merged(tmp_path):
    units = [unit("A000", site="Harbour"), unit("A100", site="harbour")]

    snapshot = small_fleet.published(tmp_path, units, [])

    used = snapshot.ask("values_in_use").query("dimension == 'site'")
    assert sorted(used["value"]) == ["Harbour", "harbour"]
    assert quality(snapshot, Filters()).more["spelling"][0]["field"] == "site"


def test_values_unlike_each_other_offer_nothing(tmp_path):
    units = [unit("A000", site="Harbour"), unit("A100", site="Mill road")]

    assert answer(tmp_path, units).more["spelling"] == []
