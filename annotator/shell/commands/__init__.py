"""The commands, one module each: a function that takes what was typed, and one that does the work for one score."""
