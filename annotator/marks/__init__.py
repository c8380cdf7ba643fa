"""From a score to what is marked in it: finding, report, corrections, style, marks."""
