"""A graph document small enough to read in an example: an urn that exists only here."""

from __future__ import annotations

TEXT = """\
format: 1
equipment: {id: quillmere-u2, title: Quillmere U2 hot water urn, category: water boiler, maker: Quillmere,
            data_note: The U2 is fictional and its figures are invented.}
hazards:
  mains: {title: Mains voltage, precautions: [Isolate and lock off before the cover comes off, Prove dead]}
unit_states:
  power: {title: Power, states: [energised, isolated], usual: energised, minutes: {isolated: 3}}
components:
  supply:
    title: Supply
    external: true
    failure_modes:
      switched_off: {title: Switched off at the wall, calls_per_thousand: 90, remedies: [switch_on]}
  thermostat:
    title: Control thermostat
    failure_modes:
      stuck_open: {title: Contacts stuck open, calls_per_thousand: 60, remedies: [replace_thermostat]}
  element:
    title: Heating element
    failure_modes:
      open_circuit: {title: Open circuit, calls_per_thousand: 40, remedies: [replace_element]}
signals:
  heat:
    title: Heat
    states: [present, absent]
    rules:
      - when: {any_fault: [supply.switched_off, thermostat.stuck_open, element.open_circuit]}
        state: absent
      - state: present
symptoms:
  water_cold: {title: The water stays cold, shows: {heat: absent}, phrases: [no hot water]}
tests:
  bridge_thermostat:
    title: With the urn isolated, bridge the thermostat leads and try again
    reveals: thermostat
    minutes: 6
    hazards: [mains]
    needs: {power: isolated}
    outcomes: {heats: [stuck_open], stays_cold: otherwise}
  element_resistance:
    title: With the urn isolated, measure the element's resistance
    reveals: element
    minutes: 5
    hazards: [mains]
    needs: {power: isolated}
    reading:
      quantity: resistance
      unit: Ohm
      accuracy_percent: 1
      accuracy_counts: 2
      display_step: 0.1
      at:
        element: {title: Temperature of the element, unit: Cel, usual: 20, accuracy: 5, varies: 30}
      expected:
        otherwise:
          title: a good element
          curve: nameplate
          of: {watts: 2400, volts: 230, per_kelvin: 0.0004, celsius: element}
          tolerance_percent: 8
        open_circuit: {title: an open one, low: 1000000}
    outcomes: {no_continuity: [open_circuit], continuity: otherwise}
remedies:
  switch_on: {title: Switch on at the wall, minutes: 1, role: site_contact}
  replace_thermostat: {title: Replace the thermostat, minutes: 20, hazards: [mains], parts: {thermostat: 1}}
  replace_element: {title: Replace the element, minutes: 35, hazards: [mains], parts: {element_kit: 1}}
parts:
  thermostat: {number: Q-U2-104, title: Thermostat 95 °C, price: 28.5}
  element_kit: {number: Q-U2-201, title: Element 2.4 kW with gasket, price: 61}
"""
