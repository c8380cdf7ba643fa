"""The commands, one module each: a function that takes the options, and one that does the work for one score."""
