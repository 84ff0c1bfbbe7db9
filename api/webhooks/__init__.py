"""Telling other programs what happened: where to, signed how, how often."""
