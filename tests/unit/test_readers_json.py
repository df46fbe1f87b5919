"""JSON arrays and JSON Lines: members as cells, and what is no row."""

import codecs
import json
import tracemalloc

import pytest

from ingest import readers
from ingest.errors import FileError
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


@pytest.mark.parametrize(
    ("bad", "message"),
    [
        ('{"a": 1,}', "not JSON from character 9 of the line on"),
        ("serial,model", "not JSON from character 1 of the line on"),
        ('{"a": 01}', "not JSON from character 8 of the line on"),
        ('{"a": 1} {"a": 2}', "goes on after the value that ends at character 8"),
        ('{"a": ' + "[" * 100_000, "nested too deeply"),
    ],
)
def test_a_line_that_is_no_json_is_set_aside_alone(tmp_path, bad, message):
    path = written(tmp_path, f'{{"b": 1}}\n{bad}\n{{"b": 2}}\n')

    good, broken, last = rows(path)

    assert (broken.row_no, broken.cells) == (2, {"b": bad})
    assert (broken.problem.field, broken.problem.code) == ("b", "malformed_row")
    assert message in broken.problem.message
    assert [good.cells, last.cells] == [{"b": "1"}, {"b": "2"}]


@pytest.mark.parametrize(
    ("bad", "message"),
    [
        ("[1, 2]", "not a JSON object in braces"),
        ('"text"', "not a JSON object in braces"),
        ("12", "not a JSON object in braces"),
        ('{"a": NaN}', "NaN is no number of JSON"),
        ('{"a": [-Infinity]}', "-Infinity is no number of JSON"),
        ('{"a": 1, "a": 2}', "has the name `a` more than once"),
        ('{"a": {"x": 1, "x": 1}}', "has the name `x` more than once"),
        ('{"a": 1, " a": 2}', "two of its names differ in blanks only"),
        (r'{"a": "\ud800"}', "half a letter"),
        (r'{"\uDC00": 1}', "half a letter"),
        (r'{"a": [{"b": "\udfff"}]}', "half a letter"),
        ('{"a": ' + "[" * 500 + "{}" + "]" * 500 + "}", "nested too deeply"),
    ],
)
def test_json_that_is_no_row_is_set_aside_alone(tmp_path, bad, message):
    for path in both_forms(tmp_path, '{"b": 1}', bad, '{"b": 2}'):
        good, broken, last = rows(path)

        assert broken.cells == {"b": bad}
        assert (broken.problem.field, broken.problem.code) == ("b", "malformed_row")
        assert message in broken.problem.message
        assert [good.cells, last.cells] == [{"b": "1"}, {"b": "2"}]


def test_a_pair_of_escapes_is_one_letter(tmp_path):
    assert cells(written(tmp_path, r'{"a": "\ud83d\udd0c"}')) == [{"a": "\U0001f50c"}]


@pytest.mark.parametrize("bad", [b'{"a": "K\xf6ln"}', b'{"a": K\xf6ln}', b'["\xf6"]'])
def test_bytes_that_do_not_decode_set_their_line_aside(tmp_path, bad):
    path = written(tmp_path, b'{"a": "x"}\n' + bad + b'\n{"a": "y"}')

    good, broken, last = rows(path)

    assert (broken.problem.field, broken.problem.code) == ("a", "bad_encoding")
    assert broken.cells == {"a": bad.replace(b"\xf6", rb"\xf6").decode()}
    assert [good.cells, last.cells] == [{"a": "x"}, {"a": "y"}]


def test_bytes_that_do_not_decode_set_their_element_aside(tmp_path):
    path = written(tmp_path, b'[{"a": "K\xf6ln"}, {"a": "y"}]', "rows.json")

    broken, good = rows(path)

    assert broken.problem.code == "bad_encoding"
    assert broken.cells == {"a": r'{"a": "K\xf6ln"}'}
    assert good.cells == {"a": "y"}


def test_half_a_letter_of_utf_16_sets_its_line_aside(tmp_path):
    content = '{"a": "'.encode("utf-16-le") + b"\x00\xd8" + '"}\n'.encode("utf-16-le")
    good = '{"a": "y"}'.encode("utf-16-le")

    broken, row = rows(written(tmp_path, codecs.BOM_UTF16_LE + content + good))

    assert broken.problem.code == "bad_encoding"
    assert broken.cells == {"a": r'{"a": "\ud800"}'}
    assert row.cells == {"a": "y"}


def test_utf_16_that_ends_within_a_letter_is_refused(tmp_path):
    content = codecs.BOM_UTF16_LE + '{"a": 1}\n'.encode("utf-16-le") + b"{"

    with pytest.raises(FileError, match="breaks off in the middle of a letter"):
        read(written(tmp_path, content))


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ('[{"a": 1}', "element 1: it breaks off at character 10 of the file"),
        ('[{"a": 1},', "element 2: it breaks off at character 11 of the file"),
        ('[{"a": 1}, {"b', "element 2: '\"b' at character 13 of the file"),
        ('[{"a": 1} {"a": 2}]', "element 1: '{\"a\": 2}]' at character 11"),
        ('[{"a": 1},]', "element 2: ']' at character 11 of the file"),
        ("[", "element 1: it breaks off at character 2 of the file"),
        ('[{"a": 01}]', "element 1: '1}]' at character 9 of the file"),
    ],
)
def test_a_broken_array_is_refused_with_the_place(tmp_path, text, message):
    with pytest.raises(FileError) as caught:
        read(written(tmp_path, text, "rows.json"))

    assert message in caught.value.message
    assert "one object a line" in caught.value.hint


def test_the_place_of_a_break_counts_from_the_start_of_the_file(tmp_path, monkeypatch):
    monkeypatch.setattr(json_file, "BLOCK", 7)
    text = "[" + '{"a": "ä"}, ' * 100 + '{"a": tru}]'

    with pytest.raises(FileError) as caught:
        read(written(tmp_path, text, "rows.json"))

    place = text.index("tru}") + 1
    assert f"element 101: 'tru}}]' at character {place} of" in caught.value.message


def test_what_follows_the_end_of_an_array_is_refused(tmp_path):
    path = written(tmp_path, '[{"a": 1}]\n{"a": 2}', "rows.json")

    with pytest.raises(FileError, match="goes on after the end of its array") as caught:
        read(path)
    assert "'{\"a\": 2}' at character 12" in caught.value.message


def test_an_array_nested_too_deeply_is_refused(tmp_path):
    path = written(tmp_path, '[{"a": 1}, ' + "[" * 100_000, "rows.json")

    with pytest.raises(FileError, match="nested too deeply in its element 2"):
        read(path)


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


@pytest.mark.parametrize("content", [b"", b" \n", b"\xef\xbb\xbf\n"])
@pytest.mark.parametrize("name", ["rows.json", "rows.jsonl"])
def test_a_file_of_blanks_is_empty(tmp_path, content, name):
    with pytest.raises(FileError, match="is empty"):
        read(written(tmp_path, content, name))


@pytest.mark.parametrize("text", ["[]", "[ ]\n", "{}\n{}", "[1, 2]", '"text"', "a,b"])
@pytest.mark.parametrize("name", ["rows.json", "rows.jsonl"])
def test_a_file_without_a_member_is_refused(tmp_path, text, name):
    with pytest.raises(FileError, match="holds no JSON object with members"):
        read(written(tmp_path, text, name))


def test_more_names_than_a_sheet_has_columns_are_refused(tmp_path, monkeypatch):
    monkeypatch.setattr(json_file, "MOST_COLUMNS", 2)
    path = written(tmp_path, '{"a": 1, "b": 1}\n{"c": 1}')

    with pytest.raises(FileError, match="more than 2 different names by its row 2"):
        read(path)


def test_a_line_without_end_is_refused(tmp_path, monkeypatch):
    monkeypatch.setattr(json_file, "LONGEST_ELEMENT", 20)
    path = written(tmp_path, '{"a": 1}\n' + "{" * 30)

    with pytest.raises(FileError, match="more than 20 characters in line 2"):
        read(path)


def test_an_element_without_end_is_refused(tmp_path, monkeypatch):
    monkeypatch.setattr(json_file, "LONGEST_ELEMENT", 20)
    path = written(tmp_path, '[{"a": 1}, {"a": "' + "x" * 30, "rows.json")

    with pytest.raises(FileError, match="is broken in its element 2"):
        read(path)


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
