"""After an event the forecast is made anew."""

from collections.abc import Mapping, Sequence

from sqlalchemy.orm import Session

from portal.orders.unit import Unit
from portal.shop.moves import PartStage


def forecast_again(unit: Unit, session: Session) -> None:
    """Make the forecast anew for what has just changed."""


def wanted_order(unit: Unit, session: Session) -> Mapping[PartStage, Sequence[int]]:
    """Return the jobs of each station in the order in which the forecast takes them."""
    return {}
