"""The landing page, the comparison with other finishes, and the sources of the figures."""

from collections.abc import Iterable
from dataclasses import replace
from decimal import Decimal

from flask import render_template
from flask.typing import ResponseReturnValue

from portal.craft.care import washing, washing_never
from portal.craft.finishes import gloss_band
from portal.craft.parts import (
    Bringing,
    Declared,
    Effect,
    FaceStyle,
    FinishChoice,
    Gloss,
    Layer,
    Metal,
    PartKind,
    PartSet,
    Powder,
    Rim,
    System,
    WheelBuild,
)
from portal.craft.sources import subjects
from portal.shop.assessment.assess import assess
from portal.shop.money import Money
from portal.web.kit.http.security import in_the_open
from portal.web.kit.request_context import now, shop

SAMPLE = PartSet(
    key="sample",
    kind=PartKind.WHEEL,
    count=4,
    build=WheelBuild.CAST,
    metal=Metal.CAST_ALUMINIUM,
    rim=Rim(diameter_code=18, width_code=8, offset_mm=45, bolts=5, bolt_circle_mm=112),
    face=FaceStyle.SPLIT_SPOKES,
)


@in_the_open
def landing() -> ResponseReturnValue:
    stock = shop().stock
    plates = tuple(p for p in stock.values() if p.stock_kg > 0 and p.effect is not Effect.CLEAR)
    wheel = _in(_striking(stock.values()))
    return render_template(
        "intake/landing.html", wheel=wheel, stock=stock, plates=plates, four=_four_wheels()
    )


@in_the_open
def why_powder() -> ResponseReturnValue:
    """Compare powder with peelable coatings and wraps, at this shop's own price."""
    return render_template(
        "intake/why_powder.html",
        washing=(washing(), washing_never()),
        four=_four_wheels(),
        eighth=Decimal(1) / 8,
        third=Decimal(1) / 3,
    )


@in_the_open
def figures() -> ResponseReturnValue:
    return render_template("intake/figures.html", subjects=subjects(shop().country))


def _striking(powders: Iterable[Powder]) -> str:
    """Return the powder of the first picture: a warm metallic that is in stock."""
    ready = [p for p in powders if p.stock_kg > 0 and p.effect is not Effect.CLEAR]
    warm = [p for p in ready if p.effect is Effect.METALLIC and p.lab[1] > 5]
    return (warm or ready)[0].code if ready else ""


def _in(colour: str) -> PartSet:
    if not colour:
        return SAMPLE
    return replace(SAMPLE, finish=FinishChoice(System.BASE_CLEAR, colour, Gloss.HIGH_GLOSS))


def _four_wheels() -> Money | None:
    """Return today's price of four bare 18-inch wheels in one coat of black."""
    here = shop()
    plain = [p for p in here.stock.values() if p.effect is Effect.SOLID and p.stock_kg > 0]
    if not plain:
        return None
    finish = FinishChoice(System.SINGLE, plain[0].code, gloss_band(plain[0].gloss_gu))
    bare = replace(SAMPLE, finish=finish, layers=(Layer.FACTORY_PAINT,))
    declared = Declared(sets=(bare,), bringing=Bringing.BARE)
    return assess(declared, here, here.day(now())).quote.total
