"""What can go wrong, said for people: what happened, which file or word, and the mend.

Every part may import this module and nothing else outside its arrows. The command line prints
``str(error)`` and leaves with ``error.exit_status``; a traceback never reaches a user.
"""

from __future__ import annotations


class FieldnoteError(Exception):
    """Base of all errors meant for a person.

    Args:
        what: what happened, naming the file, line, key or word.
        mend: what the person can do about it; printed after ``what``.
    """

    exit_status = 2

    def __init__(self, what: str, mend: str = "") -> None:
        super().__init__(what)
        self.what = what
        self.mend = mend

    def __str__(self) -> str:
        return f"{self.what} {self.mend}".strip()


class UnclearError(FieldnoteError):
    """The input was read, but nothing in it could be understood with enough certainty."""

    exit_status = 1


class BadInputError(FieldnoteError):
    """A file, text or option that cannot be used as given."""

    exit_status = 2


class MissingPartError(FieldnoteError):
    """A needed program, model or package is missing; ``mend`` is the command that installs it."""

    exit_status = 3


class StoreError(FieldnoteError):
    """The job log or its evidence could not be written or read (disk full, read-only, damaged)."""

    exit_status = 4
