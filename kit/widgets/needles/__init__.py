"""The needles desk and its panels."""
