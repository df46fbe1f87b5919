"""Errors a person can act on.

Each says what happened, where, with which value, and what to do next. The exit
code of a command and the status of an HTTP answer come from the class.
"""


class UserError(Exception):
    """What went wrong, where, and what to do next; shown without a traceback.

    Parameters
    ----------
    message : str
        What happened, where, and the value that did it.
    hint : str
        What to do next.
    """

    exit_code = 16
    http_status = 409

    def __init__(self, message: str, *, hint: str) -> None:
        super().__init__(f"{message}\n{hint}")
        self.message = message
        self.hint = hint


class UsageError(UserError):
    """The command or request was put wrongly."""

    exit_code = 2
    http_status = 422


class FileError(UserError):
    """A file is unreadable, empty, of no or two possible kinds, or lacks a column."""

    exit_code = 10
    http_status = 422


class StoreBusyError(UserError):
    """Another process is writing the store."""

    exit_code = 11
    http_status = 503


class StoreNewerError(UserError):
    """The store was written by a newer version of the program."""

    exit_code = 12
    http_status = 503


class NoStoreError(UserError):
    """There is no store yet."""

    exit_code = 13
    http_status = 503


class NotPublishedError(UserError):
    """Nothing has been published from the store yet."""

    exit_code = 14
    http_status = 503


class NotFoundError(UserError):
    """The case, unit or file asked for is not known."""

    exit_code = 16
    http_status = 404


class RefusedError(UserError):
    """The program will not do this, and says why."""

    exit_code = 16
    http_status = 409


class DiskError(UserError):
    """The disk is full, or a place may not be written."""

    exit_code = 16
    http_status = 503
