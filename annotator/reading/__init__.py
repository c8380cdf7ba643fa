"""From bytes to a ``Score``: the container, the hardened document, the bars, the notes."""
