"""What musicians agree on: scales, chords, intervals and keys, as tables and pure functions of pitches."""
