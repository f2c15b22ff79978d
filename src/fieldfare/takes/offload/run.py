"""The offload: one reading of the card, copies to every destination, every copy read back, a report of what is true."""

from __future__ import annotations

import threading
from collections.abc import Callable, Sequence
from concurrent.futures import ThreadPoolExecutor
from contextlib import ExitStack
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Literal

from fieldfare.show.findings import OffloadReport
from fieldfare.takes.offload.card import CardFile, Listing, list_card
from fieldfare.takes.offload.checking import read_back, standing, stands
from fieldfare.takes.offload.copying import Measure, Tap, copy_file
from fieldfare.takes.offload.disk import Disk
from fieldfare.takes.offload.place import Place
from fieldfare.takes.offload.report import Outcome, make_report
from fieldfare.takes.offload.sidecars import write_hashes, write_report
from fieldfare.takes.offload.start import card_name, refuse_without_room, targets_of
from fieldfare.takes.wave import Damage, raw_blocks, read_head
from fieldfare.takes.wave.sets import SUFFIXES
from fieldfare.units.faults import Fault, NotDone

Stage = Literal["copying", "reading back", "measuring"]
_ROUNDS = 2  # a copy that differs when read back is made once more


@dataclass(frozen=True, slots=True)
class Progress:
    """How far an offload is."""

    stage: Stage
    file: str
    done_bytes: int
    total_bytes: int


Tell = Callable[[Progress], None]


class _Teller:
    """Adds up what is done, by whichever thread, and tells it."""

    def __init__(self, tell: Tell | None) -> None:
        self._tell, self._lock = tell, threading.Lock()
        self._stage: Stage = "copying"
        self._done = self._total = 0

    def begin(self, stage: Stage, total_bytes: int) -> None:
        """Start counting anew."""
        self._stage, self._done, self._total = stage, 0, total_bytes

    def ticker(self, file: CardFile) -> Callable[[int], None]:
        """Return what to call as parts of a file are done."""

        def tick(count: int) -> None:
            with self._lock:
                self._done += count
                if self._tell is not None:
                    self._tell(Progress(self._stage, file.name, self._done, self._total))

        return tick


def offload(
    card: Path,
    destinations: Sequence[Path],
    *,
    name: str = "",
    same_device: bool = False,
    recheck: bool = False,
    measure: Measure | None = None,
    tell: Tell | None = None,
    disk: Disk | None = None,
) -> OffloadReport:
    """Copy a card to destinations in one reading, read every copy back, and report.

    What an earlier run did is kept, so the call is made again after any interruption, until the report is complete.

    Parameters
    ----------
    card
        The card, or a folder on it. It is only ever read.
    destinations
        Folders that get a folder of copies each, by preference on different devices.
    name
        What the folder of copies is called; the card's own name where blank.
    same_device
        Destinations may share a device, with each other or with the card. Such a copy does not count as a second.
    recheck
        Read back once more what an earlier run read back equal.
    measure
        Called with a file's name, its head and runs of whole frames in order, then with no bytes at the file's end.
        The head's path is that of the file on the card, even where an earlier run copied it and a copy is measured.
    tell
        Called as work goes on, from several threads, one at a time. If it raises, the offload stops where it is.
    disk
        The system's files.

    Returns
    -------
    What lies where. `complete` is true only if every file of the card was read back equal from two different devices.

    Raises
    ------
    NotDone
        It could not be begun, and nothing was written.
    """
    disk = disk or Disk()
    chosen = card_name(card, name)
    targets = targets_of(disk, card, destinations, same_device=same_device)
    try:
        listing = list_card(card)
    except OSError as error:
        raise NotDone(f"cannot be listed ({error.strerror})", str(card), "try another card reader") from error
    refuse_without_room(disk, listing, targets, chosen)
    with ExitStack() as stack:
        places: list[Place] = []
        for target in targets:
            places.append(Place(target.root, chosen, target.device))
            stack.callback(places[-1].close)
        outcome = Outcome(str(card), disk.device(card), listing, places)
        _Run(disk, card, outcome, measure, _Teller(tell), recheck).all()
        report = make_report(outcome)
        _write_sidecars(disk, outcome, report)
    return report


class _Run:
    """One run through the stages."""

    def __init__(
        self, disk: Disk, card: Path, outcome: Outcome, measure: Measure | None, teller: _Teller, recheck: bool
    ) -> None:
        self.disk, self.card, self.outcome, self.measure = disk, card, outcome, measure
        self.teller, self.recheck = teller, recheck
        self.measured: set[str] = set()

    def all(self) -> None:
        """Copy, read back, copy again what differs, and look at the card once more."""
        listing = self.outcome.listing
        self._make_folders(listing)
        again = listing.file
        for round_number in range(_ROUNDS):
            self._copy(again)
            differing = self._read_back(again)
            if not differing or round_number == _ROUNDS - 1:
                break
            again = tuple(file for file in listing.file if file.name in differing)
        if self.measure is not None:
            self._measure_the_rest(self.measure)
        self._compare_listing()

    def _make_folders(self, listing: Listing) -> None:
        for place in self.outcome.places:
            for folder in listing.folder:
                try:
                    place.path_of(folder).mkdir(exist_ok=True)
                    self.disk.settle_folder(place.path_of(folder).parent)
                except OSError as error:
                    place.give_up_if_lost(error)

    def _copy(self, files: Sequence[CardFile]) -> None:
        """Read what has to be read from the card, each file once."""
        todo = [file for file in files if self._lacking(file) or not self._know(file)]
        self.teller.begin("copying", sum(file.bytes for file in todo))
        for file in todo:
            if self._card_is_there():
                self._copy_file(file)
            else:
                self.outcome.add_trouble(file.name, "the card was gone")

    def _copy_file(self, file: CardFile) -> None:
        measure = None if file.name in self.measured else self.measure
        tick = self.teller.ticker(file)
        copied = copy_file(self.disk, self.card, file, self._lacking(file), measure, tick)
        self.outcome.add_trouble(file.name, *copied.trouble)
        if copied.digest is not None:
            self.outcome.digest[file.name] = copied.digest
        if copied.measured:
            self._note_measured(file, copied.not_measured)

    def _note_measured(self, file: CardFile, fault: str) -> None:
        self.measured.add(file.name)
        if fault:
            self.outcome.not_measured[file.name] = fault

    def _lacking(self, file: CardFile) -> list[Place]:
        return [place for place in self.outcome.places if not place.lost and not place.holds(file)]

    def _know(self, file: CardFile) -> bool:
        """Whether the hashes of the file are known from an earlier run."""
        line = next((line for place in self.outcome.places if (line := place.line_of(file))), None)
        if line is not None:
            self.outcome.digest.setdefault(file.name, line.digest)
        return line is not None

    def _card_is_there(self) -> bool:
        try:
            return self.disk.device(self.card) == self.outcome.source
        except OSError:
            return False

    def _read_back(self, files: Sequence[CardFile]) -> set[str]:
        """Read back every copy that was not read back yet, all places at once; return files to be copied again."""
        todo = [self._unchecked(number, files) for number in range(len(self.outcome.places))]
        self.teller.begin("reading back", sum(file.bytes for one in todo for file in one))
        with ThreadPoolExecutor(max_workers=len(todo)) as pool:
            return set[str]().union(*pool.map(self._read_back_place, range(len(todo)), todo))

    def _unchecked(self, number: int, files: Sequence[CardFile]) -> list[CardFile]:
        """Return the files whose copy at a place has to be read back; what stands from an earlier run is noted."""
        place, todo = self.outcome.places[number], []
        for file in files:
            readable = file.name in self.outcome.digest and place.holds(file)
            if readable and (self.recheck or not self._note_equal(number, file)):
                todo.append(file)
        return todo

    def _note_equal(self, number: int, file: CardFile) -> bool:
        line = stands(self.outcome.places[number], file)
        if line is None or line.digest != self.outcome.digest[file.name]:
            return False
        self.outcome.equal.setdefault(file.name, {})[number] = line
        return True

    def _read_back_place(self, number: int, files: Sequence[CardFile]) -> set[str]:
        place, again = self.outcome.places[number], set[str]()
        with ThreadPoolExecutor(max_workers=1) as pool:
            for file in files:
                digest, tick = self.outcome.digest[file.name], self.teller.ticker(file)
                trouble = read_back(self.disk, place, file, digest, pool, tick)
                if trouble:
                    self.outcome.add_trouble(file.name, trouble, *self._set_aside(place, file, again))
                else:
                    self._note_equal(number, file)
        return again

    def _set_aside(self, place: Place, file: CardFile, again: set[str]) -> list[str]:
        """Make way for a new copy where ours came out different."""
        line = place.line_of(file)
        if line is None or line.state != "differs":
            return []
        try:
            where = place.set_aside(file)
        except OSError as error:
            return [f"it cannot be moved out of the way ({error.strerror})"]
        if not where:
            return ["it is not a copy of this card and is left alone: offload to folders of its own, --to A/card-2"]
        again.add(file.name)
        return [f"it is kept as {where}"]

    def _measure_the_rest(self, measure: Measure) -> None:
        """Measure what an earlier run copied from a copy of it: the card has been read enough."""
        outcome = self.outcome
        todo = [
            file for file in outcome.listing.file if file.name not in self.measured and outcome.equal.get(file.name)
        ]
        self.teller.begin("measuring", sum(file.bytes for file in todo))
        for file in todo:
            copy = outcome.places[min(outcome.equal[file.name])].path_of(file.name)
            try:
                self._measure_copy(file, copy, measure)
            except Fault as fault:
                self._note_measured(file, fault.what)

    def _measure_copy(self, file: CardFile, copy: Path, measure: Measure) -> None:
        head, tick = read_head(copy), self.teller.ticker(file)
        if head.frames:
            tap = Tap(measure, file.name, replace(head, path=self.card / file.name))  # told of as the card's file
            damage: list[Damage] = []
            for block in raw_blocks(head, damage=damage):
                tap.hand_on(block)
                tick(len(block))
            tap.finish()
            torn = f"samples {damage[0].start} to {damage[0].end - 1}: {damage[0].says}" if damage else ""
            self._note_measured(file, tap.fault or torn)
        elif copy.suffix.casefold() in SUFFIXES:
            self._note_measured(file, head.says or "it holds no audio")

    def _compare_listing(self) -> None:
        """See whether the card is still as it was when it was listed."""
        outcome = self.outcome
        try:
            now = {file.name: file for file in list_card(self.card).file}
        except OSError as error:
            outcome.changed.append(f"the card was gone at the end ({error.strerror})")
            return
        before = {file.name: file for file in outcome.listing.file}
        for name in sorted(before.keys() | now.keys()):
            if before.get(name) != now.get(name):
                outcome.equal.pop(name, None)
                what = "appeared" if name not in before else "vanished" if name not in now else "changed"
                outcome.changed.append(f"{name} {what} on the card meanwhile: stop the recorder and offload again")


def _write_sidecars(disk: Disk, outcome: Outcome, report: OffloadReport) -> None:
    """Write report and hashes beside the copies, wherever that can be done; those of an earlier card stay."""
    listed = {file.name for file in outcome.listing.file}
    for number, place in enumerate(outcome.places):
        earlier = {line.file: line.sha256 for line in standing(place) if line.file not in listed}
        names = [file.name for file in outcome.listing.file if number in outcome.equal.get(file.name, {})]
        known = {**earlier, **{name: outcome.digest[name].sha256 for name in names}}
        hashes = [(sha256, f"{place.folder.name}/{name}") for name, sha256 in known.items()]
        try:
            write_hashes(disk, place.hashes_path, hashes)
            write_report(disk, place.report_path, report)
        except OSError as error:
            place.give_up_if_lost(error)
