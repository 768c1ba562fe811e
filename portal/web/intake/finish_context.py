"""What the Finish page shows of each set beside its fields: the drawing, sums and reasons."""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Any

from flask import url_for
from flask_babel import gettext as _

from portal.craft.care import advice
from portal.craft.finishes import gloss_band, system_says, system_says_short, systems_for
from portal.craft.messages import CraftError, Message
from portal.craft.offered import Stock, offered
from portal.craft.parts import Gloss, PartSet, Powder, System, Usage
from portal.orders.intake.draft_view import DraftView
from portal.orders.intake.finish_view import FinishFacts, finish_facts
from portal.shop.colour_search import ColourSearch, find
from portal.web.intake.finish_form import (
    FIRST_SHOWN,
    FinishForm,
    can_be_same,
    finishes,
    usage_of,
)
from portal.web.intake.page import FormGroup
from portal.web.kit.i18n.languages import amount, colour_name
from portal.web.kit.request_context import now, shop

PHOTO_WIDTH = 240  # CSS pixels; fits the narrowest phone


@dataclass(frozen=True, slots=True)
class SetShown:
    """One set with its form, what each choice means, and its drawing.

    `first` is the set whose finish this one can copy, None on the first itself.
    """

    part_set: PartSet
    form: FinishForm
    drawn: PartSet
    first: PartSet | None
    like_first: bool
    colours: Mapping[str, Powder]
    plates: Mapping[str, Powder]
    facts: FinishFacts | None
    system_says: Mapping[str, Message]
    colour_says: Mapping[str, Message]
    sums: Mapping[str, str]
    chosen_system: Message | None
    powder: Powder | None
    chosen_says: Message | None
    advice: tuple[Message, ...]
    found: ColourSearch | None
    problem: Message | None


def context(view: DraftView, form: FormGroup) -> dict[str, Any]:
    stock, usage = shop().stock, usage_of(form)
    chosen = finishes(view, form)
    first = view.sets[0] if view.sets else None
    return {
        "sets": [
            _set_shown(view, replace(one, finish=chosen[one.key]), first, sub, usage)
            for one, sub in zip(view.sets, form.subs, strict=True)
        ],
        "stock": stock,
        "photos": view.photos,
        "photo_width": PHOTO_WIDTH,
        "first_shown": FIRST_SHOWN,
        "look_url": url_for("intake.finish", token=view.token),
    }


def _set_shown(
    view: DraftView, one: PartSet, first: PartSet | None, sub: FinishForm, usage: Usage | None
) -> SetShown:
    choice, stock = one.finish, shop().stock
    like_first = bool(sub.same.data)
    whole = choice is not None and not like_first
    facts = None
    if choice and whole and view.assessment:
        facts = finish_facts(view.assessment, one, choice, shop(), shop().day(now()))
    colours = _colours(sub, stock) if whole else {}
    found, problem = _search(sub, one, stock) if whole else (None, None)
    powder = stock.get(choice.colour) if choice else None
    return SetShown(
        part_set=one,
        form=sub,
        drawn=one,
        first=first if can_be_same(one, first) else None,
        like_first=like_first,
        colours=colours,
        plates=_plates(one, stock) if whole else {},
        facts=facts,
        system_says={s.value: system_says_short(s) for s in systems_for(one)},
        colour_says={
            code: _longer(facts.days[code]) for code in colours if facts and code in facts.days
        },
        sums=_sums(facts),
        powder=powder,
        chosen_system=system_says(choice.system) if choice else None,
        chosen_says=powder_says(powder, facts.days if facts else {}) if powder else None,
        advice=advice(usage, one),
        found=found,
        problem=problem,
    )


def _sums(facts: FinishFacts | None) -> dict[str, str]:
    """Return what each coat system adds: "+£48", or that it is included."""
    if facts is None:
        return {}
    return {
        system.value: _("+%(sum)s", sum=amount(extra)) if extra.minor else _("included")
        for system, extra in facts.extra.items()
    }


def _colours(sub: FinishForm, stock: Stock) -> dict[str, Powder]:
    """Return the powders to choose from, by code."""
    if not (sub.system.data and sub.gloss.data):
        return {}
    powders = offered(System(sub.system.data), Gloss(sub.gloss.data), stock, sub.colour.data)
    return {powder.code: powder for powder in powders}


def _plates(one: PartSet, stock: Stock) -> dict[str, Powder]:
    """Return for each coat system a powder that shows its look."""
    found = {}
    for system in systems_for(one):
        powders = next((p for g in Gloss if (p := offered(system, g, stock))), ())
        if powders:
            found[system.value] = powders[0]
    return found


def _search(
    sub: FinishForm, one: PartSet, stock: Stock
) -> tuple[ColourSearch | None, Message | None]:
    text = sub.near.data
    # the page shows this search: the Enter key goes on from here
    sub.asked.data = text or ""
    if not text or not sub.system.data:
        return None, None
    try:
        system, gloss = System(sub.system.data), Gloss(sub.gloss.data)
        return find(text, stock, systems_for(one), system, gloss, colour_name), None
    except CraftError as error:
        return None, error.sentence


def _longer(days: int) -> Message:
    if days == 1:
        return Message("1 working day longer")
    return Message("{days} working days longer", days=days)


def powder_says(powder: Powder, days: Mapping[str, int]) -> Message:
    """Return what a car owner needs to know of a colour: number, gloss and delivery time."""
    there = Message("In stock")
    if powder.code in days:
        there = Message("Ordered for you: {longer}", longer=_longer(days[powder.code]))
    gloss = gloss_band(powder.gloss_gu)
    if powder.ral:
        return Message("{ral}. {gloss}. {there}.", ral=powder.ral, gloss=gloss, there=there)
    return Message("{gloss}. {there}.", gloss=gloss, there=there)
