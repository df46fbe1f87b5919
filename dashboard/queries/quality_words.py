"""What to do about each problem and notice, in a sentence, by its stable code."""

from collections.abc import Mapping

PROBLEMS: Mapping[str, str] = {
    "missing": "Fill the cell in: the field is required.",
    "not_text": "Write the value as text; a truth value or a formula error is none.",
    "too_long": "Shorten the text; move what is left to a field for free words.",
    "bad_pattern": "Write it in the form that the sentence names.",
    "not_a_number": "Leave only the number in the cell, without unit or words.",
    "out_of_range": "Look the value up, its unit and decimal sign: it cannot be.",
    "not_a_date": "Write the day as YYYY-MM-DD, or name its notation in a mapping.",
    "unknown_code": "Use a code of the list, or translate your words in a mapping.",
    "unknown_unit": "Write the unit as the list of units has it; case counts.",
    "date_order": "Look up both days: they cannot follow each other this way round.",
    "duplicate_key_in_file": "Keep the row that is right; delete others of the key.",
    "currency_missing": "Name the currency of the cost, three capitals as in ISO 4217.",
    "bad_encoding": "Save the file again as UTF-8, then take it in again.",
    "malformed_row": "Mend the row: a cell too many, or a quote that is not closed.",
    "malformed_message": "Send the message as the charger sent it, whole.",
}
NOTICES: Mapping[str, str] = {
    "unknown_column": "Rename the column or map it to a field; it is not read so far.",
    "unknown_serial": "Nothing, if the unit is still to come; else correct the serial.",
    "unknown_case": "Nothing, if the case is still to come; else correct its number.",
    "personal_data_masked": "Nothing: what looked personal was masked before it was "
    "stored.",
}
OTHERWISE = "Look the row up in its file, and correct the cell named."


def what_to_do(code: str) -> str:
    """Return what to do about a problem or notice, in a sentence."""
    return {**PROBLEMS, **NOTICES}.get(code, OTHERWISE)
