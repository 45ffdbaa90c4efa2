"""The terminal: what is shown, and keys."""
