"""Names of an order and its parts in one line, for tags, lists and letters."""

from collections.abc import Mapping
from dataclasses import replace
from functools import reduce

import sqlalchemy as sa

from portal.craft.answers import Appraisal, SetAppraisal
from portal.craft.colour_names import ColourName
from portal.craft.looks import CoatRole
from portal.craft.messages import Message
from portal.craft.part_names import SetName, set_names
from portal.craft.parts import Powder
from portal.store.jobs import Job

# what the quote of a job leaves open above its total, in minor units; a column of Job
LEFT_OPEN = (
    sa.func.coalesce(Job.quote["high"].as_integer() - Job.quote["total"].as_integer(), 0)
).label("left_open")


def names_of(appraisal: Appraisal, stock: Mapping[str, Powder]) -> dict[str, SetName]:
    """Return what the sets of an order are called, by key."""
    colours = {code: powder.name for code, powder in stock.items()}
    return set_names([one.part_set for one in appraisal.sets], colours)


def summary_of(appraisal: Appraisal, stock: Mapping[str, Powder]) -> Message:
    """Return the whole order in one line: how many of what, in which colour.

    A set that can't be done and goes home is left out, unless it is all there is.
    """
    sets = tuple(one for one in appraisal.sets if not one.refused) or appraisal.sets
    names = names_of(replace(appraisal, sets=sets), stock)
    every = [_with_colour(names[one.part_set.key], one) for one in sets]
    return reduce(lambda first, more: Message("{first}; {more}", first=first, more=more), every)


def _with_colour(name: SetName, answer: SetAppraisal) -> Message:
    colour = _colour(answer)
    if not colour or name.tells_colour:
        return name.of_set
    return Message("{parts}, {colour}", parts=name.of_set, colour=ColourName(colour))


def _colour(answer: SetAppraisal) -> str:
    if answer.coats is None:
        return ""
    coats = answer.coats.coats
    top = [coat for coat in coats if coat.role in (CoatRole.COLOUR, CoatRole.FACE)] or list(coats)
    return top[0].powder.name
