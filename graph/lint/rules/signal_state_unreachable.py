"""States of signals that nothing brings about."""

from __future__ import annotations

from collections.abc import Iterator

from graph.lint.rule import LintRule, Remark
from graph.lint.subject import Subject


def _look(subject: Subject) -> Iterator[Remark]:
    for name, signal in subject.equipment.signals.items():
        for i, state in enumerate(signal.states):
            if state not in subject.reachable[name]:
                yield Remark(
                    ("signals", name, "states", i), f"the state {state!r}, which no failure mode alone brings about",
                    "a rule that leads to it and stands before those that hide it",
                )


RULE = LintRule(
    code="signal-state-unreachable",
    says="A state of a signal that no failure mode, and no sound unit, brings about.",
    why=(
        "A rule before it takes its place, or its rule asks for something that cannot be; outcomes that rest on it "
        "never come up."
    ),
    wrong="""
signals:
  supply: {states: [present, absent, low]}
""",
    right="""
components:
  socket: {failure_modes: {loose: {title: Contact burnt, calls_per_thousand: 15, remedies: [switch_on]}}}
signals:
  supply:
    states: [present, absent, low]
    rules: [{when: {socket: "off"}, state: absent}, {when: {socket: loose}, state: low}, {state: present}]
  element_supply:
    rules:
      - {when: {supply: [absent, low]}, state: absent}
      - {when: {water: absent}, state: absent}
      - {when: {any_fault: [cutout.tripped, thermostat.stuck_open, thermostat.drops_out]}, state: absent}
      - {state: present}
tests:
  look_socket: {outcomes: {off: {states: ["off", loose]}}}
""",
    look=_look,
)
