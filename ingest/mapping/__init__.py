"""Files with columns, dates, units and words of their own, read as ours."""

from ingest.mapping.apply import Mapping
from ingest.mapping.mapping_file import parse_mapping, read_mapping

__all__ = ["Mapping", "parse_mapping", "read_mapping"]
