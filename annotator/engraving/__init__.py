"""From a score and its marks to pages: Verovio in a child process, our own brackets and greys, cairo for the PDF."""
