"""Check-in: declared beside arrived, tags by scan, bags, photos, and receiving the job."""

from typing import Any, BinaryIO, cast

from flask import request
from flask_babel import gettext as _
from flask_babel import lazy_gettext as _l
from werkzeug.wrappers import Response

from portal.craft.corners import Corner
from portal.orders.counter import bags as bag_verbs
from portal.orders.counter import check_in as verbs
from portal.orders.counter import corners
from portal.orders.counter.job_view import JobView
from portal.orders.counter.on_account import firm_of_job
from portal.orders.kernel.errors import Refusal
from portal.orders.kernel.photos import Belongs, take_photo
from portal.shop.roles import Role
from portal.shop.states import PhotoPurpose
from portal.web.counter import bags
from portal.web.counter.desk import (
    WRONG,
    add_error,
    attempt,
    expected_event_id,
    job_of,
    me,
    page,
    tell_refusal,
    to,
)
from portal.web.kit.forms import PageForm, Required, TextField
from portal.web.kit.http.csrf import checks_its_form
from portal.web.kit.http.guards import require_role
from portal.web.kit.request_context import settings, unit


class BagForm(PageForm):
    """The contents of a hardware bag."""

    contents = TextField(
        _l("What is in the bag"), [Required(_l("Enter what is in the bag."))], longest=200
    )


@require_role(Role.COUNTER)
def check_in(code: str) -> Response:
    return _check_in_page(job_of(code))


@require_role(Role.COUNTER)
def as_declared(code: str) -> Response:
    """Mark a set, or everything, as declared; with the usual corners, where that was pressed."""
    job = job_of(code)
    usual = job.usual_corners if request.form.get("corners") == "usual" else ()

    def work() -> None:
        verbs.as_declared(unit(), job.id, set_key=request.form.get("set", "")[:8], who=me())
        if usual:
            one = next(one for one in job.sets if job.corner_open(one))
            wheels = [part.number for part in job.parts_of(one.key) if part.here]
            noted = dict(zip(wheels, usual, strict=True))
            corners.note_corners(unit(), job.id, noted, who=me())

    return attempt(work, to("check_in", code=code))


@require_role(Role.COUNTER)
def look_again(code: str) -> Response:
    """Withdraw "as declared" from one part."""
    return attempt(
        lambda: verbs.look_again(unit(), _part_number(job_of(code)), who=me()),
        to("check_in", code=code),
    )


@require_role(Role.COUNTER)
def take_tag_off(code: str) -> Response:
    return attempt(
        lambda: verbs.take_tag_off(unit(), _part_number(job_of(code)), who=me()),
        to("check_in", code=code),
    )


@require_role(Role.COUNTER)
@checks_its_form
def add_bag(code: str) -> Response:
    job = job_of(code)
    form = BagForm()
    if form.validate_on_submit():
        try:
            bag_verbs.add_bag(unit(), job.id, form.contents.data or "", who=me())
        except Refusal as refusal:
            add_error(form, refusal)
        else:
            return to("check_in", code=code, _anchor="bags")
    return _check_in_page(job, bag=form, status=WRONG)


@require_role(Role.COUNTER)
def drop_bag(code: str) -> Response:
    job = job_of(code)
    label = request.form.get("label", "")[:12]
    return attempt(
        lambda: bag_verbs.drop_bag(unit(), job.id, label, who=me()),
        to("check_in", code=code, _anchor="bags"),
    )


@require_role(Role.COUNTER)
def stamps(code: str) -> Response:
    """Save stamps or cast dates; the input stays when somebody else was faster."""
    job = job_of(code)
    typed = {part.number: request.form.get(f"stamp-{part.number}", "") for part in job.parts}
    try:
        verbs.note_stamps(unit(), job.id, typed, expected_event_id=expected_event_id(), who=me())
    except Refusal as refusal:
        return _check_in_page(job_of(code), typed=typed, stamp_wrong=refusal, status=WRONG)
    return to("check_in", code=code, _anchor="stamps")


@require_role(Role.COUNTER)
def photo(code: str) -> Response:
    """Save a photo of a part's state on arrival."""
    job = job_of(code)
    sent = request.files.get("photo")

    def work() -> Any:
        if sent is None or not sent.filename:
            return None
        belongs = Belongs(PhotoPurpose.ARRIVAL, job_id=job.id, part_id=_part_number(job) or None)
        take_photo(
            unit(), cast("BinaryIO", sent.stream), belongs, limit_mb=settings().photo_limit_mb
        )
        return _("Photo saved.")

    return attempt(work, to("check_in", code=code, _anchor="photos"))


@require_role(Role.COUNTER)
def receive(code: str) -> Response:
    """Receive the job, and start its work when nothing stands against it."""
    job = job_of(code)
    started: dict[str, Any] = {}

    def work() -> Any:
        started.update(
            verbs.receive(
                unit(),
                job.id,
                unchecked_as_declared=request.form.get("all") == "1",
                expected_event_id=expected_event_id(),
                once_token=request.form.get("once", ""),
                who=me(),
            )
        )
        if started["started"]:
            return _("Received. Work has started.")
        if not job.open_findings and not job.colour_open:
            return _("Received. Work starts when the open test is done.")
        if not job.open_findings:
            return _("Received. Choose the colour, then work starts.")
        return _("Received. Waiting for the customer's answer.")

    try:
        says = work()
    except Refusal as refusal:
        tell_refusal(refusal)
        return to("check_in", code=code)
    return attempt(lambda: says, to("job", code=code))


def _check_in_page(
    job: JobView,
    *,
    bag: BagForm | None = None,
    typed: dict[int, str] | None = None,
    stamp_wrong: Refusal | None = None,
    status: int = 200,
) -> Response:
    chosen = request.args.get("part", "")
    number = int(chosen) if chosen.isdecimal() and len(chosen) < 4 else 0
    where = f"check-in:{job.row.code}" + (f":{number}" if number else "")
    return page(
        "check_in",
        status,
        where=where,
        job=job,
        bag=bag or BagForm(formdata=None),
        form=bag,
        typed=typed or {},
        stamp_wrong=stamp_wrong,
        chosen=number,
        all_corners=tuple(Corner),
        suggestions=bags.suggested(job),
        recount=bags.to_recount(job),
        firm=firm_of_job(unit(), job.id),
    )


def _part_number(job: JobView) -> int:
    """Return the part of this job that the form names, 0 for none."""
    text = request.form.get("part", "")
    return next((part.id for part in job.parts if str(part.id) == text), 0)
