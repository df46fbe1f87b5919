"""Files with columns, dates, units and words of their own, read as ours."""

from ingest.mapping.apply import Mapping
from ingest.mapping.draft import suggest_mapping
from ingest.mapping.mapping_file import parse_mapping, read_mapping
from ingest.mapping.spelling import SpellingGroup, mapping_lines, spelling_variants

__all__ = [
    "Mapping",
    "SpellingGroup",
    "mapping_lines",
    "parse_mapping",
    "read_mapping",
    "spelling_variants",
    "suggest_mapping",
]
