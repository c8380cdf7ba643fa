"""Plain and marked side by side: as a PDF for paper, and as one page for the screen on which the marks fade in and out."""
