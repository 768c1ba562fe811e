"""Every component in every state, from the macros that the pages use: to look at and to test."""

from datetime import timedelta
from decimal import Decimal

from flask import Blueprint, render_template
from flask.typing import ResponseReturnValue
from flask_babel import gettext as _
from flask_babel import lazy_gettext as _l

from portal.craft.answers import Removal
from portal.craft.messages import Message
from portal.craft.parts import (
    FinishChoice,
    Gloss,
    Item,
    PartKind,
    PartSet,
    Remover,
    System,
)
from portal.shop.money import Money
from portal.shop.pricing.quote import Quote
from portal.shop.pricing.quote_lines import QuoteLine
from portal.shop.pricing.statements import DateStatement
from portal.shop.roles import Role
from portal.web.kit.forms import (
    AreaField,
    CheckboxField,
    CountField,
    MailField,
    MeasureField,
    MultiCheckboxField,
    PageForm,
    PhotoField,
    RadioChoiceField,
    Required,
    SelectChoiceField,
    TextField,
)
from portal.web.kit.http.guards import require_role
from portal.web.kit.request_context import now, shop
from portal.web.office import samples

blueprint = Blueprint("pieces", __name__)


class Sample(PageForm):
    """A field of each kind."""

    name = TextField(_l("Name"), [Required(_l("Enter your name."))])
    email = MailField(_l("E-mail"))
    count = CountField(_l("How many"), low=1, high=40)
    length = MeasureField(_l("Length"))
    kind = SelectChoiceField(_l("Kind"), choices=PartKind)
    gloss = RadioChoiceField(_l("Gloss"), choices=Gloss)
    system = RadioChoiceField(_l("Coats"), [Required(_l("Choose one."))], choices=System)
    items = MultiCheckboxField(_l("On them"), choices=Item)
    photo = PhotoField(_l("Photo"))
    note = AreaField(_l("Anything else"))
    sure = CheckboxField(_l("I have read this"), [Required(_l("Tick the box to go on."))])


@require_role(Role.FLOOR)
def pieces() -> ResponseReturnValue:
    calm, wrong = Sample(formdata=None, prefix="a-"), Sample(formdata=None, prefix="b-")
    for field, sentence in (
        ("name", Message("Enter your name.")),
        ("count", Message("Enter a whole number from {low} to {high}.", low=1, high=40)),
        ("system", Message("Choose one.")),
        ("sure", Message("Tick the box to go on.")),
    ):
        wrong.add_error(field, sentence)
    return render_template(
        "office/pieces.html",
        calm=calm,
        wrong_form=wrong,
        stock=shop().stock,
        faces=samples.faces(),
        looks=samples.looks(shop().stock),
        kinds=[_sample_set(kind) for kind in PartKind],
        removals=_removals(),
        who={Item.TYRE: "us", Item.VALVE: "us", Item.CENTRE_CAP: "you", Item.BEARINGS: "stays"},
        rails=samples.rails(now()),
        later=now() + timedelta(days=2),
        quote=_quote(),
        date=DateStatement(now() + timedelta(days=2), now() + timedelta(days=2)),
        steps=[(_("Parts"), "#rails"), (_("Old finish"), ""), (_("Finish"), ""), (_("Day"), "")],
    )


blueprint.add_url_rule("/pieces", view_func=pieces, methods=["GET"])


def _sample_set(kind: PartKind) -> PartSet:
    code = next(iter(shop().stock), "")
    return PartSet("p", kind, 1, finish=FinishChoice(System.SINGLE, code) if code else None)


def _removals() -> tuple[Removal, ...]:
    what = Message("Sample")
    return tuple(
        Removal(
            item=item,
            must=True,
            order=at,
            why=(what,),
            tool=what,
            step=what,
            happens=what,
            who_may=(Remover.US,),
        )
        for at, item in enumerate((Item.TYRE, Item.VALVE, Item.CENTRE_CAP, Item.BEARINGS), 1)
    )


def _quote() -> Quote:
    def pounds(minor: int) -> Money:
        return Money(minor, shop().currency)

    def line(key: str, words: tuple[Message, Message], sums: tuple[int, int, int]) -> QuoteLine:
        low, usual, high = (pounds(one) for one in sums)
        return QuoteLine(
            key=key,
            set_key="w",
            says=words[0],
            why=words[1],
            amount=usual,
            firm=low == high,
            low=low,
            high=high,
        )

    firm = Message("Four wheels, blasted and coated"), Message("One coat.")
    loose = Message("Kerb damage smoothed"), Message("How deep it is shows after blasting.")
    return Quote(
        lines=(line("a", firm, (37600,) * 3), line("b", loose, (4000, 8000, 12800))),
        net=pounds(38000),
        tax=pounds(7600),
        tax_percent=Decimal(20),
        tax_inclusive=True,
        total=pounds(45600),
        low=pounds(41600),
        high=pounds(50400),
        deposit=pounds(9120),
    )
