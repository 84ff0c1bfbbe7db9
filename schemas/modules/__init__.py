"""What several machines have in common, written once and put into each of their documents."""
