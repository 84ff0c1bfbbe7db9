"""One unit while it is worked on: its states, the minutes to change them, the evidence that is gone.

Nothing that keeps people from live parts comes off while the supply is on, and it goes back before the supply
does, unless the work needs it off. What only a machine with supply can be in (a phase of its sequence) ends when
it is locked out.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from graph.equipment import Equipment, Observation, Remedy

Needs = Iterable[tuple[str, str]]
"""(unit state, the state of it that is needed)."""


class Unit:
    """The unit in some states. `moves` are the changes made so far, in order: (unit state, its new state)."""

    def __init__(self, equipment: Equipment, states: Mapping[str, str]) -> None:
        self.equipment = equipment
        self.states = {name: u.usual for name, u in equipment.unit_states.items()} | dict(states)
        self.minutes = 0.0
        self.lost: set[str] = set()
        self.moves: list[tuple[str, str]] = []
        self._locks = {n: u.lockout for n, u in equipment.unit_states.items() if u.lockout is not None}

    @property
    def locked_out(self) -> bool:
        """Whether any supply is locked out."""
        return any(self.states[name] == state for name, state in self._locks.items())

    def bring(self, needs: Needs) -> None:
        """Bring the unit into the states that some work needs, in the order in which it is safe."""
        wanted = dict(needs)
        kinds = self.equipment.unit_states
        changes = [n for n, state in wanted.items() if self.states[n] != state and n not in self._locks]
        opens = [n for n in changes if not kinds[n].live and wanted[n] != kinds[n].usual]
        opens += [n for n in reversed(list(kinds)) if n in changes and not kinds[n].live and n not in opens]
        to_lock = [n for n, state in self._locks.items() if wanted.get(n) == state]
        live = [n for n, state in self._locks.items() if wanted.get(n, state) != state]
        was_live = not self.locked_out
        if was_live and not to_lock and any(kinds[n].guards for n in opens):
            to_lock = list(self._locks)
        for name in to_lock:
            self._move(name, self._locks[name])
        for name in opens:
            self._move(name, wanted[name])
        if self.locked_out and (live or any(kinds[n].live and wanted[n] != kinds[n].usual for n in wanted)):
            for name in reversed(list(kinds)):
                if kinds[name].guards and name not in wanted:
                    self._move(name, kinds[name].usual)
            for name in self._locks:
                self._move(name, wanted.get(name, kinds[name].usual))
        for name in wanted:
            if kinds[name].live:
                self._move(name, wanted[name])

    def run(self) -> None:
        """Give the supply back as usual, for a trial run."""
        self.bring([(name, self.equipment.unit_states[name].usual) for name in self._locks])

    def work(self, job: Observation | Remedy) -> None:
        """Do the work itself."""
        self.minutes += job.minutes
        self.lost.update(job.disturbs)

    def _move(self, name: str, state: str) -> None:
        if self.states[name] == state:
            return
        unit_state = self.equipment.unit_states[name]
        self.states[name] = state
        self.minutes += unit_state.minutes.get(state, 0.0)
        self.lost.update(unit_state.disturbs.get(state, ()))
        self.moves.append((name, state))
        if state == unit_state.lockout:
            self.states |= {n: u.usual for n, u in self.equipment.unit_states.items() if u.live}
