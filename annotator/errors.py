"""The errors a user can cause or meet, one tree, each with its exit code.

Anything else that escapes is a fault of the program and ends with 70. A message is one line: what is wrong, where, what to do.
"""

from __future__ import annotations


class AnnotatorError(Exception):
    """Base of every error this package raises on purpose.

    ``exit_code`` is what the command line ends with; ``str(error)`` is the one-line message.

    >>> import annotator
    >>> try:
    ...     annotator.read("no-such-piece.musicxml")
    ... except annotator.AnnotatorError as error:
    ...     print(error.exit_code, error)
    66 no-such-piece.musicxml: no such file
    """

    exit_code: int = 65

    def __init__(self, message: str) -> None:
        super().__init__(" ".join(message.split()))

    def at(self, place: str) -> AnnotatorError:
        """Return the same error with a place (file, part, bar) put before its message."""
        return type(self)(f"{place}: {self}")


class UsageError(AnnotatorError):
    """The command line, or a call's arguments, make no sense."""

    exit_code = 2


class ScoreError(AnnotatorError):
    """The input is no MusicXML, is damaged, or is refused for safety."""

    exit_code = 65


class MissingError(AnnotatorError):
    """The input does not exist or may not be read."""

    exit_code = 66


class EngraverError(AnnotatorError):
    """The engraver is not there, or failed on this score."""

    exit_code = 69


class OutputError(AnnotatorError):
    """The output is there already and not ours, or cannot be created."""

    exit_code = 73


class TransferError(AnnotatorError):
    """Reading or writing broke off midway."""

    exit_code = 74


class SettingsError(AnnotatorError):
    """A style or a configuration file is wrong."""

    exit_code = 78
