"""What a customer has taken off already."""

from datetime import datetime

import sqlalchemy as sa
from sqlalchemy.orm import Mapped, mapped_column

from portal.craft.parts import Item
from portal.store.base import Base


class TakenOff(Base):
    """One item of a set that its customer has ticked as taken off."""

    __tablename__ = "taken_off"

    job_id: Mapped[int] = mapped_column(sa.ForeignKey("job.id"), primary_key=True)
    set_key: Mapped[str] = mapped_column(sa.String(8), primary_key=True)
    item: Mapped[Item] = mapped_column(primary_key=True)
    at: Mapped[datetime]
