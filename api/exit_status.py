"""Exit statuses of the commands."""

OK, DEFECTS, USAGE, WARNINGS = 0, 1, 2, 3
