"""Where a user's own files of this program lie: the cache, which may be deleted at any time, and the practice log.

Conventions
-----------
* ``ANNOTATOR_CACHE`` and ``ANNOTATOR_DATA`` name other folders, for tests and for those who want them elsewhere.
* A relative path in an XDG variable is ignored, as the specification asks.

Source: XDG Base Directory Specification 0.8 (freedesktop.org); Apple's File System Programming Guide (Library/Caches, Library/Application
Support); Windows: the folder that the variable LOCALAPPDATA names.
"""

from __future__ import annotations

import os
import sys
from collections.abc import Mapping
from pathlib import Path

NAME = "annotator"


def cache_folder(environment: Mapping[str, str] = os.environ, platform: str = sys.platform) -> Path:
    """Return the folder for what can be worked out again."""
    return _folder(environment, platform, "ANNOTATOR_CACHE", "XDG_CACHE_HOME", ".cache", "Library/Caches", "Cache")


def data_folder(environment: Mapping[str, str] = os.environ, platform: str = sys.platform) -> Path:
    """Return the folder for what the user may want to keep.

    >>> data_folder({"HOME": "/home/me"}, "linux").as_posix()
    '/home/me/.local/share/annotator'
    """
    return _folder(environment, platform, "ANNOTATOR_DATA", "XDG_DATA_HOME", ".local/share", "Library/Application Support", "Data")


def _folder(environment: Mapping[str, str], platform: str, own: str, xdg: str, usual: str, mac: str, windows: str) -> Path:
    """Return a folder by the rules of the platform."""
    if environment.get(own):
        return Path(environment[own])
    home = Path(environment.get("HOME") or os.path.expanduser("~"))  # noqa: PTH111 - never raises
    if platform == "win32":
        return Path(environment.get("LOCALAPPDATA") or home / "AppData" / "Local") / NAME / windows
    if platform == "darwin":
        return home / mac / NAME
    base = environment.get(xdg, "")
    return (Path(base) if base.startswith("/") else home / usual) / NAME
