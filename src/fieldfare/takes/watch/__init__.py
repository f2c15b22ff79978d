"""Watching, from outside, a folder that any program records into."""

from fieldfare.takes.watch.events import Event, Level, LineCheck
from fieldfare.takes.watch.facts import Heard, Seen, SeenFile
from fieldfare.takes.watch.look import look, status, summary
from fieldfare.takes.watch.reading import Reader
from fieldfare.takes.watch.run import Watching
from fieldfare.takes.watch.state import Wanted, Watch, begin, line_check_of, wanted_of, wanted_of_inputs

__all__ = [
    "Event",
    "Heard",
    "Level",
    "LineCheck",
    "Reader",
    "Seen",
    "SeenFile",
    "Wanted",
    "Watch",
    "Watching",
    "begin",
    "line_check_of",
    "look",
    "status",
    "summary",
    "wanted_of",
    "wanted_of_inputs",
]
