"""A caller is asked what would change who is sent with what, and nothing else; then told how it goes on."""
