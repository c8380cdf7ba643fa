"""From a score and its marks to pages: Verovio in a child process, our own marks and greys, cairo for the PDF."""
