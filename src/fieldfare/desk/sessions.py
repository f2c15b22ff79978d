"""Who may do what: sessions that end, one-time codes to pair a phone, and a token that no other page knows.

Only digests of the keys are kept on disc; whoever reads that file cannot use it.
"""

from __future__ import annotations

import hmac
import json
import secrets
import time
from collections.abc import Callable
from dataclasses import asdict, dataclass
from hashlib import sha256
from pathlib import Path
from threading import Lock
from typing import Literal

from fieldfare.desk.settings import PAIR_MIN, SESSION_H
from fieldfare.show.files import write_whole
from fieldfare.units.faults import Fault

Role = Literal["edit", "tick"]
LETTERS = "ABCDEFGHJKLMNPQRSTUVWXYZ23456789"  # none that is read as another
CODE_LENGTH = 8
WRONG_CODES = 10  # then all codes end
FILE = ".fieldfare-desk.json"


@dataclass(frozen=True, slots=True)
class Session:
    """A device that may use the desk."""

    key: str  # SHA-256 of the cookie, hexadecimal
    role: Role
    name: str
    ends: float  # seconds since 1970
    local: bool = False  # on the laptop itself

    @property
    def csrf(self) -> str:
        """The token that every form of this session carries."""
        return sha256(f"form {self.key}".encode()).hexdigest()[:32]


@dataclass(frozen=True, slots=True)
class Code:
    """A one-time code."""

    text: str
    role: Role
    ends: float


class Sessions:
    """All sessions of a desk."""

    def __init__(self, folder: Path, clock: Callable[[], float] = time.time) -> None:
        self._file, self._clock, self._lock = folder / FILE, clock, Lock()
        self._codes: dict[str, Code] = {}
        self._wrong = 0
        self._sessions = self._read()

    def _read(self) -> dict[str, Session]:
        try:
            kept = json.loads(self._file.read_text("utf-8"))
            return {one["key"]: Session(**one) for one in kept}
        except (OSError, ValueError, TypeError, KeyError):
            return {}

    def _write(self) -> None:
        now = self._clock()
        self._sessions = {key: one for key, one in self._sessions.items() if one.ends > now}
        kept = [asdict(one) for one in self._sessions.values() if not one.local]
        if kept or self._file.exists():
            write_whole(self._file, json.dumps(kept, indent=1).encode(), replace=True)

    def find(self, cookie: str) -> Session | None:
        """Return the session of a cookie; None where it is unknown or over."""
        with self._lock:
            found = self._sessions.get(_digest(cookie))
            return found if found and found.ends > self._clock() else None

    def begin(self, role: Role, name: str, *, local: bool = False) -> tuple[str, Session]:
        """Begin a session; return the cookie, which is told once, and the session."""
        cookie = secrets.token_urlsafe(32)
        session = Session(_digest(cookie), role, name, self._clock() + SESSION_H * 3600, local)
        with self._lock:
            self._sessions[session.key] = session
            self._write()
        return cookie, session

    def end(self, key: str) -> None:
        """End a session."""
        with self._lock:
            self._sessions.pop(key, None)
            self._write()

    def paired(self) -> tuple[Session, ...]:
        """Return the sessions of other devices."""
        now = self._clock()
        return tuple(one for one in self._sessions.values() if not one.local and one.ends > now)

    def make_code(self, role: Role) -> Code:
        """Make a one-time code for a role; an older one ends."""
        text = "".join(secrets.choice(LETTERS) for _ in range(CODE_LENGTH))
        with self._lock:
            self._wrong = 0
            self._codes = {text: Code(text, role, self._clock() + PAIR_MIN * 60)}
            return self._codes[text]

    def use_code(self, text: str, name: str) -> tuple[str, Session]:
        """Turn a code into a session, once.

        Raises
        ------
        Fault
            The code is wrong, used or over.
        """
        said = "".join(text.split()).replace("-", "").upper()
        with self._lock:
            found = next(
                (one for key, one in self._codes.items() if hmac.compare_digest(key.encode(), said.encode())), None
            )
            if found is None or found.ends < self._clock():
                self._wrong += 1
                if self._wrong >= WRONG_CODES:
                    self._codes = {}
                raise Fault("this code is wrong, used or over", "pairing", "make a new one on the laptop, under Share")
            del self._codes[found.text]
        return self.begin(found.role, name.strip()[:60] or "a phone")


def _digest(cookie: str) -> str:
    return sha256(cookie.encode()).hexdigest()
