"""What the figures behind a tyre's size mean: load in kg, speed in km/h."""

from functools import cache

from portal.craft.messages import CraftError, Message
from portal.craft.parts import Tyre
from portal.craft.tables import csv_table, toml_table

_SPEEDS: dict[str, int] = toml_table("tyres.toml")["speed_kmh"]


@cache
def _loads() -> dict[int, float]:
    return {int(row["index"]): float(row["kg"]) for row in csv_table("load_index.csv")}


def load_kg(index: int) -> float:
    """Return the load of one tyre in kg for a load index; raise CraftError for an unknown index."""
    try:
        return _loads()[index]
    except KeyError:
        raise CraftError(_unknown_load(index)) from None


def speed_kmh(symbol: str) -> int:
    """Return the speed in km/h of a speed symbol; raise CraftError for an unknown one."""
    try:
        return int(_SPEEDS[symbol])
    except KeyError:
        raise CraftError(_unknown_speed(symbol)) from None


def is_bracketed(symbol: str) -> bool:
    """Return whether a speed symbol stands in brackets: for more than its own speed."""
    return symbol.startswith("(")


def is_speed(symbol: str) -> bool:
    return symbol in _SPEEDS


def unknown_ratings(tyre: Tyre) -> list[Message]:
    """Return what is wrong with a tyre's load indices and speed symbol."""
    indices = (tyre.load_index, tyre.dual_load_index)
    out = [_unknown_load(one) for one in indices if one is not None and one not in _loads()]
    if tyre.speed and not is_speed(tyre.speed):
        out.append(_unknown_speed(tyre.speed))
    return out


def _unknown_load(index: int) -> Message:
    return Message("We don't know the load index {index}. Check the number.", index=index)


def _unknown_speed(symbol: str) -> Message:
    return Message(
        "“{symbol}” is not a speed rating. Use the letter after the load number, such as W.",
        symbol=symbol,
    )
