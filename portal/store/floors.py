"""The floor as it was simulated last: one row for all processes, replaced as a whole."""

from datetime import datetime
from typing import Any

import sqlalchemy as sa
from sqlalchemy.orm import Mapped, mapped_column

from portal.store.base import Base

THE_ONE = 1


class SimulatedFloor(Base):
    """What pages read of the last simulation, and what it was simulated from.

    `version` counts simulations. `seen` names the newest rows that it knew and the documents in
    force; `plan` has the order of work and the oven loads, `inputs` what the record is read with,
    `record` the services of some replications, into which candidates are placed.
    """

    __tablename__ = "simulated_floor"

    id: Mapped[int] = mapped_column(primary_key=True, autoincrement=False)
    version: Mapped[int]
    at: Mapped[datetime]
    seen: Mapped[dict[str, Any]]
    plan: Mapped[dict[str, Any]]
    inputs: Mapped[dict[str, Any]]
    record: Mapped[bytes] = mapped_column(sa.LargeBinary)
