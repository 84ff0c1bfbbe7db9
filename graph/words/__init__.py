"""A caller's words: what they may mean, what they deny, what is dangerous in them, which machine they speak of."""
