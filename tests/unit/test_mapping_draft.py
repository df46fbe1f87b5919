"""Drafts of a mapping: what is guessed on what ground, and what is left open."""

import datetime as dt
import tomllib

import openpyxl
import pytest

from ingest.errors import FileError, UsageError
from ingest.mapping import parse_mapping, suggest_mapping
from tests.small_files import write_csv

RETURNS = """\
Return no.;Seriennummer;Eingang;Fehlerbild;Arbeit [h];Teilekosten (EUR);Fehlerart;Ton
R-1;MF-100;05.03.2026;kein Strom, Griff heiß;1,5;3,20;NFF;blau
R-2;MF-101;15.03.2026;brummt;0,5;4,20;Sicherung durchgebrannt;rot
R-3;MF-102;06.04.2026;kein Stromm;0,5;4,20;handle_pilot_open;rot
"""


def draft(folder, text, **options):
    return suggest_mapping(write_csv(folder, "file.csv", text), **options)


def test_a_workshop_s_columns_units_words_and_dates_are_guessed(tmp_path):
    text = draft(tmp_path, RETURNS)

    assert tomllib.loads(text) == {
        "kind": "repairs",
        "columns": {
            "Return no.": "case_id",
            "Seriennummer": "serial",
            "Eingang": "received_on",
            "Fehlerbild": "symptoms",
            "Arbeit [h]": "labour_minutes",
            "Teilekosten (EUR)": "parts_cost",
            "Fehlerart": "confirmed_mode",
        },
        "dates": {"received_on": "%d.%m.%Y"},
        "units": {"labour_minutes": "h"},
        "codes": {
            "symptoms": {
                "kein Strom": "no_power_indication",
                "Griff heiß": "handle_hot",
                "brummt": "humming",
            },
            "confirmed_mode": {
                "NFF": "no_fault_found",
                "Sicherung durchgebrannt": "fuse_open",
            },
        },
        "separators": {"symptoms": ","},
        "constants": {"currency": "EUR"},
    }


def test_every_guess_says_what_it_rests_on_and_a_person_is_told_to_check(tmp_path):
    lines = draft(tmp_path, RETURNS).splitlines()

    assert lines[:3] == [
        "# Draft of a column mapping for file.csv,",
        "# made from its column names and 3 sampled rows.",
        "# A person must check every line; a line that begins with # does nothing.",
    ]
    assert '"Fehlerbild" = "symptoms"  # by its name; 2 of 3 sampled cells fit' in lines
    assert '# not matched: "Ton"; cells such as blau, rot' in lines
    assert (
        '# "kein Stromm" = "no_power_indication"  # like a word for it, no more: take'
        " the first # away if it is right"
    ) in lines
    comma = lines.index("# Decimal commas in `Arbeit [h]`, `Teilekosten (EUR)`:")
    assert lines[comma + 1] == "# they are understood in this file as it stands."


def test_columns_with_our_names_need_no_line_but_their_cells_may(tmp_path):
    text = draft(
        tmp_path,
        "serial,model,environment,shipped_on\nU-1,A,INDOOR,2025-03-31\n"
        "U-2,A,innen,2025-04-01\n",
    )

    assert tomllib.loads(text) == {
        "kind": "units",
        "columns": {},
        "codes": {"environment": {"INDOOR": "indoor", "innen": "indoor"}},
    }
    assert "# serial: already our name; 2 of 2 sampled cells fit" in text


def test_a_required_field_without_evidence_is_left_to_a_person(tmp_path):
    text = draft(
        tmp_path,
        "Case no,Serial no,Day,Other\nR-1,MF-1,13.03.2026,x\nR-2,MF-2,14.03.2026,y\n",
    )

    assert "received_on" not in tomllib.loads(text)["columns"].values()
    assert (
        "# received_on is required, and no column says that it is one:\n"
        '# "Day" = "received_on"  # by its cells; 2 of 2 sampled cells fit; cells such'
        " as 13.03.2026, 14.03.2026\n"
        '# with received_on = "%d.%m.%Y" in [dates]\n'
    ) in text


def test_a_name_that_fits_with_cells_that_do_not_is_left_to_a_person(tmp_path):
    text = draft(
        tmp_path, "Serial number,Model,Cable length\nU-1,A,long\nU-2,A,short\n"
    )

    assert "cable_length_m" not in tomllib.loads(text)["columns"].values()
    assert (
        '# "Cable length" = "cable_length_m"  # by its name; 0 of 2 sampled cells fit;'
        " cells such as long, short"
    ) in text


def test_a_required_code_for_the_whole_file_may_be_a_constant(tmp_path):
    text = draft(
        tmp_path,
        "Case no,Test,Messwert [mΩ],Gemessen am\n"
        "R-1,pilot continuity,5.1,2026-03-05\nR-2,pilot_continuity,6,2026-03-05\n",
    )

    assert tomllib.loads(text)["constants"] == {"unit": "mohm"}
    assert (
        '# stage = ""  # for every row, if it is one for all: after_repair, diagnosis,'
        " intake, on_site"
    ) in text


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


def test_words_of_one_list_tell_a_column_whose_name_says_nothing(tmp_path):
    text = draft(
        tmp_path,
        "Serial no,Model,X1,X2\nU-1,A,Küste,ja\nU-2,A,innen,nein\nU-3,B,innen,ja\n",
    )

    assert tomllib.loads(text)["columns"]["X1"] == "environment"
    assert '"X1" = "environment"  # by its cells; 3 of 3 sampled cells fit' in text
    assert '# not matched: "X2"' in text


def test_yes_and_no_alone_tell_no_field(tmp_path):
    text = draft(
        tmp_path,
        "Case no,Serial no,Received,Sold\n"
        "R-1,MF-1,2026-03-05,yes\nR-2,MF-2,2026-03-05,no\n",
    )

    assert "Sold" not in tomllib.loads(text)["columns"]


def test_sentences_are_not_taken_for_codes(tmp_path):
    sentence = "The customer says that it stops after some time and smells a bit"
    text = draft(
        tmp_path,
        f"Case no,Serial no,Received,Complaint\nR-1,MF-1,2026-03-05,{sentence}\n",
    )

    assert "symptoms" not in tomllib.loads(text)["columns"].values()


def test_two_columns_named_alike_are_not_both_mapped(tmp_path):
    text = draft(tmp_path, "Serial no,SERIAL NO,Model\nU-1,7,A\nU-2,8,A\n")

    mapping = parse_mapping(text, name="draft")
    assert mapping.columns == {
        "Serial no": "serial", "SERIAL NO": "", "Model": "model",
    }  # fmt: skip
    assert mapping.field_names(["Serial no", "SERIAL NO", "Model"]) == {
        "Serial no": "serial", "Model": "model",
    }  # fmt: skip


def test_a_kind_asked_for_is_kept_and_one_without_ground_is_a_comment(tmp_path):
    text = "a,b\n1,2\n"

    assert 'kind = "usage"  # as asked for' in draft(tmp_path, text, kind="usage")
    assert "kind" not in tomllib.loads(draft(tmp_path, text))
    with pytest.raises(UsageError, match="There is no kind `usages`"):
        draft(tmp_path, text, kind="usages")


def test_of_a_workbook_the_sheet_is_taken_that_fits_best(tmp_path):
    book = openpyxl.Workbook()
    book.active.title = "Notes"
    book.active.append(["what", "who"])
    book.active.append(["call back", "AB"])
    sheet = book.create_sheet("Returns 2026")
    sheet.append(["Return no", "Serial no", "Received", "Opened before"])
    sheet.append(["R-1", "MF-1", dt.date(2026, 3, 5), True])
    book.save(tmp_path / "returns.xlsx")

    text = suggest_mapping(tmp_path / "returns.xlsx")

    assert tomllib.loads(text) == {
        "kind": "repairs",
        "sheet": "Returns 2026",
        "columns": {
            "Return no": "case_id",
            "Serial no": "serial",
            "Received": "received_on",
            "Opened before": "opened_before_arrival",
        },
        "codes": {"opened_before_arrival": {"TRUE": "yes"}},
    }


def test_a_file_that_is_not_there_is_named(tmp_path):
    with pytest.raises(FileError, match="no file"):
        suggest_mapping(tmp_path / "none.csv")
