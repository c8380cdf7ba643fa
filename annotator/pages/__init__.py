"""From a score and its marks to pages: Verovio in a child process, own marks and greys, cairo for the PDF."""
