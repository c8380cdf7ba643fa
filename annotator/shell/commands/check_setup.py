"""``annotator check-setup``: what the program needs, what of it is there, and what to do about the rest."""

from __future__ import annotations

from annotator.errors import EngraverError
from annotator.shell.commands.streams import standard_output
from annotator.shell.running import guarded


def check_setup() -> None:
    """Say what is installed, what is missing, and what to do about it.

    The exit code is 0 if everything is there, 69 if something is missing.
    """
    guarded(_check)


def _check() -> None:
    """Print a line for each piece; fail if one is missing."""
    from annotator.shell.installation import look

    missing = []
    for piece in look():
        standard_output().write(f"{'ok' if piece.there else 'MISSING':8} {piece.name:13} {piece.seen}\n")
        if not piece.there:
            standard_output().write(f"{'':8} {'':13} {piece.remedy}\n")
            missing.append(piece.name)
    if missing:
        raise EngraverError(f"missing: {', '.join(missing)}; what to do stands below each")
