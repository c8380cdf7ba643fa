"""Children and workers: bounds, Ctrl-C, and jobs side by side."""
