"""The fabric desk and its panels."""
