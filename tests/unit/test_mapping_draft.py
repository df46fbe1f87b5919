"""Drafts of a mapping: what is guessed on what ground, and what is left open."""

import datetime as dt
import gzip
import tomllib
import zipfile

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
        " check this: no unit is named, taken as m; cells such as long, short"
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


def test_decimal_commas_that_are_not_understood_are_said(tmp_path):
    text = draft(tmp_path, 'serial,model,cable_length_m\nU-1,A,"7,5"\n')

    assert "# Decimal commas in `cable_length_m`:\n# they are not understood" in text


def test_a_second_kind_that_fits_nearly_as_well_is_named(tmp_path):
    text = draft(tmp_path, "model,region,quantity\nA,North,5\n")

    assert "# check this: planned_sales fits nearly as well" in text


def test_an_archive_of_several_files_has_no_one_mapping(tmp_path):
    with zipfile.ZipFile(tmp_path / "two.zip", "w") as archive:
        archive.writestr("a.csv", "serial,model\n")
        archive.writestr("b.csv", "serial,model\n")

    with pytest.raises(FileError, match=r"two\.zip holds 2 files"):
        suggest_mapping(tmp_path / "two.zip")


def test_a_packed_file_is_sampled_like_the_file_in_it(tmp_path):
    with gzip.open(tmp_path / "units.csv.gz", "wt", encoding="utf-8") as file:
        file.write("Serial no,Model\nU-1,A\n")

    text = suggest_mapping(tmp_path / "units.csv.gz")

    assert tomllib.loads(text)["columns"] == {"Serial no": "serial", "Model": "model"}


def test_a_file_that_is_not_there_is_named(tmp_path):
    with pytest.raises(FileError, match="no file"):
        suggest_mapping(tmp_path / "none.csv")


def test_words_that_none_is_like_are_left_to_a_person_to_translate(tmp_path):
    file = "case_id;serial;received_on;Befund\nR1;U-001;2026-01-02;Schütz klebt\n"

    assert '# "Schütz klebt" = ""' in draft(tmp_path, file)


def test_no_personal_data_comes_into_a_draft(tmp_path):
    file = (
        "case_id;serial;received_on;Befund;Rückruf\n"
        "R1;U-001;2026-01-02;ruf an 0171 2345678;post@example.org\n"
    )

    made = draft(tmp_path, file)

    assert "[e-mail]" in made
    assert "example.org" not in made
    assert "2345678" not in made
