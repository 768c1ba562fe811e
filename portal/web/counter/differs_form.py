"""The form of a change: only what one aspect asks, filled with what is known of the parts."""

from typing import Any

from flask_babel import gettext as _
from flask_babel import lazy_gettext as _l

from portal.craft.bringing import NewTyres
from portal.craft.facts import CAN_BE_CLOSED
from portal.craft.parts import (
    Bringing,
    Closed,
    Damage,
    Gloss,
    Item,
    Layer,
    Making,
    Metal,
    PartKind,
    WheelBuild,
)
from portal.orders.counter.change_options import ChangeOptions
from portal.orders.counter.job_view import JobView
from portal.web.kit.forms import (
    AreaField,
    CheckboxField,
    CountField,
    MultiCheckboxField,
    OnceForm,
    PhotoField,
    SelectChoiceField,
    TextField,
)
from portal.web.kit.i18n.languages import colour_name, label
from portal.web.kit.lengths import length_text

MOST_MORE = 40
SIDES = ("length", "width", "height")
SIZES = ("rim_text", "tyre_text", *SIDES)
MADE = ("build", "metal", "made", "closed")
FINISH = ("system", "plate", "gloss")
FITTED = ("fitted", "tyres", "bringing")
# what each link of the check-in asks; without one, all that can be seen on a part
ABOUT = {
    "count": ("missing", "more"),
    "size": SIZES,
    "made": MADE,
    "layers": ("layers", "yellow_to_red"),
    "damage": ("damage",),
    "fitted": FITTED,
    "finish": FINISH,
    "": ("missing", "layers", "yellow_to_red", "damage", *FITTED, *MADE, *SIZES),
}
ALWAYS = ("csrf_token", "once", "parts", "note", "photo")
OF_WHEELS = ("build", "rim_text", "tyre_text", "tyres", "bringing")
NOT_OF_WHEELS = ("metal", *SIDES)


class DiffersForm(OnceForm):
    """Parts as they really arrived, or are wanted now. The photo is saved as soon as it is sent."""

    parts = MultiCheckboxField(_l("Which parts"))
    missing = CheckboxField(_l("Not brought"))
    more = CountField(_l("How many more came, like these"), low=0, high=MOST_MORE)
    layers = MultiCheckboxField(_l("Old finish"), choices=Layer)
    yellow_to_red = CheckboxField(_l("The old paint is yellow, orange or red"))
    damage = MultiCheckboxField(_l("Damage"), choices=Damage)
    fitted = MultiCheckboxField(_l("Still fitted"), choices=Item)
    tyres = SelectChoiceField(_l("Tyres after the coating"))
    bringing = SelectChoiceField(_l("How they were brought"), choices=Bringing)
    build = SelectChoiceField(_l("How the wheel is made"), choices=WheelBuild)
    metal = SelectChoiceField(_l("Metal"), choices=Metal)
    made = SelectChoiceField(_l("How it is built"), choices=Making)
    length = TextField(_l("Length"), longest=40)
    width = TextField(_l("Width"), longest=40)
    height = TextField(_l("Height"), longest=40)
    closed = MultiCheckboxField(_l("Closed or sealed"), choices=Closed)
    rim_text = TextField(_l("Rim marking (size)"), longest=60)
    tyre_text = TextField(_l("Tyre marking"), longest=60)
    system = SelectChoiceField(_l("Coats"))
    plate = SelectChoiceField(_l("Colour"))
    gloss = SelectChoiceField(_l("Gloss"), choices=Gloss)
    note = AreaField(_l("Anything else the customer should know"), longest=300)
    photo = PhotoField(_l("Photo"))

    def has(self, name: str) -> bool:
        """Whether the form asks for a field."""
        return name in self._fields


def form_for(job: JobView, options: ChangeOptions, about: str, part: int) -> DiffersForm:
    """Return the form for one aspect, filled with what is known of a set or of one of its parts."""
    form = DiffersForm(data=_known(options, part))
    tags = {one.number: one.tag for one in job.parts}
    form.parts.choices = [(str(n), _part_label(n, tags.get(n, ""))) for n in options.numbers]
    form.tyres.choices = [
        ("", "–"),
        (NewTyres.SAME.value, _("The same tyres go back on, balanced")),
        (NewTyres.BRING.value, _("New tyres were brought: fit and balance them")),
        (NewTyres.LATER.value, _("No tyres go on: a tyre shop fits them later")),
    ]
    form.system.choices = [(one.value, label(one)) for one in options.systems]
    form.plate.choices = [(one.code, colour_name(one.name)) for one in options.powders]
    for name in [one for one in form.data if not _asked(one, options, about, job)]:
        del form[name]
    return form


def _asked(name: str, options: ChangeOptions, about: str, job: JobView) -> bool:
    own = options.own
    if name in ALWAYS:
        return True
    if name not in ABOUT[about]:
        return False
    # the rest hangs on what the parts are
    return {
        "missing": job.row.state.is_expected,
        "made": own.kind is PartKind.OTHER,
        "yellow_to_red": own.kind not in (PartKind.WHEEL, PartKind.CALIPER),
        "closed": own.kind in CAN_BE_CLOSED,
        **dict.fromkeys(FINISH, own.finish is not None),
    }.get(name, name not in (NOT_OF_WHEELS if own.kind is PartKind.WHEEL else OF_WHEELS))


def _known(options: ChangeOptions, part: int) -> dict[str, Any]:
    own, numbers = options.own, options.numbers
    chosen = (part,) if part in numbers else numbers
    booked = options.order.as_declared(own.key, chosen)
    finish, bringing = booked.finish, options.order.declared.bringing
    return {
        "parts": [str(number) for number in chosen],
        "layers": [str(one) for one in booked.layers],
        "yellow_to_red": booked.yellow_to_red,
        "damage": [str(one) for one in booked.damage],
        "fitted": [str(one) for one in booked.fitted],
        "tyres": booked.new_tyres.value if Item.TYRE in booked.fitted else "",
        "bringing": bringing.value if bringing else None,
        "build": str(booked.build or WheelBuild.UNKNOWN),
        "metal": str(booked.metal),
        "made": str(booked.made),
        "closed": [str(one) for one in booked.closed],
        **sides_told(booked.size_mm),
        "rim_text": booked.rim_text,
        "tyre_text": booked.tyre_text,
        "system": finish.system.value if finish else None,
        "plate": finish.colour if finish else None,
        "gloss": finish.gloss.value if finish else None,
    }


def sides_told(size_mm: tuple[float, float, float] | None) -> dict[str, str]:
    """Return the sides of a part as a form shows them."""
    return {name: length_text(side) for name, side in zip(SIDES, size_mm or (), strict=False)}


def _part_label(number: int, tag: str) -> Any:
    if tag:
        return _("Part %(number)s · tag %(tag)s", number=number, tag=tag)
    return _("Part %(number)s", number=number)
