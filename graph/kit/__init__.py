"""What to bring: needs of a case, the exact choice of parts, a van's whole day, questions before the drive."""
