"""Finished jobs, handed over to other systems and taken in from them."""
