"""What a scan means, and which jobs match a search. Reads only.

One field on every counter page takes links, codes, tags, names and telephone numbers. Open jobs
come first, because the customer is usually standing there.
"""

import unicodedata
from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum

import sqlalchemy as sa
from sqlalchemy.orm import Session

from portal.craft.answers import Appraisal
from portal.craft.messages import Message
from portal.orders.kernel.unit import UnitOfWork, read_only
from portal.shop.codes import shown
from portal.shop.moves import JobState
from portal.shop.scans import Kind, Scan, read_scan
from portal.store.jobs import Customer, Job, Part, Tag

OPEN = (
    JobState.BOOKED,
    JobState.RECEIVED,
    JobState.WAITING,
    JobState.IN_WORK,
    JobState.READY,
    JobState.NOT_BROUGHT,
)
SHORTEST = 2  # one letter would match every job
TELLING = 4  # so many figures tell a number without the zero before them
MOST = 30
ARCHIVE_SCAN = 2000  # hits of closed jobs that are sorted; the newest of these are shown


class Meant(StrEnum):
    """The kind of a scan."""

    NOTHING = "nothing"
    JOB = "job"
    PART = "part"
    STATION = "station"
    SHELF = "shelf"
    BAG = "bag"
    FREE_TAG = "free_tag"
    MISTYPED = "mistyped"
    UNKNOWN = "unknown"
    SEVERAL = "several"


@dataclass(frozen=True, slots=True)
class Hit:
    """One job in a list of matches, with the tags that its parts wear."""

    job_id: int
    code: str
    name: str
    state: JobState
    summary: Message
    vehicle: str
    promise_at: datetime
    tags: tuple[str, ...]

    @property
    def shown_code(self) -> str:
        """The code in groups."""
        return shown(self.code)


PICKUP_LENGTHS = range(4, 9)


@dataclass(frozen=True, slots=True)
class Meaning:
    """The meaning of a scan. `says` is the message where there is no page to go to.

    `pickup_code` is the one that led to a ready job.
    """

    means: Meant
    text: str
    code: str = ""
    part_id: int = 0
    part_number: int = 0
    tag: str = ""
    station: str = ""
    place: str = ""
    bag: str = ""
    pickup_code: str = ""
    says: Message | None = None
    hits: tuple[Hit, ...] = ()


@read_only
def what_is(_unit: UnitOfWork, session: Session, typed: str) -> Meaning:
    """Return what was scanned or typed; a code with a wrong check character counts as mistyped."""
    scan = read_scan(typed)
    if scan.kind is Kind.NOTHING:
        return Meaning(Meant.NOTHING, "")
    if scan.kind is Kind.STATION:
        return Meaning(Meant.STATION, scan.text, station=scan.candidates[0])
    if scan.kind is Kind.SHELF:
        return Meaning(Meant.SHELF, scan.text, place=scan.candidates[0])
    return meaning(session, scan)


def meaning(session: Session, scan: Scan) -> Meaning:
    """Look a reading up inside another use case's transaction."""
    if scan.kind is Kind.LINK:
        return _by_link(session, scan)
    if scan.kind in (Kind.CODE, Kind.MISTYPED, Kind.BAG):
        return _by_code(session, scan)
    if scan.kind is Kind.TAG:
        return _by_tag(session, scan)
    return _by_words(session, scan)


@read_only
def find(_unit: UnitOfWork, session: Session, typed: str) -> tuple[Hit, ...]:
    """Return the jobs that match every word of `typed`, open ones first."""
    return search(session, typed)


def folded(text: str) -> str:
    """Return a text in lower case without accents, as `Job.search` and queries have it."""
    parted = unicodedata.normalize("NFKD", text.casefold())
    return "".join(ch for ch in parted if not unicodedata.combining(ch))


def search_text(*pieces: str) -> str:
    """Return what `Job.search` holds for a job: every piece folded, telephone digits bare."""
    return " ".join(" ".join(folded(piece).split()) for piece in pieces if piece)


def colour_names(appraisal: Appraisal) -> tuple[str, ...]:
    """Return the names of the powders of an order, as people ask for them."""
    plans = (one.coats for one in appraisal.sets if one.coats)
    names = (f"{coat.powder.name} {coat.powder.ral}" for plan in plans for coat in plan.coats)
    return tuple(dict.fromkeys(name.strip() for name in names))


def _by_link(session: Session, scan: Scan) -> Meaning:
    code = session.scalar(sa.select(Job.code).where(Job.token.in_(scan.candidates)))
    if code is None:
        return Meaning(
            Meant.UNKNOWN,
            scan.text,
            says=Message("This link is not ours. Is it from another company, or is it old?"),
        )
    return Meaning(Meant.JOB, scan.text, code=code)


def _by_code(session: Session, scan: Scan) -> Meaning:
    row = session.execute(sa.select(Job.id, Job.code).where(Job.code.in_(scan.candidates))).first()
    if row is not None:
        return _job_or_part(session, scan, row.id, row.code)
    # a number plate or a name may look like a code: words get their chance first
    hits = search(session, scan.text)
    if hits:
        return _listed(scan, hits)
    if scan.kind is Kind.MISTYPED:
        return Meaning(
            Meant.MISTYPED,
            scan.text,
            says=Message(
                "There is a typing mistake in {typed}. Check the slip, or scan it.",
                typed=scan.text,
            ),
        )
    return Meaning(
        Meant.UNKNOWN,
        scan.text,
        says=Message("No job has the code {typed}. Check the slip.", typed=scan.text),
    )


def _job_or_part(session: Session, scan: Scan, job_id: int, code: str) -> Meaning:
    if scan.bag:
        return Meaning(Meant.BAG, scan.text, code=code, bag=scan.bag)
    if not scan.part:
        return Meaning(Meant.JOB, scan.text, code=code)
    part = session.execute(
        sa.select(Part.id, Part.tag).where(Part.job_id == job_id, Part.number == scan.part)
    ).first()
    if part is None:
        return Meaning(Meant.JOB, scan.text, code=code)
    return Meaning(
        Meant.PART,
        scan.text,
        code=code,
        part_id=part.id,
        part_number=scan.part,
        tag=part.tag or "",
    )


def _by_tag(session: Session, scan: Scan) -> Meaning:
    number = scan.candidates[0]
    row = session.execute(
        sa.select(Part.id, Part.number, Job.code)
        .join(Job, Job.id == Part.job_id)
        .where(Part.tag == number)
    ).first()
    if row is not None:
        return Meaning(
            Meant.PART,
            scan.text,
            code=row.code,
            part_id=row.id,
            part_number=row.number,
            tag=number,
        )
    tag = session.get(Tag, number)
    if tag is not None:
        says = (
            Message("Tag {tag} is out of use (lost or worn). Use another one.", tag=number)
            if tag.retired
            else Message("Tag {tag} is free: it is on no part.", tag=number)
        )
        return Meaning(Meant.FREE_TAG, scan.text, tag=number, says=says)
    return _by_words(session, scan)


def _by_pickup_code(session: Session, scan: Scan) -> Meaning | None:
    """Return the one ready job of a pickup code; None where there is none, or more than one."""
    digits = scan.text.replace(" ", "")
    if not (digits.isascii() and digits.isdecimal() and len(digits) in PICKUP_LENGTHS):
        return None
    query = sa.select(Job.code).where(Job.state == JobState.READY, Job.pickup_code == digits)
    found = session.scalars(query.limit(2)).all()
    if len(found) != 1:
        return None
    return Meaning(Meant.JOB, scan.text, code=found[0], pickup_code=digits)


def _by_words(session: Session, scan: Scan) -> Meaning:
    by_code = _by_pickup_code(session, scan)
    if by_code is not None:
        return by_code
    hits = search(session, scan.text)
    if hits:
        return _listed(scan, hits)
    if len(scan.text) < SHORTEST:
        return Meaning(Meant.UNKNOWN, scan.text, says=Message("Type at least two characters."))
    return Meaning(
        Meant.UNKNOWN,
        scan.text,
        says=Message("Nothing found for “{typed}”.", typed=scan.text),
    )


def _listed(scan: Scan, hits: tuple[Hit, ...]) -> Meaning:
    if len(hits) == 1:
        return Meaning(Meant.JOB, scan.text, code=hits[0].code, hits=hits)
    return Meaning(Meant.SEVERAL, scan.text, hits=hits)


def search(session: Session, typed: str) -> tuple[Hit, ...]:
    """Return the matching jobs, open ones first, newest first; nothing for a single letter."""
    terms = terms_of(typed)
    if not terms:
        return ()
    matches = [Job.search.contains(term, autoescape=True) for term in terms]
    tagged = sa.select(Part.job_id).where(Part.tag == terms[0])
    newest = Job.id.desc()
    here = sa.select(Job.id).where(
        Job.state.in_(OPEN), sa.or_(sa.and_(*matches), Job.id.in_(tagged))
    )
    found = list(session.scalars(here.order_by(newest).limit(MOST)))
    if len(found) < MOST:
        # the narrow index alone is read here; sorting happens on its few hits
        closed = session.scalars(sa.select(Job.id).where(*matches).limit(ARCHIVE_SCAN))
        rest = sorted(set(closed) - set(found), reverse=True)
        found += rest[: MOST - len(found)]
    return _hits(session, found)


def terms_of(typed: str) -> tuple[str, ...]:
    """Split a query into the terms that must all match.

    A telephone number is one term however it is grouped, without the zero that stands for the
    country code; a code is searched without its dash.
    """
    text = folded(typed)
    digits = "".join(ch for ch in text if ch.isdigit())
    if digits and not set(text) - set("0123456789 +-()./"):
        # the first figures of a number come with that zero too; what is as short as a tag, or as
        # the last figures of a number, keeps its zeros
        bare = digits.lstrip("0")
        term = bare if len(bare) >= TELLING else digits
        return (term,) if len(term) >= SHORTEST else ()
    words = [word.strip("-.,;") for word in text.split()]
    joined = ["".join(w.split("-")) if _like_a_code(w) else w for w in words]
    return tuple(word for word in joined if len(word) >= SHORTEST)


def _like_a_code(word: str) -> bool:
    first, _, second = word.partition("-")
    return bool(second) and len(first) == 4 and any(ch.isdigit() for ch in word)


def _hits(session: Session, ids: list[int]) -> tuple[Hit, ...]:
    if not ids:
        return ()
    rows = session.execute(
        sa.select(
            Job.id, Job.code, Customer.name, Job.state, Job.summary, Job.vehicle, Job.promise_at
        )
        .join(Job.customer)
        .where(Job.id.in_(ids))
    ).all()
    tags: dict[int, list[str]] = {}
    worn = sa.select(Part.job_id, Part.tag).where(Part.job_id.in_(ids), Part.tag.is_not(None))
    for job_id, tag in session.execute(worn.order_by(Part.number)).all():
        tags.setdefault(job_id, []).append(tag or "")
    by_id = {
        row.id: Hit(
            row.id,
            row.code,
            row.name,
            row.state,
            row.summary,
            row.vehicle,
            row.promise_at,
            tuple(tags.get(row.id, ())),
        )
        for row in rows
    }
    return tuple(by_id[job_id] for job_id in ids if job_id in by_id)
