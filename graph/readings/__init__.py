"""Numbers from instruments: units, what a good component should read, and how likely a reading is."""
