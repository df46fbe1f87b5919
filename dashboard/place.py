"""Which data folder this process serves."""

import os
from pathlib import Path

from dashboard.settings import Place

VARIABLE = "MENDFLEET_DATA"
WAIT_S = 2  # longer, and one who looks at a page thinks that it hangs


def place_in_use() -> Place:
    """Return the data folder that pages and routes read.

    Pages are run by the page server, which hands them no arguments: the folder comes
    from the environment, and is `data` where nothing is said.
    """
    return Place(Path(os.environ.get(VARIABLE) or "data"), wait_s=WAIT_S)
