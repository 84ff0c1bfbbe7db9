"""What to do next: from one-step scores to the cheapest way to a verified repair."""
