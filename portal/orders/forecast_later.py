"""After an event the forecast is made anew."""

from sqlalchemy.orm import Session

from portal.orders.unit import Unit


def forecast_again(unit: Unit, session: Session) -> None:
    """Make the forecast anew for what has just changed."""
