"""One show as the desk has it open: its documents, their revisions, its plan, and what the last change did."""

from __future__ import annotations

from dataclasses import dataclass, replace
from pathlib import Path
from threading import RLock

from pydantic import ValidationError

from fieldfare.desk.planner import Planner
from fieldfare.plan.changes import Change, changes
from fieldfare.show.edit_toml import edit_toml
from fieldfare.show.files import write_whole
from fieldfare.show.plan import Plan
from fieldfare.show.show import Show
from fieldfare.show.toml import SHOW_FILE, ShowFolder, digest_of, faults_of, read_kit, read_show
from fieldfare.show.venue import Venue
from fieldfare.store.events import Event, Kept, Received, add_events, events
from fieldfare.store.revisions import Revision, history, revision
from fieldfare.store.shows import KIND, save_show
from fieldfare.store.store import Store, open_store, url_of
from fieldfare.store.undo import Steps, steps
from fieldfare.units.faults import BadDocuments, Fault


@dataclass(frozen=True, slots=True)
class Open:
    """A show as it stands, with its plan."""

    read: ShowFolder
    plan: Plan
    revision: str
    explained: bool


@dataclass(frozen=True, slots=True)
class Last:
    """What the last change did."""

    digest: str = ""
    says: str = ""
    changed: tuple[Change, ...] = ()


class Book:
    """One show. Its files may be changed by hand at any time: they are read anew when they are newer."""

    def __init__(self, folder: Path, planner: Planner, store_url: str = "") -> None:
        self.folder, self._planner = folder, planner
        self._store_url = store_url
        self._store: Store | None = None
        self._lock = RLock()
        self._seen: tuple[tuple[Path, int, int], ...] = ()
        self._read: ShowFolder | None = None
        self._letter = ""
        self.last = Last()

    @property
    def store(self) -> Store:
        """The store of this show, opened when it is first needed."""
        with self._lock:
            if self._store is None:
                self._store = open_store(self._store_url or url_of(self.folder))
            return self._store

    def close(self) -> None:
        """Let go of the store."""
        if self._store is not None:
            self._store.close()

    def documents(self) -> tuple[ShowFolder, str]:
        """Return the documents as they are now, and the letter of their revision.

        Raises
        ------
        BadDocuments
            Every fault of them.
        """
        with self._lock:
            now = self._stamps()
            if self._read is None or now != self._seen:
                if self._read is not None and _recipes(now) != _recipes(self._seen):
                    self._planner.forget()
                self._read = read_show(self.folder)
                self._seen = self._stamps()
                self._letter = save_show(self.store, self._read)
            return self._read, self._letter

    def open(self) -> Open:
        """Return the show with its plan.

        Raises
        ------
        BadDocuments, Fault, NotDone
            The documents are wrong, or no plan can be made of them.
        """
        read, letter = self.documents()
        plan = self._planner.plan(read)
        return Open(read, plan, letter, self._planner.explained(read.digest))

    def explained(self, digest: str) -> bool:
        """Tell whether the reasons of a plan are known."""
        return self._planner.explained(digest)

    def tried(self, show: Show) -> tuple[ShowFolder, Plan]:
        """Return what the plan would be, and keep nothing."""
        read, _ = self.documents()
        trial = replace(read, show=show, digest=digest_of(show, read.venue, read.kit, read.recipes))
        return trial, self._planner.look(trial)

    def save(self, says: str, *, show: Show | None = None, venue: Venue | None = None) -> None:
        """Change the documents, once it is sure that they hold together and a plan can be made of them.

        Parameters
        ----------
        says
            What was done, for whoever looks at it afterwards.
        show, venue
            The document as it shall be; the other stays.

        Raises
        ------
        BadDocuments, Fault, NotDone
            What was asked cannot be; nothing was changed.
        """
        with self._lock:
            before, _ = self.documents()
            self._planner.plan(before)
            new_show, new_venue = show or before.show, venue or before.venue
            same = new_show.kit == before.show.kit
            kit = before.kit if same else read_kit(*(self.folder / name for name in new_show.kit))
            digest = digest_of(new_show, new_venue, kit, before.recipes)
            trial = replace(before, show=new_show, venue=new_venue, kit=kit, digest=digest)
            if trial.digest == before.digest:
                return
            if faults := faults_of(new_show, new_venue, kit):
                raise BadDocuments(faults)
            plan = self._planner.plan(trial)
            kept = self._write(before, trial)
            was = self._planner.made(before.digest)
            lost = "" if kept else " The remarks in the file could not be kept."
            self.last = Last(trial.digest, says + lost, changes(was, plan) if was else ())

    def _write(self, before: ShowFolder, after: ShowFolder) -> bool:
        kept = True
        if after.venue != before.venue:
            kept = edit_toml(self.folder / before.show.venue, after.venue)
        if after.show != before.show:
            kept = edit_toml(self.folder / SHOW_FILE, after.show) and kept
        self.documents()
        return kept

    def add_kit(self, name: str, content: bytes, *, instead: bool) -> None:
        """Put a kit file into the show's folder and use it, beside the kits that are named or instead of them.

        Raises
        ------
        BadDocuments, Fault, NotDone
            It does not hold with the show; nothing was changed.
        """
        with self._lock:
            before, _ = self.documents()
            kits = (name,) if instead else (*before.show.kit, name)
            written = (self.folder / SHOW_FILE).read_bytes()
            write_whole(self.folder / name, content)
            try:
                edit_toml(self.folder / SHOW_FILE, before.show.model_copy(update={"kit": kits}))
                self._seen = ()
                self.open()
            except Fault:
                write_whole(self.folder / SHOW_FILE, written, replace=True)
                (self.folder / name).unlink(missing_ok=True)
                self._seen = ()
                raise
            self.last = Last(self.documents()[0].digest, f"{name}: in use.", ())

    def steps(self) -> Steps:
        """Return what undo and redo would lead to."""
        read, _ = self.documents()
        return steps(history(self.store, KIND, read.show.title, bodies=False))

    def revisions(self) -> tuple[Revision, ...]:
        """Return all revisions, without what they say."""
        read, _ = self.documents()
        return history(self.store, KIND, read.show.title, bodies=False)

    def go_to(self, number: int, says: str) -> None:
        """Make the show and the venue what they were in an earlier revision; that becomes a new one.

        Which kit files are used goes back with the show; what they say stays as it is now.

        Raises
        ------
        Fault
            There is no such revision, another version of the program saved it, or it does not hold with what the kit is
            now.
        """
        read, _ = self.documents()
        found = revision(self.store, KIND, read.show.title, number)
        if found is None:
            raise Fault(f"there is no revision {number}", read.show.title, "choose one of the list")
        try:
            show, venue = Show.model_validate(found.body["show"]), Venue.model_validate(found.body["venue"])
        except ValidationError:
            what = f"revision {found.letter} was saved by another version of the program, which says things otherwise"
            raise Fault(what, read.show.title, "go back to a later one, or change the show by hand") from None
        self.save(says, show=show.model_copy(update={"venue": read.show.venue}), venue=venue)

    def add_events(self, some: tuple[Event, ...]) -> Received:
        """Keep events, each once."""
        return add_events(self.store, some)

    def events(self, after: int = 0) -> tuple[Kept, ...]:
        """Return the events of the show."""
        read, _ = self.documents()
        return events(self.store, read.show.title, after)

    def _stamps(self) -> tuple[tuple[Path, int, int], ...]:
        names = (SHOW_FILE, *((self._read.show.venue, *self._read.show.kit) if self._read else ()))
        paths = [self.folder / name for name in names] + sorted((self.folder / "recipes").glob("*.toml"))
        return tuple(
            (path, stat.st_mtime_ns, stat.st_size) for path in paths if path.exists() for stat in [path.stat()]
        )


def _recipes(stamps: tuple[tuple[Path, int, int], ...]) -> tuple[tuple[Path, int, int], ...]:
    """Which of the files are recipes of the show's own: plans depend on them, and their digest does not tell."""
    return tuple(one for one in stamps if one[0].parent.name == "recipes")
