"""Two documents of one family of machines: what changed, in the words of the trade, and what it does to answers."""
