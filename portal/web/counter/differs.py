"""A set that differs from the order: described as it is, priced, then sent to the customer."""

from collections.abc import Sequence
from dataclasses import replace
from typing import Any

from flask import request
from flask_babel import gettext as _
from flask_babel import lazy_gettext as _l
from werkzeug.wrappers import Response

from portal.craft.damaged import counted
from portal.craft.facts import CAN_BE_CLOSED
from portal.craft.markings import read_rim, read_tyre
from portal.craft.messages import Message
from portal.craft.parts import (
    Closed,
    Damage,
    Item,
    Layer,
    Making,
    Metal,
    PartKind,
    PartSet,
    WheelBuild,
)
from portal.orders.counter import findings
from portal.orders.counter.finding_impact import FindingImpact, weigh
from portal.orders.counter.job_view import JobView
from portal.orders.kernel.errors import Refusal, Unknown
from portal.orders.kernel.photos import Belongs, take_photo
from portal.shop.money import Money
from portal.shop.pricing.differences import Difference
from portal.shop.roles import Role
from portal.shop.states import PhotoPurpose
from portal.web.counter.desk import WRONG, blame, expected_event_id, job_of, me, page, to
from portal.web.kit.forms import (
    AreaField,
    CheckboxField,
    MultiCheckboxField,
    OnceForm,
    PhotoField,
    SelectChoiceField,
    TextField,
)
from portal.web.kit.http.csrf import checks_its_form
from portal.web.kit.http.guards import require_role
from portal.web.kit.lengths import length_text
from portal.web.kit.request_context import settings, unit
from portal.web.kit.sides import read_sides

# how layers lie on each other when several are ticked
OUTERMOST_FIRST = (
    Layer.PEELABLE,
    Layer.WRAP,
    Layer.LIQUID_PAINT,
    Layer.POWDER,
    Layer.FACTORY_PAINT,
    Layer.MACHINED,
    Layer.CHROME,
    Layer.GALVANISED,
    Layer.UNKNOWN,
)


class DiffersForm(OnceForm):
    """A set as it really arrived. The photo is saved as soon as it is sent."""

    parts = MultiCheckboxField(_l("Which parts"))
    missing = CheckboxField(_l("Not brought"))
    layers = MultiCheckboxField(_l("Old finish"), choices=Layer)
    yellow_to_red = CheckboxField(_l("The old paint is yellow, orange or red"))
    damage = MultiCheckboxField(_l("Damage"), choices=Damage)
    fitted = MultiCheckboxField(_l("Still fitted"), choices=Item)
    build = SelectChoiceField(_l("How the wheel is made"), choices=WheelBuild)
    metal = SelectChoiceField(_l("Metal"), choices=Metal)
    made = SelectChoiceField(_l("How it is built"), choices=Making)
    length = TextField(_l("Length"), longest=40)
    width = TextField(_l("Width"), longest=40)
    height = TextField(_l("Height"), longest=40)
    closed = MultiCheckboxField(_l("Closed or sealed"), choices=Closed)
    rim_text = TextField(_l("Rim marking (size)"), longest=60)
    tyre_text = TextField(_l("Tyre marking"), longest=60)
    note = AreaField(_l("Anything else the customer should know"), longest=300)
    photo = PhotoField(_l("Photo"))


@require_role(Role.COUNTER)
@checks_its_form
def differs(code: str) -> Response:
    """Show the set as declared, to be changed to what it is; price it, then ask the customer."""
    job = job_of(code)
    own = _own(job)
    form = DiffersForm(data=_declared(job, own))
    form.parts.choices = [
        (str(part.number), _part_label(part.number, part.tag)) for part in job.parts_of(own.key)
    ]
    if not form.is_submitted():
        return _page(job, own, form)
    kept = _photo(job, form)
    weighed = None
    if form.validate():
        found = _difference(job, own, form)
        try:
            if found is not None:
                weighed = weigh(unit(), job.id, found)
                if request.form.get("do") == "raise":
                    return _raise(job, found, form, kept)
        except Refusal as refusal:
            blame(form, refusal)
    return _page(job_of(code), own, form, weighed=weighed, kept=kept)


def _raise(job: JobView, found: Difference, form: DiffersForm, kept: str) -> Response:
    findings.raise_finding(
        unit(),
        job.id,
        found,
        photo=kept,
        expected_event_id=expected_event_id(),
        once_token=str(form.once.data or ""),
        who=me(),
    )
    return to("check_in", code=job.row.code, _anchor="findings")


def _page(
    job: JobView,
    own: PartSet,
    form: DiffersForm,
    *,
    weighed: FindingImpact | None = None,
    kept: str = "",
) -> Response:
    return page(
        "differs",
        WRONG if form.errors or form.form_errors else 200,
        job=job,
        own=own,
        form=form,
        weighed=weighed,
        amount=Money(weighed.amount_minor, job.row.currency) if weighed else None,
        kept=kept,
        wheel=own.kind is PartKind.WHEEL,
        can_be_closed=own.kind in CAN_BE_CLOSED,
    )


def _own(job: JobView) -> PartSet:
    key = request.values.get("set", job.sets[0].key if job.sets else "")
    found = next((one for one in job.sets if one.key == key), None)
    if found is None:
        raise Unknown(Message("We can't find this set."))
    return found


def _declared(job: JobView, own: PartSet) -> dict[str, Any]:
    asked = request.args.get("part", "")
    parts = {str(part.number): part for part in job.parts_of(own.key)}
    chosen = [parts[asked]] if asked in parts else parts.values()
    return {
        "parts": [str(part.number) for part in chosen],
        "layers": [str(one) for one in own.layers],
        "yellow_to_red": own.yellow_to_red,
        "damage": [str(d) for d in own.damage if any(d in job.damage_of(p) for p in chosen)],
        "fitted": [str(one) for one in own.fitted],
        "build": str(own.build or WheelBuild.UNKNOWN),
        "metal": str(own.metal),
        "made": str(own.made),
        "closed": [str(one) for one in own.closed],
        **_sides_told(own),
        "rim_text": own.rim_text,
        "tyre_text": own.tyre_text,
    }


def _part_label(number: int, tag: str) -> Any:
    if tag:
        return _("Part %(number)s · tag %(tag)s", number=number, tag=tag)
    return _("Part %(number)s", number=number)


def _difference(job: JobView, own: PartSet, form: DiffersForm) -> Difference | None:
    """Return the set as it really is; None, with an error beside the field, if invalid."""
    numbers = tuple(int(one) for one in form.parts.data or () if one.isdecimal())
    arrived = replace(
        _damaged(job, own, numbers, form.damage.data or ()),
        layers=_layers(form.layers.data or ()),
        fitted=tuple(one for one in Item if one in (form.fitted.data or ())),
    )
    if own.kind is PartKind.WHEEL:
        build = WheelBuild(form.build.data)
        # "don't know" is how an unsaid build is shown
        arrived = replace(arrived, build=own.build if _same_build(own, build) else build)
    else:
        arrived = replace(
            arrived,
            metal=Metal(form.metal.data or own.metal),
            made=Making(form.made.data or own.made),
            yellow_to_red=own.kind is not PartKind.CALIPER and bool(form.yellow_to_red.data),
            closed=tuple(one for one in Closed if one in (form.closed.data or ())),
        )
    sized = _sized(arrived, own, form)
    if sized is None:
        return None
    note = " ".join((form.note.data or "").split())
    return Difference(own.key, numbers, sized, missing=bool(form.missing.data), note=note)


def _damaged(job: JobView, own: PartSet, numbers: Sequence[int], ticked: Sequence[str]) -> PartSet:
    """Return the chosen parts with the ticked damage: on as many as declared, else on all."""
    chosen = [part for part in job.parts_of(own.key) if part.number in numbers]
    one = replace(own, count=max(1, len(chosen)))
    counts = {
        damage: sum(damage in job.damage_of(part) for part in chosen) or one.count
        for damage in Damage
        if damage in ticked
    }
    return counted(one, counts)


def _same_build(own: PartSet, build: WheelBuild) -> bool:
    return own.build is None and build is WheelBuild.UNKNOWN


def _layers(ticked: Any) -> tuple[Layer, ...]:
    layers = tuple(one for one in OUTERMOST_FIRST if one in ticked)
    # bare metal with something on it is not bare
    return layers or ((Layer.BARE,) if Layer.BARE in ticked else ())


def _sized(arrived: PartSet, own: PartSet, form: DiffersForm) -> PartSet | None:
    if own.kind is not PartKind.WHEEL:
        return _measured(arrived, own, form)
    rim, tyre = form.rim_text.data or "", form.tyre_text.data or ""
    if rim != own.rim_text and rim:
        read = read_rim(rim)
        if read.rim is None or read.impossible:
            form.blame("rim_text", read.impossible[0] if read.impossible else read.where)
            return None
        if read.unsure:
            form.blame("rim_text", read.unsure[0])
            return None
        arrived = replace(arrived, rim=read.rim, rim_text=rim)
    if tyre != own.tyre_text and tyre:
        read_as = read_tyre(tyre)
        if read_as.tyre is None or read_as.impossible:
            form.blame("tyre_text", read_as.impossible[0] if read_as.impossible else read_as.where)
            return None
        arrived = replace(arrived, tyre=read_as.tyre, tyre_text=tyre)
    return arrived


SIDES = ("length", "width", "height")


def _sides_told(own: PartSet) -> dict[str, str]:
    return {name: length_text(side) for name, side in zip(SIDES, own.size_mm or (), strict=False)}


def _measured(arrived: PartSet, own: PartSet, form: DiffersForm) -> PartSet | None:
    """Return a part that is no wheel with its size as measured, or as declared if left empty."""
    typed = {name: form[name].data or "" for name in SIDES}
    if typed == {name: _sides_told(own).get(name, "") for name in SIDES}:
        return arrived
    read = read_sides(tuple(typed.values()))
    for n, sentence in read.wrong.items():
        form.blame(SIDES[n], sentence)
    return replace(arrived, size_mm=read.size) if read.size else None


def _photo(job: JobView, form: DiffersForm) -> str:
    """Save a photo at once, so that it needn't be sent again when the form has errors."""
    kept = request.form.get("kept", "")[:32]
    sent = form.photo.data
    if not getattr(sent, "filename", ""):
        return kept
    try:
        return take_photo(
            unit(),
            sent.stream,
            Belongs(PhotoPurpose.FINDING, job_id=job.id),
            limit_mb=settings().photo_limit_mb,
        )
    except Refusal as refusal:
        blame(form, refusal)
        return kept
