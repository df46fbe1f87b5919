"""How a test reads the tables of the page Data quality."""

# What a table is called for those who cannot see it.
PROBLEMS = "Rows set aside by kind, field and reason"
EXAMPLES = "Examples of rows set aside"
FILES = "Files taken in"
BY_FILE = "Rows of each file by field"
SET_ASIDE = "Rows set aside with file"
WAITING = "Rows kept that wait"
MONTHS = "Returns by month of failure"
SUPPORT = "Confirmed cases by what backs"
CONTRADICTED = "Cases whose confirmed mode"
SPELLING = "Values that may be spellings"
LEFT_OUT = "Units left out"


def named(page, name):
    return [t.value for t in page.dataframe if t.proto.alt.startswith(name)]


def table(page, name):
    (shown,) = named(page, name)
    return shown
