"""Files that are plainly something else than audio: by the signature that their format begins with, or as text."""

from __future__ import annotations

import codecs

from fieldfare.takes.wave.source import View

_LOOKED_AT = 1 << 16
_STRANGE = 0.01  # of a text: signs that are neither letters nor layout
# ISO 32000-2, ISO/IEC 15948, ITU-T T.81, GIF89a, ISO/IEC 21320-1, RFC 1952, RFC 8794, RFC 3533, ISO/IEC 14496-12; the
# documentation of SQLite's file format; 7-Zip's and ID3's are common practice
_SIGNATURES = (
    (0, b"%PDF-", "a PDF"),
    (0, b"\x89PNG\r\n\x1a\n", "a picture"),
    (0, b"\xff\xd8\xff", "a picture"),
    (0, b"GIF89a", "a picture"),
    (0, b"PK\x03\x04", "an archive, or a document of an office program"),
    (0, b"\x1f\x8b\x08", "an archive"),
    (0, b"7z\xbc\xaf\x27\x1c", "an archive"),
    (0, b"SQLite format 3\0", "a database"),
    (4, b"ftyp", "a film, or sound that was coded"),
    (0, b"\x1a\x45\xdf\xa3", "a film, or sound that was coded"),
    (0, b"OggS", "sound that was coded"),
    (0, b"ID3", "sound that was coded"),
)


def other_kind(view: View) -> str:
    """Tell what a file holds that is no plain audio; "" where nothing says so.

    Samples hardly begin with a signature by chance, and never decode as text: half of all bytes are none.
    """
    start = view.at(0, _LOOKED_AT)
    for at, signature, what in _SIGNATURES:
        if start[at : at + len(signature)] == signature:
            return what
    return "text" if _is_text(start) else ""


def _is_text(start: bytes) -> bool:
    wide = start[:2] in (codecs.BOM_UTF16_LE, codecs.BOM_UTF16_BE)
    try:
        text = codecs.getincrementaldecoder("utf-16" if wide else "utf-8")().decode(start)  # a sign may be cut
    except UnicodeDecodeError:
        return False
    strange = sum(not sign.isprintable() and sign not in "\t\r\n\f" for sign in text)
    return len(text) > 0 and strange <= _STRANGE * len(text)
