"""JSON that is broken or no row: what is set aside, what is refused, and where."""

import codecs

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


def both_forms(folder, *objects):
    """Return the same objects as JSON Lines and as an array."""
    yield written(folder, "\n".join(objects))
    yield written(folder, f"[{','.join(objects)}]", "rows.json")


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
