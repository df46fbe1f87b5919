"""What a draft tells from the cells: notations of dates, units, wire gauges."""

import tomllib

import pytest

from ingest.mapping import suggest_mapping
from tests.small_files import write_csv


def draft(folder, text):
    return suggest_mapping(write_csv(folder, "file.csv", text))


@pytest.mark.parametrize(
    ("cells", "formats"),
    [
        (["05.03.2026", "31.12.2025"], "%d.%m.%Y"),
        (["3/31/26", "12/1/25"], "%m/%d/%y"),
        (["31-03-2026", "01-12-2025"], "%d-%m-%Y"),
        (["20260305", "20251231"], "%Y%m%d"),
        (["5 Mar 2026", "31 Dec 2025"], "%d %b %Y"),
        (["31.03.2026 14:05", "01.04.2026 07:10"], "%d.%m.%Y %H:%M"),
        (["2026-03-31T14:05:00"], "%Y-%m-%dT%H:%M:%S"),
        (["31.03.2026", "01.04.26", "30.04.2026"], ["%d.%m.%Y", "%d.%m.%y"]),
    ],
)
def test_the_notation_of_dates_is_told_from_the_cells(tmp_path, cells, formats):
    rows = "".join(f"U-{n}x,A,{cell}\n" for n, cell in enumerate(cells))
    text = draft(tmp_path, f"Serial no,Model,Ship date\n{rows}")

    assert tomllib.loads(text)["dates"] == {"shipped_on": formats}
    assert "check this" not in text


def test_day_and_month_that_may_be_swapped_are_both_written(tmp_path):
    text = draft(tmp_path, "Serial no,Model,Ship date\nU-1,A,03/05/2026\n")

    assert tomllib.loads(text)["dates"] == {"shipped_on": "%d/%m/%Y"}
    assert (
        '# shipped_on = "%m/%d/%Y"  # check this: day and month fit either way round;'
        " keep the right line"
    ) in text


def test_another_date_of_the_file_decides_which_of_both_is_the_likelier(tmp_path):
    text = draft(
        tmp_path,
        "Serial no,Model,Ship date,Installation date\nU-1,A,03/05/2026,03/31/2026\n",
    )

    assert tomllib.loads(text)["dates"]["shipped_on"] == "%m/%d/%Y"
    assert (
        '# shipped_on = "%d/%m/%Y"  # check this: it fits as well, but other dates of'
        " the file do not"
    ) in text


@pytest.mark.parametrize(
    ("heading", "cells", "unit"),
    [
        ("Cable length [ft]", ["25", "16.4"], "ft"),
        ("length_ft", ["25"], "ft"),
        ("Kabellänge (cm)", ["750"], "cm"),
        ("Longueur du câble", ["25 ft", "16 ft"], "ft"),
        ("Cable length (m)", ["7.5"], None),
        ("Kabellengte", ["7.5 m"], "m"),
    ],
)
def test_a_unit_is_told_from_the_name_or_the_cells(tmp_path, heading, cells, unit):
    rows = "".join(f"U-{n}x,A,{cell}\n" for n, cell in enumerate(cells))
    found = tomllib.loads(draft(tmp_path, f"Serial no,Model,{heading}\n{rows}"))

    assert found["columns"][heading] == "cable_length_m"
    assert found.get("units", {}).get("cable_length_m") == unit


def test_a_wire_gauge_becomes_a_table_of_areas(tmp_path):
    # ASTM B258 (from memory): 10 AWG 5.26 mm2, 6 AWG 13.30 mm2.
    text = draft(tmp_path, "Serial no,Model,Wire size (AWG)\nU-1,A,10\nU-2,A,6 AWG\n")

    assert tomllib.loads(text)["codes"] == {
        "conductor_area_mm2": {"10": "5.26", "6 AWG": "13.30"}
    }


def test_a_bare_number_is_no_gauge_unless_the_name_says_so(tmp_path):
    text = draft(tmp_path, "Serial no,Model,Wire size\nU-1,A,6\nU-2,A,10 AWG\n")

    assert tomllib.loads(text)["codes"] == {"conductor_area_mm2": {"10 AWG": "5.26"}}


@pytest.mark.parametrize(
    ("heading", "doubt"),
    [
        ("Labour", "; check this: no unit is named, taken as min"),
        ("Labour minutes", ""),
        ("Labour (min)", ""),
        ("Labour hours", ""),
    ],
)
def test_a_number_without_a_named_unit_is_doubted(tmp_path, heading, doubt):
    text = draft(
        tmp_path,
        f"Case no,Serial no,Received,{heading}\nR-1,MF-1,2026-03-05,2\n",
    )

    assert (
        f'"{heading}" = "labour_minutes"  # by its name; 1 of 1 sampled cells fit'
        f"{doubt}\n"
    ) in text


def test_many_words_that_are_like_none_are_counted_not_listed(tmp_path):
    words = "".join(f"U-{n},A,indoor\nV-{n},A,w{n}x{n}\n" for n in range(23))
    text = draft(tmp_path, f"serial,model,environment\n{words}")

    assert text.count("no known word is like it") == 20
    assert "# and 3 more words that are like none" in text


@pytest.mark.parametrize("heading", ["Messwert [x]", "Messwert (L1)"])
def test_a_remark_in_the_name_of_a_reading_is_no_unit(tmp_path, heading):
    text = draft(
        tmp_path,
        f"Case no,Test,{heading},Gemessen am\nR-1,pilot continuity,5,2026-03-05\n",
    )

    assert tomllib.loads(text)["columns"][heading] == "value"
    assert tomllib.loads(text)["constants"] == {}


def test_a_column_without_cells_is_mapped_by_name_unless_it_is_required(tmp_path):
    text = draft(tmp_path, "Serial no,Model,Lot,Region\n,A,,\n,B,,\n")

    assert tomllib.loads(text)["columns"] == {
        "Model": "model", "Lot": "production_lot", "Region": "region",
    }  # fmt: skip
    assert '"Lot" = "production_lot"  # by its name; no cell of the sample' in text
