"""Processes of our own: a child with its bounds, workers side by side, and Ctrl-C."""
