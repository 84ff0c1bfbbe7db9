"""A small module to try, and the document that it makes."""

from __future__ import annotations

from schemas.modules.library import Library

TRADE = b"""
format: 1
parameters:
  isolated: {title: States for work on dead parts, kind: map, default: {power: isolated}}
  group: {title: Group of its components, kind: words, default: $name}
hazards:
  mains_voltage: {title: Mains voltage, precautions: [Isolate and prove dead.]}
  hot_surfaces: {title: Hot, precautions: [Let it cool.]}
instruments: {multimeter: Multimeter, torch: Torch}
"""
LAMP = b"""
format: 1
title: Lamp with its switch
parameters:
  name: {title: "What it is called, e.g. cabinet lamp", kind: words}
  build:
    title: Its build
    kind: choice
    default: filament
    choices:
      filament: {title: With a filament, without: [driver, driver_part], with: {ohms: 60}}
      diode: {title: With a driver, without: [bulb.dim, bulb_ohms]}
  ohms: {title: Ohms when cold, kind: number, default: 50}
  feed: {title: "Your signal of its supply, with the states present and absent", kind: name}
  shaded: {title: Something stands before it, kind: when, default: never}
  daylight: {title: It is light outside, kind: when}
  verify: {title: The test that proves a repair, kind: name, default: look}
components:
  bulb:
    title: Bulb of the $name
    group: $group
    failure_modes:
      blown: {title: Blown, calls_per_thousand: 30, remedies: [new_bulb]}
      dim: {title: Blackened, calls_per_thousand: 10, remedies: [new_bulb, wipe]}
  driver:
    title: Driver of the $name
    failure_modes:
      dead: {title: Dead, calls_per_thousand: 20, remedies: [new_driver]}
signals:
  light:
    title: Light of the $name
    states: [bright, dim, dark]
    rules:
      - {when: $daylight, state: bright}
      - {when: {$feed: absent}, state: dark}
      - {when: {any_fault: [driver.dead, bulb.blown]}, state: dark}
      - {when: $shaded, state: dim}
      - {when: {bulb: dim}, state: dim}
      - {state: bright}
tests:
  look:
    title: Look at the $name
    reveals: light
    minutes: 1
    hazards: [hot_surfaces]
    outcomes: {bright: [bright], dim: [dim], dark: [dark]}
  bulb_ohms:
    title: $name out, and measured
    reveals: bulb
    minutes: 3
    instruments: [multimeter]
    hazards: [mains_voltage]
    needs: $isolated
    disturbs: [light]
    how: ["Near $ohms \xce\xa9."]
    reading:
      quantity: resistance
      unit: \xce\xa9
      expected:
        otherwise: {title: a whole one, value: $ohms, tolerance: 5}
        blown: {title: a blown one, low: 1000000}
    outcomes:
      {sound: {title: "Near ${ohms} \xce\xa9", states: [sound]}, blown: [blown], dim: {title: Dim, states: [dim]}}
remedies:
  new_bulb: {title: Replace the bulb, minutes: 4, parts: {bulb_part: 1, grease: 1}, verify: $verify}
  wipe: {title: Wipe it, minutes: 2, verify: bulb_ohms}
  new_driver: {title: Replace the driver, minutes: 9, parts: {driver_part: 1}, verify: look}
parts:
  bulb_part: {title: $name, price: 3, alternatives: [driver_part]}
  driver_part: {title: "Driver of the $name", price: 12}
  grease: {title: Grease, price: 1, consumable: true}
"""

LIBRARY = Library({"trade": TRADE, "lamp": LAMP})
MACHINE = """
format: 1
equipment: {id: cabinet, title: Cabinet, category: cabinet}
unit_states: {power: {title: Power, states: ["on", isolated], usual: "on", lockout: isolated}}
hazards: {hot_surfaces: {title: Hot bulb, precautions: [Glove.]}}
components:
  mains:
    title: Mains
    external: true
    failure_modes: {off: {title: "Off", calls_per_thousand: 20, remedies: [restore]}}
signals:
  supply: {title: Supply, states: [present, absent], rules: [{when: {mains: "off"}, state: absent}, {state: present}]}
  sun: {title: Sun, states: [up, down], rules: [{state: down}]}
symptoms: {dark: {title: It is dark, shows: {lamp_light: dark}}}
remedies: {restore: {title: Switch on, minutes: 1}}
parts: {paste: {number: P-9, title: Paste, price: 1}}
"""
USE = """
modules:
  lamp:
    module: lamp
    calls_per_thousand: 80
    with: {name: cabinet lamp, feed: supply, daylight: {sun: up}}
    parts: {bulb_part: {number: P-1, price: 2.5}, grease: paste}
    rename: {bulb: pear}
    change: {bulb.dim: {calls_per_thousand: 5}, look: {minutes: 2}}
"""
EXPECTED = """
components:
  pear:
    title: Bulb of the cabinet lamp
    group: Cabinet lamp
    failure_modes:
      blown: {title: Blown, calls_per_thousand: 60, remedies: [lamp_new_bulb]}
      dim: {title: Blackened, calls_per_thousand: 5, remedies: [lamp_new_bulb, lamp_wipe]}
signals:
  lamp_light:
    title: Light of the cabinet lamp
    states: [bright, dim, dark]
    rules:
      - {when: {sun: up}, state: bright}
      - {when: {supply: absent}, state: dark}
      - {when: {any_fault: [pear.blown]}, state: dark}
      - {when: {pear: dim}, state: dim}
      - {state: bright}
tests:
  lamp_look:
    title: Look at the cabinet lamp
    reveals: lamp_light
    minutes: 2
    hazards: [hot_surfaces]
    outcomes: {bright: [bright], dim: [dim], dark: [dark]}
  lamp_bulb_ohms:
    title: Cabinet lamp out, and measured
    reveals: pear
    minutes: 3
    instruments: [multimeter]
    hazards: [mains_voltage]
    needs: {power: isolated}
    disturbs: [lamp_light]
    how: [Near 60 Ω.]
    reading:
      quantity: resistance
      unit: Ω
      expected:
        otherwise: {title: a whole one, value: 60, tolerance: 5}
        blown: {title: a blown one, low: 1000000}
    outcomes: {sound: {title: Near 60 Ω, states: [sound]}, blown: [blown], dim: {title: Dim, states: [dim]}}
remedies:
  lamp_new_bulb: {title: Replace the bulb, minutes: 4, parts: {lamp_bulb_part: 1, paste: 1}, verify: lamp_look}
  lamp_wipe: {title: Wipe it, minutes: 2, verify: lamp_bulb_ohms}
parts:
  lamp_bulb_part: {number: P-1, title: Cabinet lamp, price: 2.5}
hazards:
  mains_voltage: {title: Mains voltage, precautions: [Isolate and prove dead.]}
instruments: {multimeter: Multimeter}
"""
