"""A column mapping at work: from the cells of a user's file to cells of our fields.

What a mapping cannot change it leaves as it stands: a word without translation, a date
in another notation. The models judge every cell afterwards, as they do without one.
"""

import re
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from decimal import Context, Decimal
from functools import cached_property, lru_cache, partial

from ingest import measures
from ingest.cells import NUMBER, nearest
from ingest.errors import FileError
from ingest.mapping.dates import in_own_notation, read_date
from ingest.mapping.fields import all_fields, form_of
from ingest.readers.source import Cell
from ingest.records import KindSpec

# A number alone, or with the unit that it says of itself.
AMOUNT = re.compile(rf"(?P<number>{NUMBER.pattern})\s*(?P<unit>[^\d\s.,].*)?")
# More digits than any number of a field keeps.
KEPT = Context(prec=30)
# Cells repeat from row to row; what one became is remembered for the next.
REMEMBERED = 1 << 12

Change = Callable[[str], str]


def folded(text: str) -> str:
    """Return a name or word without the differences that no one means."""
    return " ".join(text.split()).casefold()


@dataclass(frozen=True, eq=False)
class Mapping:
    """How one workshop's files say what our fields hold.

    Attributes
    ----------
    name : str
        Where it is from, for messages.
    text : str
        The TOML as given; it is kept with the batch it was used for.
    kind : str or None
        The kind of file it is for; None: told from the columns.
    sheet : str or None
        The sheet of a workbook to read.
    columns : dict of str to str
        Their column to our field; an empty field leaves the column out.
    dates : dict of str to tuple of str
        Field to formats.
    units : dict of str to str
        Field to the unit its numbers are in.
    codes : dict of str to dict of str to str
        Field to their word to ours; an empty word of ours means not recorded.
    separators : dict of str to str
        Field to what stands between its parts, beside `;`.
    constants : dict of str to str
        Field to the value of every row that has none of its own.
    """

    name: str
    text: str
    kind: str | None
    sheet: str | None
    columns: dict[str, str]
    dates: dict[str, tuple[str, ...]]
    units: dict[str, str]
    codes: dict[str, dict[str, str]]
    separators: dict[str, str]
    constants: dict[str, str]

    def field_names(
        self, columns: Sequence[str], *, file: str = "The file"
    ) -> dict[str, str]:
        """Return our field for each column of a file.

        Parameters
        ----------
        columns : sequence of str
        file : str
            Named in messages.

        Returns
        -------
        dict of str to str
            In the order of `columns`. A column that no field is known for keeps its
            name; one that the mapping leaves out is not in it.

        Raises
        ------
        FileError
            Two columns are for one field, or a mapped column is not there and
            nothing else fills its field.
        """
        named = {column: self._field_of(column) for column in columns}
        found = {column: field for column, field in named.items() if field}
        column_of: dict[str, str] = {}
        for column, field in found.items():
            other = column_of.setdefault(field, column)
            if other != column:
                raise FileError(
                    f"{file} has two columns for {field} with {self.name}:"
                    f" `{other}` and `{column}`.",
                    hint="Say which counts: give the other one an empty field in"
                    f' [columns], such as `"{column}" = ""`.',
                )
        for column, field in self.columns.items():
            if field and field not in column_of:
                like = nearest(column, frozenset(columns))
                raise FileError(
                    f"{file} has no column `{column}`, which {self.name} maps to"
                    f" {field}.",
                    hint=(f"The nearest column is `{like}`. " if like else "")
                    + "Correct the name in [columns], or take the line out.",
                )
        return found

    def field_of(self, column: str) -> str:
        """Return our field for a column, or its own name; "" if it is left out."""
        return self._field_of(column)

    def fields(
        self, columns: Sequence[str], *, file: str = "The file"
    ) -> tuple[str, ...]:
        """Return every field that a row may have: from columns and from constants.

        Raises
        ------
        FileError
            As for `field_names`.
        """
        named = self.field_names(columns, file=file).values()
        return tuple(dict.fromkeys([*named, *self.constants]))

    def changes(self, field: str) -> Change | None:
        """Return what the mapping makes of a cell of a field; None if nothing.

        An empty answer means not recorded.
        """
        return self._changes.get(field)

    def apply(self, cells: dict[str, Cell], spec: KindSpec) -> dict[str, Cell]:
        """Return one row by our fields: renamed, changed, and constants added.

        Parameters
        ----------
        cells : dict of str to Cell
            By the file's own columns; an empty cell is left out.
        spec : KindSpec
            The kind of the file; constants of other kinds are passed over.

        Returns
        -------
        dict of str to Cell
        """
        row: dict[str, Cell] = {}
        for column, cell in cells.items():
            field = self._field_of(column)
            if field and (changed := self._changed(field, cell)) != "":
                row[field] = changed
        for field, value in self.constants.items():
            if field not in row and field in spec.fields:
                row[field] = value
        return row

    def _changed(self, field: str, cell: Cell) -> Cell:
        change = self._changes.get(field)
        if change is None:
            return cell
        if isinstance(cell, str):
            return change(cell)
        # A truth value has words in a translation only: as a spreadsheet shows it.
        shown = str(cell).upper()
        changed = change(shown) if isinstance(cell, bool) else shown
        return cell if changed == shown else changed

    def _field_of(self, column: str) -> str:
        known = self._known_columns
        if column not in known:
            known[column] = self._looked_up(column)
        return known[column]

    def _looked_up(self, column: str) -> str:
        if column in self.columns:
            return self.columns[column]
        if column in all_fields():
            return column
        like = [name for name in self.columns if folded(name) == folded(column)]
        return self.columns[like[0]] if len(like) == 1 else column

    @cached_property
    def _known_columns(self) -> dict[str, str]:
        return {}

    @cached_property
    def _changes(self) -> dict[str, Change]:
        fields = {*self.dates, *self.units, *self.codes, *self.separators}
        return {
            field: lru_cache(maxsize=REMEMBERED)(partial(self._change, field))
            for field in fields
        }

    @cached_property
    def _words(self) -> dict[str, dict[str, str]]:
        return {
            field: {folded(word): code for word, code in words.items()}
            for field, words in self.codes.items()
        }

    def _change(self, field: str, cell: str) -> str:
        words = self._words.get(field, {})
        if folded(cell) in words:
            return words[folded(cell)]
        form = form_of(field)
        if form.is_list:
            return self._list(field, cell, words)
        text = cell.strip()
        if field in self.dates and not in_own_notation(text, form.form):
            return read_date(text, self.dates[field], form.form) or cell
        if field in self.units:
            return _in_field_unit(text, self.units[field], field) or cell
        return cell

    def _list(self, field: str, cell: str, words: dict[str, str]) -> str:
        separator = self.separators.get(field, ";")
        if separator in cell and cell.strip() in form_of(field).codes:
            return cell  # a code may hold the sign: RCD/Tripped
        parts = [part.strip() for part in cell.replace(separator, ";").split(";")]
        changed = [words.get(folded(part), part) for part in parts]
        is_ours = separator == ";" or separator not in cell
        if not any(parts) or (changed == parts and is_ours):
            return cell
        return ";".join(part for part in changed if part)


def _in_field_unit(text: str, unit: str, field: str) -> str | None:
    found = AMOUNT.fullmatch(text)
    if found is None:
        return None
    own = found["unit"] is None and unit == measures.FIELD_UNITS[field]
    if own:
        return text
    try:
        amount = measures.to_field_unit(
            Decimal(found["number"]), found["unit"] or unit, field
        )
    except measures.UnknownUnitError:
        return None
    written = format(KEPT.plus(amount), "f")
    return written.rstrip("0").rstrip(".") if "." in written else written
