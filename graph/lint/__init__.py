"""Lint: what is odd in a document that can be used, one rule a module.

A document without defects answers; whether the answers are worth having is another question. Each rule looks for one
thing that experience says is a slip, says why it matters, and comes with an example that it reports and one that it
leaves alone.
"""
