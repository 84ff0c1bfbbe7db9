"""Who is asking, with what, and what their time costs."""

from __future__ import annotations

from dataclasses import dataclass

from graph.equipment import Licence, Observation, Remedy, Role


@dataclass(frozen=True, slots=True)
class Asker:
    """Someone in front of the machine. `instruments` and `parts` None mean everything the graph knows of.

    `parts` are (part, quantity) at hand; `unit_state` are (name, state) pairs of the unit now, where it is not
    in its usual state.
    """

    role: Role = "technician"
    licences: frozenset[Licence] = frozenset()
    instruments: frozenset[str] | None = None
    parts: frozenset[tuple[str, int]] | None = None
    unit_state: tuple[tuple[str, str], ...] = ()

    def licensed_for(self, job: Observation | Remedy) -> bool:
        """Whether the kit is for someone with the licence a job needs.

        A site contact's kit is a technician's yet to be sent, who is taken to have every licence.
        """
        return self.role == "site_contact" or job.licence is None or job.licence in self.licences


@dataclass(frozen=True, slots=True)
class Economics:
    """Money, in the equipment's currency.

    Coming again costs `return_trip` and `support_minutes` of somebody who looks into it anew. Having a part out
    costs `picking` and `carrying_share` of its price. The defaults are invented.
    """

    labour_per_hour: float = 75.0
    return_trip: float = 140.0
    support_minutes: float = 30.0
    picking: float = 1.5
    carrying_share: float = 0.05
    kit_budget: float | None = None

    def labour(self, minutes: float) -> float:
        """What minutes cost; never nothing, so that ratios stay finite."""
        return minutes * max(self.labour_per_hour, 0.01) / 60
