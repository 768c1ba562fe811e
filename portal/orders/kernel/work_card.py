"""What the floor has to do on a part and must see without a click.

It is computed from the appraisal when the parts are received or a finding changes them, and stored
with the part, so that floor pages appraise nothing.
"""

import json
from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal
from functools import lru_cache
from typing import Any

from portal.craft import reading
from portal.craft.answers import Coat, NewPart, PowderNeed, SetAppraisal
from portal.craft.bringing import NewTyres
from portal.craft.check_kinds import CheckKind
from portal.craft.checks import on_part
from portal.craft.colours import hex_of_lab
from portal.craft.damaged import part_at
from portal.craft.facts import rusts
from portal.craft.hanging import HangAt, hang_at
from portal.craft.looks import CoatRole
from portal.craft.never import Never, nevers, told_at
from portal.craft.parts import (
    BareZone,
    Bringing,
    Damage,
    Effect,
    Item,
    PartKind,
    Remover,
    WheelBuild,
)
from portal.shop.assessment.assess import Assessment
from portal.shop.money import round_half_up
from portal.shop.route import PartStage
from portal.shop.scheduling.stations import plan_of, write_work
from portal.store.jobs import Part

CARD, CHECKS = "card", "checks"
# the caution of a place whose rule wants wheels marked with the name of the works
MARK_INSIDE = "place_mark"


@dataclass(frozen=True, slots=True)
class CardCoat:
    """One coat as the booth and the oven need it: film in µm, cure in °C and minutes, grams."""

    role: CoatRole
    powder_code: str
    powder_name: str
    hex: str
    film_um: tuple[int, int]
    cure_c: int
    cure_min: float
    grams: int


@dataclass(frozen=True, slots=True)
class Card:
    """The whole card of a part; `masks` are surfaces to cover, `film_um` all coats together.

    `pre_bake` is a stay in the oven before the first coat, in °C and minutes; `new_tyres` which
    tyres go on. `damage` is what was declared of this very part, `nevers` what must never be done
    to it, `rusts` whether it may rust when it is bare; None on a card of an older job, of which
    nothing is claimed. `on_car` means that we put the wheel back on its car; `mark_inside` that a
    rule of a country wants it marked with the name of the works. `hang` is where the hook goes,
    `hang_agreed` another place that was agreed. `off` is what we take off, `back` what we put on
    again, `new_parts` what we fit new with it; `build` is how a wheel is made. `area_m2` is that of
    the coated surface, 0 where it is unknown.
    """

    colour: str = ""
    hex: str = ""
    coats: tuple[CardCoat, ...] = ()
    masks: tuple[BareZone, ...] = ()
    route: tuple[str, ...] = ()
    film_um: tuple[int, int] = (0, 0)
    gloss_gu: tuple[int, int] = (0, 0)
    pre_bake: tuple[int, float] | None = None
    damage: tuple[Damage, ...] | None = None
    new_tyres: NewTyres = NewTyres.SAME
    area_m2: float = 0.0
    textured: bool = False
    nevers: tuple[Never, ...] | None = None
    rusts: bool | None = None
    hang: HangAt | None = None
    hang_agreed: str = ""
    off: tuple[Item, ...] = ()
    back: tuple[Item, ...] = ()
    new_parts: tuple[NewPart, ...] = ()
    build: WheelBuild | None = None
    on_car: bool = False
    mark_inside: bool = False


@dataclass(frozen=True, slots=True)
class PartPaper:
    """What `Part.work` tells the floor; `checks` None on that of an older job."""

    card: Card
    checks: tuple[CheckKind, ...] | None


def give_work(part: Part, order: Assessment, place: int = 0) -> None:
    """Write the stages, the minutes and the card of one part of an order into its row.

    `place` is that of the part in its set, from 0: a damage may be on the first parts alone.
    """
    answer, work = order.of_set(part.set_key), order.work[part.set_key]
    assert answer is not None  # a part has a set
    plan = plan_of(work)
    part.coats, part.needs_strip, part.needs_refit = plan.coats, plan.strip, plan.refit
    declared = order.declared
    card = write_card(
        answer, place, before_1980=declared.original_before_1980, bringing=declared.bringing
    )
    own = part_at(answer.part_set, place).damage
    part.work = {**write_work(work), CARD: card, CHECKS: list(on_part(answer.checks, own))}


def write_card(
    appraised: SetAppraisal,
    place: int = 0,
    *,
    before_1980: bool = False,
    bringing: Bringing | None = None,
) -> dict[str, Any]:
    """Return the card of the part of a set at a place, counted from 0, for `Part.work`."""
    own = part_at(appraised.part_set, place)
    ours = [r for r in appraised.removals if r.by(appraised.part_set) is Remover.US]
    back = [r for r in ours if r.back and bringing is not Bringing.BARE]
    new = {part for removal in back for part in removal.new_parts}
    coats = appraised.coats.coats if appraised.coats else ()
    top = _colour_coat(coats, appraised)
    card = Card(
        colour=top.powder.name if top else "",
        hex=hex_of_lab(top.powder.lab) if top else "",
        coats=tuple(
            _coat(coat, need, appraised.part_set.count)
            for coat, need in zip(coats, _needs(coats, appraised.needs), strict=True)
        ),
        masks=tuple(mask.zone for mask in appraised.masks),
        route=tuple(str(kind) for kind in appraised.route.kinds),
        film_um=appraised.coats.film_um if appraised.coats else (0, 0),
        gloss_gu=appraised.coats.gloss_gu if appraised.coats else (0, 0),
        pre_bake=appraised.coats.pre_bake if appraised.coats else None,
        damage=own.damage,
        new_tyres=_new_tyres(appraised),
        area_m2=round(appraised.surface.area_m2, 2) if appraised.surface else 0.0,
        textured=any(coat.powder.effect is Effect.TEXTURE for coat in coats),
        nevers=nevers(own, before_1980=before_1980),
        rusts=rusts(own),
        hang=hang_at(own.kind),
        hang_agreed=own.hang,
        on_car=bringing is Bringing.WHOLE_CAR and own.kind is PartKind.WHEEL,
        off=tuple(removal.item for removal in ours),
        back=tuple(removal.item for removal in back),
        new_parts=tuple(part for part in NewPart if part in new),
        build=own.build,
        mark_inside=any(caution.key == MARK_INSIDE for caution in appraised.cautions),
    )
    return reading.write(card)


def put_hanging(part: Part, agreed: str) -> None:
    """Write on a part's card where it hangs, where another place was agreed."""
    if CARD in part.work:
        part.work = {**part.work, CARD: {**part.work[CARD], "hang_agreed": agreed}}


def read_card(work: Mapping[str, Any]) -> Card:
    """Read the card out of `Part.work`; an empty one when there is none yet."""
    return reading.read(Card, work.get(CARD) or {})


@lru_cache(maxsize=4096)
def read_paper(text: str) -> PartPaper:
    """Read `Part.work` as the database has it: once for all parts that have the same."""
    work = json.loads(text)
    stored = work.get(CHECKS)
    return PartPaper(read_card(work), None if stored is None else tuple(map(CheckKind, stored)))


def damage_in(work: Mapping[str, Any]) -> tuple[Damage, ...] | None:
    """Return what was declared of a part; None where its card does not tell."""
    stored = work.get(CARD, {}).get("damage")
    return None if stored is None else tuple(map(Damage, stored))


def nevers_at(station: PartStage, work: Mapping[str, Any]) -> tuple[Never, ...]:
    """Return what a part's card says must never be done to it at a station."""
    return told_at(station.value, map(Never, work.get(CARD, {}).get("nevers") or ()))


def rusts_in(work: Mapping[str, Any]) -> bool | None:
    """Return whether a part may rust when it is bare; None where its card does not tell."""
    found: bool | None = work.get(CARD, {}).get("rusts")
    return found


def coat_of(work: Mapping[str, Any], coats_done: int) -> CardCoat | None:
    """Return the coat that a part gets now, or None when the card does not tell."""
    coats = read_card(work).coats
    return coats[coats_done] if coats_done < len(coats) else None


def _new_tyres(appraised: SetAppraisal) -> NewTyres:
    """Return which tyres the floor fits; the same as ever where it took none off."""
    one = appraised.part_set
    ours = any(r.item is Item.TYRE and r.by(one) is Remover.US for r in appraised.removals)
    return one.new_tyres if ours else NewTyres.SAME


def _colour_coat(coats: tuple[Coat, ...], appraised: SetAppraisal) -> Coat | None:
    finish = appraised.part_set.finish
    if finish is None or not coats:
        return None
    return next((coat for coat in coats if coat.powder.code == finish.colour), coats[-1])


def _needs(coats: tuple[Coat, ...], needs: tuple[PowderNeed, ...]) -> tuple[PowderNeed | None, ...]:
    # one need a coat, in the same order; a coat without one has no size known yet
    return needs if len(needs) == len(coats) else (None,) * len(coats)


def _coat(coat: Coat, need: PowderNeed | None, count: int) -> CardCoat:
    grams = round_half_up(Decimal(str(need.kg)) * 1000 / count) if need else 0
    return CardCoat(
        role=coat.role,
        powder_code=coat.powder.code,
        powder_name=coat.powder.name,
        hex=hex_of_lab(coat.powder.lab),
        film_um=coat.film_um,
        cure_c=coat.cure_c,
        cure_min=coat.cure_min,
        grams=grams,
    )
