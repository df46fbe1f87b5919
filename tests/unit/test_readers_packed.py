"""Packed files: what they stand for, and what is refused before it fills a disk."""

import gzip
import io
import shutil
import zipfile
from types import SimpleNamespace

import pyarrow as pa
import pyarrow.parquet as pq
import pytest

from ingest import readers
from ingest.errors import FileError
from ingest.readers import packed, source
from ingest.readers.packed import unpacked

CSV = b"serial,model\nU-1,A\n"


@pytest.fixture
def folder(tmp_path):
    folder = tmp_path / "unpacked"
    folder.mkdir()
    return folder


def zipped(tmp_path, **members):
    path = tmp_path / "returns.zip"
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, content in members.items():
            archive.writestr(name, content)
    return path


def gzipped(tmp_path, content, name="units.csv.gz"):
    path = tmp_path / name
    path.write_bytes(gzip.compress(content))
    return path


def packed_as(kind, tmp_path, content):
    unit = {"units.csv": content}
    return zipped(tmp_path, **unit) if kind == "zip" else gzipped(tmp_path, content)


def read(path, shown=None):
    (opened,) = readers.read(path, shown=shown)
    return opened


def cells(path):
    return [row.cells for row in read(path).rows()]


def test_a_file_that_is_not_packed_stands_for_itself(tmp_path, folder):
    path = tmp_path / "units.csv"
    path.write_bytes(CSV)

    assert unpacked(path, folder) == [(str(path), path)]
    assert list(folder.iterdir()) == []


def test_a_gz_file_is_shown_as_given_and_read_by_the_suffix_before(tmp_path, folder):
    path = gzipped(tmp_path, CSV, "Units.CSV.GZ")

    ((shown, copy),) = unpacked(path, folder)

    assert shown == str(path)
    assert (copy.parent, copy.suffix) == (folder, ".CSV")
    assert cells(copy) == [{"serial": "U-1", "model": "A"}]


def test_a_gz_file_may_hold_a_typed_format(tmp_path, folder):
    content = io.BytesIO()
    pq.write_table(pa.table({"serial": ["U-1"]}), content)
    path = gzipped(tmp_path, content.getvalue(), "units.parquet.gz")

    ((_, copy),) = unpacked(path, folder)

    assert cells(copy) == [{"serial": "U-1"}]


def test_each_file_of_a_zip_is_one_also_in_folders(tmp_path, folder):
    path = zipped(
        tmp_path,
        **{
            "units.csv": CSV,
            "returns/": b"",
            "returns/2026/repairs.csv": b"case_id\nR-1\n",
            ".hidden.csv": CSV,
            ".git/units.csv": CSV,
            "__MACOSX/units.csv": CSV,
            "returns/~$units.xlsx": b"open",
        },
    )

    (first, units), (second, repairs) = unpacked(path, folder)

    assert first == f"{path}/units.csv"
    assert second == f"{path}/returns/2026/repairs.csv"
    assert cells(units) == [{"serial": "U-1", "model": "A"}]
    assert cells(repairs) == [{"case_id": "R-1"}]


@pytest.mark.parametrize("name", ["../../out.csv", "/out.csv", "..\\..\\out.csv"])
def test_a_name_that_leads_out_of_the_folder_is_only_shown(tmp_path, folder, name):
    path = zipped(tmp_path, **{name: CSV})

    ((shown, copy),) = unpacked(path, folder)

    assert shown == f"{path}/{name}"
    assert copy.parent == folder
    assert not [file for file in tmp_path.rglob("out.csv") if file != copy]


def test_letters_that_a_terminal_obeys_are_not_shown(tmp_path, folder):
    ((shown, _),) = unpacked(zipped(tmp_path, **{"a\x1b[2J.csv": CSV}), folder)

    assert shown.endswith("/a?[2J.csv")


@pytest.mark.parametrize(
    ("name", "message"),
    [
        ("inner.zip", "inner.zip is a packed file inside a packed file"),
        ("inner.csv.gz", "inner.csv.gz is a packed file inside a packed file"),
        ("letter.pdf", "letter.pdf has the suffix `.pdf`, which is not read"),
        ("README", "README has no suffix"),
        ("a." + "x" * 200, "x has no suffix"),
    ],
)
def test_a_member_that_is_not_read_fails_on_its_own(tmp_path, folder, name, message):
    path = zipped(tmp_path, **{name: b"content", "units.csv": CSV})

    (shown, copy), (_, units) = unpacked(path, folder)

    with pytest.raises(FileError) as caught:
        read(copy, shown=shown)
    assert message in caught.value.message
    assert len(cells(units)) == 1


def test_what_is_not_read_takes_no_room(tmp_path, folder):
    unpacked(zipped(tmp_path, **{"a.jpg": b"x" * 1000, "b.mp4": b"y" * 1000}), folder)

    assert list(folder.iterdir()) == []


@pytest.mark.parametrize(
    ("name", "content", "message"),
    [
        ("units.csv", b"\n", "is empty"),
        ("units.json", b'[{"a": 1}', "is broken in its element 1"),
        ("units.parquet", b"PAR1", "is not a Parquet file"),
    ],
)
def test_messages_name_the_member_and_not_the_copy(
    tmp_path, folder, name, content, message
):
    ((shown, copy),) = unpacked(zipped(tmp_path, **{name: content}), folder)

    with pytest.raises(FileError, match=message) as caught:
        read(copy, shown=shown)

    assert caught.value.message.startswith(f"{shown} ")
    assert str(folder) not in caught.value.message


@pytest.mark.parametrize("name", ["gone.csv.gz", "gone.zip"])
def test_a_packed_file_that_is_not_there_is_said_to_be_missing(tmp_path, folder, name):
    ((_, path),) = unpacked(tmp_path / name, folder)

    with pytest.raises(FileError, match="There is no file"):
        read(path)


@pytest.mark.parametrize("name", ["none.csv.gz", "none.zip"])
def test_a_packed_file_of_no_bytes_is_empty(tmp_path, folder, name):
    (tmp_path / name).touch()
    ((_, path),) = unpacked(tmp_path / name, folder)

    with pytest.raises(FileError, match="is empty"):
        read(path)


@pytest.mark.parametrize("name", ["a.csv.gz", "a.zip"])
@pytest.mark.parametrize("content", [b"serial\nU-1\n", b"PK\x03\x04", b"\x1f\x8b\x08"])
def test_what_is_no_packed_file_is_refused(tmp_path, folder, name, content):
    (tmp_path / name).write_bytes(content)

    with pytest.raises(FileError, match="is not a packed file that can be read"):
        unpacked(tmp_path / name, folder)


@pytest.mark.parametrize("kind", ["gz", "zip"])
def test_a_packed_file_cut_short_leaves_no_part_behind(tmp_path, folder, kind):
    content = bytes(range(256)) * 40
    whole = packed_as(kind, tmp_path, content)
    data = whole.read_bytes()
    # A ZIP file keeps its list of contents at the end: the cut is made inside it.
    cut = data[:-30] if kind == "gz" else data[:60] + b"\0" * 60 + data[120:]
    whole.write_bytes(cut)

    with pytest.raises(FileError, match="is not a packed file that can be read"):
        unpacked(whole, folder)
    assert list(folder.iterdir()) == []


@pytest.mark.parametrize("method", [zipfile.ZIP_BZIP2, zipfile.ZIP_LZMA])
def test_a_member_damaged_inside_is_refused_in_each_compression(
    tmp_path, folder, method
):
    path = tmp_path / "returns.zip"
    with zipfile.ZipFile(path, "w", method) as archive:
        archive.writestr("units.csv", bytes(range(256)) * 4)
    content = bytearray(path.read_bytes())
    content[60:120] = b"\xff" * 60
    path.write_bytes(content)

    with pytest.raises(FileError, match="is not a packed file that can be read"):
        unpacked(path, folder)


def test_an_archive_with_a_password_is_refused(tmp_path, folder):
    path = zipped(tmp_path, **{"units.csv": CSV})
    content = bytearray(path.read_bytes())
    content[content.index(b"PK\x01\x02") + 8] |= 1  # the flag in its list of contents
    path.write_bytes(content)

    with pytest.raises(FileError, match=r"is locked with a password.*`units.csv`"):
        unpacked(path, folder)


def test_an_archive_without_a_file_is_refused(tmp_path, folder):
    with pytest.raises(FileError, match="holds no file"):
        unpacked(zipped(tmp_path, **{"returns/": b"", ".hidden": b"x"}), folder)


def test_an_archive_of_too_many_files_is_refused(tmp_path, folder, monkeypatch):
    monkeypatch.setattr(packed, "MOST_FILES", 2)
    path = zipped(tmp_path, **{f"{n}.csv": CSV for n in range(3)})

    with pytest.raises(FileError, match="holds 3 files; at most 2 are read"):
        unpacked(path, folder)


@pytest.mark.parametrize("kind", ["gz", "zip"])
def test_content_out_of_all_proportion_is_refused(tmp_path, folder, kind, monkeypatch):
    monkeypatch.setattr(source, "ABSURD_SIZE", 1_000_000)
    monkeypatch.setattr(source, "ABSURD_RATIO", 100)
    content = b"\0" * 5_000_000
    path = packed_as(kind, tmp_path, content)

    with pytest.raises(FileError, match=r"bytes and unpacks to \d+ or more"):
        unpacked(path, folder)
    assert list(folder.iterdir()) == []


def test_a_large_file_that_packs_well_is_still_read(tmp_path, folder, monkeypatch):
    monkeypatch.setattr(source, "ABSURD_SIZE", 1_000)
    content = b"serial,model\n" + b"U-1,A\n" * 3000
    path = gzipped(tmp_path, content)

    assert len(content) < source.ABSURD_RATIO * path.stat().st_size
    ((_, copy),) = unpacked(path, folder)
    assert copy.read_bytes() == content


@pytest.mark.parametrize("kind", ["gz", "zip"])
def test_what_would_fill_the_disk_is_refused(tmp_path, folder, kind, monkeypatch):
    path = packed_as(kind, tmp_path, CSV)
    free = packed.KEPT_FREE + len(CSV)
    asked = []

    def disk_usage(place):
        asked.append(place)
        return SimpleNamespace(free=free)

    monkeypatch.setattr(shutil, "disk_usage", disk_usage)
    assert unpacked(path, folder)[0][1].read_bytes() == CSV
    assert set(asked) == {folder}

    free -= 1
    with pytest.raises(FileError, match="does not fit on the disk"):
        unpacked(path, folder)


def test_what_the_system_will_not_write_is_told_in_its_words(tmp_path):
    path = gzipped(tmp_path, CSV)

    with pytest.raises(FileError, match="cannot be unpacked: No such file or dir"):
        unpacked(path, tmp_path / "gone")


def test_two_archives_may_be_unpacked_into_one_folder(tmp_path, folder):
    unpacked(gzipped(tmp_path, CSV, "a.csv.gz"), folder)
    unpacked(gzipped(tmp_path, CSV, "b.csv.gz"), folder)

    assert len(list(folder.iterdir())) == 2
