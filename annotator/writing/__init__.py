"""Marks in the user's own tree, their removal, and files that are complete or absent."""
