"""A further set starts as a copy of one of its kind, so that nothing is asked twice."""

from dataclasses import replace

from portal.craft.parts import PartSet
from portal.orders.intake.draft_answers import Answers


def like_an_earlier(new: PartSet, answers: Answers) -> Answers:
    """Add a set to the order, with old finish, fitted things and finish of the last of its kind.

    Damage and note are its own. Without an earlier set of its kind it is added as it stands.
    """
    sets = answers.declared.sets
    earlier = next((one for one in reversed(sets) if one.kind is new.kind), None)
    saved = dict(answers.saved)
    if earlier is not None:
        new = replace(
            new,
            layers=new.layers or earlier.layers,
            fitted=earlier.fitted,
            removers=earlier.removers,
            new_tyres=earlier.new_tyres,
            finish=new.finish or earlier.finish,
        )
        seen = saved.get(f"fitted:{earlier.key}")
        if seen is not None:
            saved[f"fitted:{new.key}"] = seen
    declared = replace(answers.declared, sets=(*sets, new))
    return replace(answers, declared=declared, saved=saved)
