"""English words of the handout."""

from __future__ import annotations

from annotator.words.handout import HandoutWords

WORDS = HandoutWords(
    titles={
        "look-through": "Before the first note",
        "legend": "What the brackets say",
        "worksheet": "Worksheet",
        "answers": "Answers",
        "name": "Name",
        "date": "Date",
        "time": "Time and tempo",
        "key": "Keys",
        "scales": "Scales",
        "chords": "Chords and accompaniment",
        "compass": "Lowest and highest notes",
        "right": "right hand",
        "left": "left hand",
        "together": "Both hands alike",
        "signs": "Accidentals outside the key signature",
        "moves": "Where the hand leaves its place",
        "stretch": "Widest stretch",
        "course": "Repeats",
        "others": "Other patterns",
        "chart": "Bar by bar",
        "to-read": "to be read",
        "follows": "follows from a bracket",
    },
    lines={
        "bar": "bar {bars}",
        "bars": "bars {bars}",
        "from": "from bar {bar}",
        "once": "once",
        "twice": "twice",
        "times": "{times} times",
        "free-time": "free time",
        "no-signs": "no sharps, no flats",
        "sharp": "{count} sharp: {names}",
        "sharps": "{count} sharps: {names}",
        "flat": "{count} flat: {names}",
        "flats": "{count} flats: {names}",
        "none": "none",
        "octave-and": "an octave and {rest}",
        "told": "{what}: {more}",
        "stays": "stays where it is",
        "straight": "none: play straight through",
        "again": "play {times}",
        "ending": "ending {number}",
        "endings": "endings {number}",
        "fine": "the end (Fine)",
        "segno": "the sign (Segno)",
        "coda": "the Coda",
        "permission": "Copying printed music may need permission. The law where you live decides.",
    },
    reading={
        "scale-run": (
            "Steps along the scale that the bracket names. "
            "Read the first note, each turning point and the last."
        ),
        "chromatic-run": "Key after key, none left out. Read the first and the last note and every turning point.",
        "arpeggio": (
            "The notes of one chord, one after another. "
            "Read the first note, each turning point and the last; the bracket names the chord."
        ),
        "alberti-bass": (
            "One chord, rocked low, high, middle, high. "
            "Read the lowest note where the chord changes; the name shapes the hand."
        ),
        "broken-chord": (
            "One chord in a pattern that stays. "
            "Read the first group, then only the lowest note where the chord changes."
        ),
        "bass-and-chord": (
            "A bass note, then its chord above. "
            "Read every new bass note, and the chord where the name changes."
        ),
        "parallel": (
            "Both notes of each pair stay {interval} apart. "
            "Read one line, the upper in the right hand, the lower in the left."
        ),
        "broken": (
            "Pairs of notes {interval} apart, one after the other. "
            "Read the first pair, the turning pairs and the last; between them it goes by step."
        ),
        "broken-octaves": "Octaves, one note after the other. Read one note of each pair; the other has the same name.",
        "turn": "A note with its neighbours above and below around it. Read the note in the middle only.",
        "mordent": "A note, its neighbour, and the note again. Read the note; the neighbour is next to it.",
        "trill": "Two neighbours in turn. Read both once, and the last note.",
        "tremolo": "Two notes or chords in turn. Read both once, and the last one.",
        "repeated-notes": "The same again and again. Read it once and count.",
        "repeated-group": (
            "You have just played it, or in the bars that the bracket names. "
            "Look back; only what is black is new."
        ),
        "octave-copy": "What you have just played, an octave away each time. What is black is new.",
        "sequence": (
            "What you have just played, moved by the steps that are named, in the key. "
            "Read where each copy begins; what else is black is new."
        ),
        "retrograde": "From the turning note back the way you came. What is black is new.",
        "imitation": "What the other hand has just played, as far away as is named. What is black is new.",
        "pedal-note": "Every second note is the one that is named. Read it once, and the line around it.",
        "hands-in-unison": "Both hands play the same keys. Read the right hand; the left plays along.",
        "hands": (
            "The left hand plays the line of the right, {interval} away or octaves more. "
            "Read its first note, then go along."
        ),
        "hands-in-octaves": (
            "The left hand plays the line of the right, one octave or more below. "
            "Read its first note, then go along."
        ),
        "contrary-motion": (
            "The hands mirror each other, one up, one down, by the same steps. "
            "Read the left hand’s first note."
        ),
        "block-chord": "Notes struck together as one chord. Read the lowest; the name gives the others.",
    },
)
