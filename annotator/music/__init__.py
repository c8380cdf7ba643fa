"""What a musician knows: pitch and score, keys, scales, chords, beats."""
