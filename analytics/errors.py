"""When the data cannot answer."""


class InsufficientDataError(Exception):
    """The data cannot answer the question; carries what is needed and was found.

    Parameters
    ----------
    what : str
        What is counted, in words that fit after a number
        ("distinct ages with a failure").
    needed, found : int
        How many would be enough, and how many there are.
    hint : str, optional
        What to do next.
    """

    exit_code = 15
    http_status = 409

    def __init__(
        self,
        what: str,
        *,
        needed: int,
        found: int,
        hint: str = "Choose a wider group or wait for more confirmed cases.",
    ) -> None:
        super().__init__(f"needed at least {needed} {what}, found {found}")
        self.what = what
        self.needed = needed
        self.found = found
        self.hint = hint
