"""What the program makes: marked copies, comparisons, excerpts, handouts, surveys."""
