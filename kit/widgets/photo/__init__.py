"""The photo desk and its panels."""
