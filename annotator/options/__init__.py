"""What can be asked for: one table of options, the words it takes, what comes with the program."""
