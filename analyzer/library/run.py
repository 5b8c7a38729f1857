"""The audit of a whole library: what is new or changed is audited, the rest is skipped, everything is stored.

Results below the output folder: ``reports/CLASS/`` with each class's report, ``store/`` (see
:mod:`analyzer.library.store`), and ``not-audited.csv``, what could not be audited and why.
"""

from __future__ import annotations

import errno
import time
from collections.abc import Callable, Generator, Iterable, Iterator
from contextlib import closing, contextmanager
from dataclasses import dataclass, field
from pathlib import Path, PurePosixPath

from analyzer.checks import parse_rules
from analyzer.checks.house_files import read_house_file
from analyzer.language.detect import AUTO, check_language
from analyzer.library.folders import Folder, LocalFolder, missing_extra
from analyzer.library.inputs import ClassFiles, LeftOut, Listing, find_classes
from analyzer.library.store import Known, Store
from analyzer.library.tables import Lines
from analyzer.library.work import File, Job, Outcome
from analyzer.model.errors import AnalyzerError, OutputError, RulesError
from analyzer.plans.yaml_reader import MAX_BYTES as PLAN_BYTES
from analyzer.reports import refuse_file
from analyzer.reports.plain import safe_text
from analyzer.reports.tables import table_bytes
from analyzer.transcripts.encoding import MAX_BYTES as RECORDING_BYTES

REPORTS = "reports"
NOT_AUDITED = "not-audited.csv"
BATCH = 200
BATCH_S = 15.0
"""A batch goes into the store when it holds so many classes or is so old: no more is done again after a kill."""

Runner = Callable[[Iterable[Job]], Generator[Outcome, None, None]]


@dataclass(frozen=True, slots=True)
class Asked:
    """How to audit: a file with house rules, the language, the kinds of report, the manifest; ``prune`` takes classes
    out of the store whose files are no longer in the folder."""

    rules: Path | None = None
    language: str = AUTO
    kinds: tuple[str, ...] = ("json", "html")
    manifest: Path | None = None
    prune: bool = False


@dataclass(frozen=True, slots=True)
class Progress:
    """One class done: how many of how many, and which."""

    done: int
    total: int
    key: str


@dataclass(slots=True)
class Summary:
    """What a run did. ``gone`` are classes of the store whose files are not in the folder any more."""

    classes: int
    audited: int = 0
    unchanged: int = 0
    failed: list[LeftOut] = field(default_factory=list)
    left_out: tuple[LeftOut, ...] = ()
    gone: tuple[str, ...] = ()


def audit_library(
    source: Folder, out: Folder, asked: Asked, run: Runner, tell: Callable[[Progress], None] = lambda _: None
) -> Summary:
    """Audit every class of a folder that is new or has changed, and put the results into the output folder.

    ``run`` takes jobs to outcomes, on whatever machines; ``tell`` hears of each class done. Whenever this ends, be it
    by an exception, what is finished is in the store.

    Raises
    ------
    AnalyzerError
        When nothing can be audited: no classes, a manifest or house rules with mistakes, another run under way.
    OutputError
        When results cannot be written.
    """
    check_language(asked.language)
    rules = _rules(asked.rules)
    _refuse(out, source)
    listing = find_classes(source, asked.manifest, _inside(out, source))
    with _locked(out):
        return _Run(source, out, asked, rules, listing, tell).through(run)


def _rules(path: Path | None) -> File | None:
    """Return a file of house rules without mistakes, read once: it may be a pipe, or change later."""
    if path is None:
        return None
    raw = read_house_file(path, RulesError, path.name)
    parse_rules(raw, path.name)
    return File(path.name, raw)


class _Run:
    """One run: hands out the jobs, takes in the outcomes."""

    def __init__(
        self,
        source: Folder,
        out: Folder,
        asked: Asked,
        rules: File | None,
        listing: Listing,
        tell: Callable[[Progress], None],
    ) -> None:
        self.source, self.out, self.asked, self.listing, self.tell = source, out, asked, listing, tell
        self.rules = rules
        self.store = Store(out)
        self.known = self.store.known()
        self.reported = {str(PurePosixPath(name).parent) for name in out.names(REPORTS)}
        self.summary = Summary(len(listing.classes), left_out=listing.left_out)
        self.done = 0
        self.batch: list[Lines] = []
        self.batch_began = time.monotonic()

    def through(self, run: Runner) -> Summary:
        """Take every job through ``run``."""
        try:
            with closing(run(self._jobs())) as outcomes:
                for outcome in outcomes:
                    self._take(outcome)
        finally:
            self._flush()
        self.summary.gone = self.listing.gone(self.known)
        self.store.settle(self.summary.gone if self.asked.prune else ())
        self.summary.failed.sort(key=lambda row: row.name)
        self.out.write("", {NOT_AUDITED: _not_audited(self.summary)})
        return self.summary

    def _jobs(self) -> Iterator[Job]:
        for files in self.listing.classes:
            try:
                job = self._job(files)
            except OSError as error:
                self._fail(files.key, f"cannot be read: {error.strerror or error}")  # what is known of it stays
                self._progress(files.key)
                continue
            known = self.known.get(job.key)
            if known is not None and self._holds(known, job):
                self._unchanged(job.key, known)
            else:
                yield job

    def _job(self, files: ClassFiles) -> Job:
        asked = self.asked
        return Job(
            key=files.key,
            recording=File(files.recording, self.source.read(files.recording, RECORDING_BYTES + 1)),
            plan=File(files.plan, self.source.read(files.plan, PLAN_BYTES + 1)),
            waivers=None if files.waivers is None else self.source.read(files.waivers, PLAN_BYTES),
            rules=self.rules,
            language=asked.language,
            kinds=asked.kinds,
            coach=files.coach,
            series=files.series,
            date=files.date,
        )

    def _holds(self, known: Known, job: Job) -> bool:
        """Return whether what is known of a class is still true, and its report still there."""
        there = bool(known.reason) or f"{REPORTS}/{job.key}" in self.reported
        return there and known.fingerprint == job.fingerprint

    def _unchanged(self, key: str, known: Known) -> None:
        if known.reason:
            self._fail(key, known.reason)
        else:
            self.summary.unchanged += 1
        self._progress(key)

    def _take(self, outcome: Outcome) -> None:
        """Write a class's report and put its rows into the batch."""
        folder = f"{REPORTS}/{outcome.key}"
        if not outcome.reason:
            if not self._reports(folder, outcome):
                return
            self.summary.audited += 1
        else:
            if folder in self.reported:
                self.out.remove(folder)
            self._fail(outcome.key, outcome.reason)
        self.batch.append(outcome.lines)
        if len(self.batch) >= BATCH or time.monotonic() - self.batch_began > BATCH_S:
            self._flush()
        self._progress(outcome.key)

    def _reports(self, folder: str, outcome: Outcome) -> bool:
        """Write a class's report; return whether it could be done: a name may be too long for this disk."""
        try:
            self.out.write(folder, outcome.files)
        except OutputError as error:
            cause = error.__cause__
            if not isinstance(cause, OSError) or cause.errno != errno.ENAMETOOLONG:
                raise  # the next class would fare no better
            self._fail(outcome.key, f"its report cannot be written: it {error.found}")
            self._progress(outcome.key)
            return False
        return True

    def _flush(self) -> None:
        batch, self.batch = self.batch, []
        self.store.add(batch)
        self.batch_began = time.monotonic()

    def _fail(self, key: str, reason: str) -> None:
        self.summary.failed.append(LeftOut(key, reason))

    def _progress(self, key: str) -> None:
        self.done += 1
        self.tell(Progress(self.done, self.summary.classes, key))


def _not_audited(summary: Summary) -> bytes:
    told = (*summary.failed, *summary.left_out)
    rows = [{"name": safe_text(row.name), "reason": safe_text(row.reason)} for row in told]
    return table_bytes(("name", "reason"), rows)


def _refuse(out: Folder, source: Folder) -> None:
    """Raise OutputError when the output folder is a file, or the folder of classes, where reports would be mistaken
    for recordings."""
    if isinstance(out, LocalFolder):
        refuse_file(out.root)
    if safe_text(out.address) != out.address:  # the store's database could not find its files
        raise OutputError(safe_text(out.address), "", "has a name that is not plain text", "choose another folder")
    if _real(out) == _real(source):
        allowed = "choose another folder, or one inside it"
        raise OutputError(out.address, "", "is the folder of classes itself", allowed)


def _real(folder: Folder) -> str:
    return str(folder.root.resolve()) if isinstance(folder, LocalFolder) else folder.address.rstrip("/")


def _inside(out: Folder, source: Folder) -> str:
    """Return the output folder's name within the folder of classes; "" where it lies elsewhere."""
    here, there = _real(out).replace("\\", "/"), _real(source).replace("\\", "/").rstrip("/") + "/"
    return here.removeprefix(there) if here.startswith(there) else ""


@contextmanager
def _locked(out: Folder) -> Iterator[None]:
    """Keep a second run out of a folder on a disk; the system itself lifts the lock of a run that was killed."""
    if not isinstance(out, LocalFolder):
        yield
        return
    try:
        from filelock import FileLock, Timeout
    except ImportError as error:
        raise missing_extra("library", "filelock") from error
    try:
        out.root.mkdir(parents=True, exist_ok=True)
        lock = FileLock(out.root / ".lock", timeout=0)
        lock.acquire()
    except Timeout:
        raise AnalyzerError(out.address, "", "another audit writes here", "wait for it to end") from None
    except OSError as error:
        raise OutputError(out.address, "", f"cannot be written ({error.strerror})", "choose another folder") from error
    try:
        yield
    finally:
        lock.release()
