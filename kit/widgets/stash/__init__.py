"""The stash desk and its panels."""
