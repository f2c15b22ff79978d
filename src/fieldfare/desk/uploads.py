"""Files that were sent to be looked at first: kept in memory for a while, under a name that nobody can guess."""

from __future__ import annotations

import secrets
from collections import OrderedDict
from dataclasses import dataclass
from pathlib import PurePath
from threading import Lock

from fieldfare.units.faults import Fault
from fieldfare.units.text import file_stem

KEPT = 4


@dataclass(frozen=True, slots=True)
class Upload:
    """A file as it was sent."""

    name: str  # as it will be called in the show's folder: no path, no sign that a system minds
    content: bytes


class Uploads:
    """The latest files that were sent."""

    def __init__(self) -> None:
        self._kept: OrderedDict[str, Upload] = OrderedDict()
        self._lock = Lock()

    def keep(self, name: str, content: bytes, endings: tuple[str, ...]) -> tuple[str, Upload]:
        """Keep a file for now; return the token by which it is fetched.

        Raises
        ------
        Fault
            It is of a kind that is not taken in, or there is nothing in it.
        """
        path = PurePath(name.replace("\\", "/"))
        ending = path.suffix.lower()
        if ending not in endings:
            raise Fault(
                f"a file {ending or 'without an ending'} is no kit", path.name[:80], f"send {', '.join(endings)}"
            )
        if not content:
            raise Fault("there is nothing in it", path.name[:80], "choose the file again")
        upload = Upload(f"{file_stem(path.stem, 'kit')}{ending}", content)
        token = secrets.token_urlsafe(16)
        with self._lock:
            self._kept[token] = upload
            while len(self._kept) > KEPT:
                self._kept.popitem(last=False)
        return token, upload

    def fetch(self, token: str) -> Upload:
        """Return a file that was sent.

        Raises
        ------
        Fault
            It is no longer kept.
        """
        with self._lock:
            found = self._kept.get(token)
        if found is None:
            raise Fault("this file is no longer kept", "the upload", "choose it again")
        return found
