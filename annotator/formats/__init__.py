"""Scores in other formats (ABC, Humdrum kern, MEI, MIDI), made into MusicXML once, before anything else looks at them."""
