"""JSON arrays and JSON Lines: members as cells, and what is no row."""

import codecs
import json
import tracemalloc

import pytest

from ingest import readers
from ingest.readers import json_file


def read(path):
    (source,) = readers.read(path)
    return source


def written(folder, content, name="rows.jsonl"):
    path = folder / name
    path.write_bytes(content if isinstance(content, bytes) else content.encode())
    return path


def rows(path):
    return list(read(path).rows())


def cells(path):
    return [row.cells for row in rows(path)]


def both_forms(folder, *objects):
    """Return the same objects as JSON Lines and as an array."""
    yield written(folder, "\n".join(objects))
    yield written(folder, f"[{','.join(objects)}]", "rows.json")


def test_lines_are_numbered_as_an_editor_does_and_blank_ones_passed_over(tmp_path):
    path = written(tmp_path, '\n{"a": "x"}\r\n \n{"b": "y"}')

    source = read(path)

    assert source.columns == ("a", "b")
    assert source.total == 2
    assert [(row.row_no, row.cells) for row in source.rows()] == [
        (2, {"a": "x"}),
        (4, {"b": "y"}),
    ]


def test_elements_of_an_array_are_numbered_from_one(tmp_path):
    path = written(tmp_path, ' [ {"a": "x"} ,\n{"b": "y"} ] \n', "rows.json")

    source = read(path)

    assert source.columns == ("a", "b")
    assert source.total == 2
    assert [(row.row_no, row.cells) for row in source.rows()] == [
        (1, {"a": "x"}),
        (2, {"b": "y"}),
    ]


@pytest.mark.parametrize("name", ["rows.json", "rows.ndjson", "ROWS.JSONL"])
def test_one_object_a_line_is_read_under_each_suffix(tmp_path, name):
    assert cells(written(tmp_path, '{"a": "1"}\n{"a": "2"}\n', name)) == [
        {"a": "1"},
        {"a": "2"},
    ]


@pytest.mark.parametrize(
    ("value", "cell"),
    [
        ('"x y"', "x y"),
        ('" x "', " x "),
        ("7.50", "7.50"),
        ("-0", "-0"),
        ("1E400", "1E400"),
        ("9007199254740993", "9007199254740993"),
        ("1" * 5000, "1" * 5000),
        ("true", True),
        ("false", False),
        ('["handle_hot", "humming"]', "handle_hot;humming"),
        ('["a", 2, true, null]', "a;2;true;"),
        ('{"a": 1.50, "b": "\\u00e4"}', '{"a":1.50,"b":"ä"}'),
        ('[2, {"a": null}, [true]]', '[2,{"a":null},[true]]'),
        ('"#N/A"', "#N/A"),
    ],
)
def test_a_value_becomes_the_text_that_stands_there(tmp_path, value, cell):
    for path in both_forms(tmp_path, f'{{"a": {value}}}'):
        assert cells(path) == [{"a": cell}]


@pytest.mark.parametrize("value", ["null", '""', '"  "', "[]"])
def test_a_value_not_recorded_is_left_out_and_its_name_stays_a_column(tmp_path, value):
    for path in both_forms(tmp_path, f'{{"a": {value}, "b": 1}}', "{}"):
        assert read(path).columns == ("a", "b")
        assert cells(path) == [{"b": "1"}, {}]


def test_a_charger_s_message_stays_json(tmp_path):
    path = written(
        tmp_path,
        '{"serial": "U-1", "received_at": "2026-01-02T10:30:00Z", "message": '
        '[2, "17", "StatusNotification", {"connectorId": 1, "info": "Tür \\"A\\""}]}',
    )

    (row,) = rows(path)

    text = '[2,"17","StatusNotification",{"connectorId":1,"info":"Tür \\"A\\""}]'
    assert row.cells["message"] == text
    assert json.loads(text)[3] == {"connectorId": 1, "info": 'Tür "A"'}


def test_names_are_trimmed_and_one_that_is_blank_gets_a_name(tmp_path):
    path = written(tmp_path, '{" a ": 1, "": 2}')

    assert read(path).columns == ("a", "column without name")


@pytest.mark.parametrize("name", ["rows.json", "rows.jsonl"])
@pytest.mark.parametrize(
    ("mark", "encoding"),
    [
        (b"", "utf-8"),
        (codecs.BOM_UTF8, "utf-8"),
        (codecs.BOM_UTF16_LE, "utf-16-le"),
        (codecs.BOM_UTF16_BE, "utf-16-be"),
    ],
)
def test_letters_come_out_right_in_each_encoding(tmp_path, name, mark, encoding):
    text = '{"site": "Köln €, \U0001f50c"}'
    if name == "rows.json":
        text = f"[{text}]"

    path = written(tmp_path, mark + text.encode(encoding), name)

    assert cells(path) == [{"site": "Köln €, \U0001f50c"}]


def test_a_pair_of_escapes_is_one_letter(tmp_path):
    assert cells(written(tmp_path, r'{"a": "\ud83d\udd0c"}')) == [{"a": "\U0001f50c"}]


def test_an_array_comes_out_the_same_whatever_the_size_of_a_block(
    tmp_path, monkeypatch
):
    objects = [{"a": n, "b": "x" * (n % 9), "c": [n, {"d": True}]} for n in range(60)]
    path = written(tmp_path, json.dumps(objects, indent=1), "rows.json")
    whole = cells(path)

    for size in (1, 2, 3, 5, 64):
        monkeypatch.setattr(json_file, "BLOCK", size)
        assert cells(path) == whole
    assert whole[3] == {"a": "3", "b": "xxx", "c": '[3,{"d":true}]'}


@pytest.mark.parametrize("name", ["rows.json", "rows.jsonl"])
def test_reading_holds_a_block_and_never_the_file(tmp_path, name):
    text = '{"serial": "U-000001", "site": "' + "x" * 200 + '"}'
    lines = [text] * 20_000
    content = f"[{','.join(lines)}]" if name == "rows.json" else "\n".join(lines)
    path = written(tmp_path, content, name)

    tracemalloc.start()
    n_rows = sum(1 for _ in read(path).rows())
    _, peak = tracemalloc.get_traced_memory()
    tracemalloc.stop()

    assert n_rows == 20_000
    assert path.stat().st_size > 4_000_000
    assert peak < 1_000_000
