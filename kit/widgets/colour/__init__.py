"""The colour desk and its panels."""
