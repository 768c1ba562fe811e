"""What differs from the order, or is wanted now: described, priced, agreed or asked about."""

from flask import request
from werkzeug.wrappers import Response

from portal.orders.counter import findings
from portal.orders.counter.change_options import ChangeOptions, change_options
from portal.orders.counter.finding_impact import FindingImpact, weigh
from portal.orders.counter.job_view import JobView
from portal.orders.kernel.errors import Refusal
from portal.orders.kernel.photos import Belongs, take_photo
from portal.shop.money import Money
from portal.shop.pricing.differences import Difference
from portal.shop.roles import Role
from portal.shop.states import PhotoPurpose
from portal.web.counter.desk import WRONG, add_error, expected_event_id, job_of, me, page, to
from portal.web.counter.differs_form import ABOUT, DiffersForm, form_for
from portal.web.counter.differs_read import difference_in
from portal.web.kit.http.csrf import checks_its_form
from portal.web.kit.http.guards import require_role
from portal.web.kit.request_context import settings, unit


@require_role(Role.COUNTER)
@checks_its_form
def differs(code: str) -> Response:
    """Show what is known of parts, to be changed to what it is; price it, then agree or ask."""
    job = job_of(code)
    asked = request.args.get("part", "")
    part = int(asked) if asked.isdecimal() and len(asked) < 4 else 0
    key = request.values.get("set", job.sets[0].key if job.sets else "")[:8]
    options = change_options(unit(), job.id, key, part)
    form = form_for(job, options, _about(), part)
    if not form.is_submitted():
        return _differs_page(job, options, form)
    saved_photo = _photo(job, form)
    weighed = None
    if form.validate():
        found = difference_in(form, options)
        try:
            if found is not None:
                weighed = weigh(unit(), job.id, found)
                do = request.form.get("do")
                # what was read on the page counts: another price or date must be read again
                if do in ("raise", "agree") and request.form.get("read", "") == _read(weighed):
                    return _raise(job, found, form, saved_photo, weighed)
        except Refusal as refusal:
            add_error(form, refusal)
    return _differs_page(job_of(code), options, form, weighed=weighed, saved_photo=saved_photo)


def _raise(
    job: JobView, found: Difference, form: DiffersForm, saved_photo: str, weighed: FindingImpact
) -> Response:
    findings.raise_finding(
        unit(),
        job.id,
        found,
        photo=saved_photo,
        days=weighed.days,
        agreed=request.form.get("do") == "agree",
        expected_event_id=expected_event_id(),
        once_token=str(form.once.data or ""),
        who=me(),
    )
    return to("check_in", code=job.row.code, _anchor="findings")


def _about() -> str:
    about = request.values.get("about", "")
    return about if about in ABOUT else ""


def _read(weighed: FindingImpact) -> str:
    return f"{weighed.total_minor}.{weighed.ready_at:%Y%m%dT%H%M}"


def _differs_page(
    job: JobView,
    options: ChangeOptions,
    form: DiffersForm,
    *,
    weighed: FindingImpact | None = None,
    saved_photo: str = "",
) -> Response:
    return page(
        "differs",
        WRONG if form.errors or form.form_errors else 200,
        job=job,
        own=options.own,
        about=_about(),
        form=form,
        weighed=weighed,
        amount=Money(weighed.amount_minor, job.row.currency) if weighed else None,
        sums=_sums(weighed, job) if weighed else None,
        read=_read(weighed) if weighed else "",
        saved_photo=saved_photo,
    )


def _sums(weighed: FindingImpact, job: JobView) -> dict[str, object]:
    """Return price and date with this and all that waits, as the customer agrees to them."""
    currency = job.row.currency
    return {
        "amount": Money(weighed.total_minor - weighed.was_minor, currency),
        "total": Money(weighed.total_minor, currency),
        "ready_at": weighed.ready_at,
        "was_at": weighed.was_at,
    }


def _photo(job: JobView, form: DiffersForm) -> str:
    """Save a photo at once, so that it needn't be sent again when the form has errors."""
    saved_photo = request.form.get("saved_photo", "")[:32]
    sent = form.photo.data
    if not getattr(sent, "filename", ""):
        return saved_photo
    try:
        return take_photo(
            unit(),
            sent.stream,
            Belongs(PhotoPurpose.FINDING, job_id=job.id),
            limit_mb=settings().photo_limit_mb,
        )
    except Refusal as refusal:
        add_error(form, refusal)
        return saved_photo
