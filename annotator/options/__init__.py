"""What can be asked for: one table of options, the words it takes, what comes with the program."""

__version__ = "0.1.0"
