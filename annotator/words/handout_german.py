"""German words of the handout: from memory, common practice, no source."""

from __future__ import annotations

from annotator.words.handout import HandoutWords

WORDS = HandoutWords(
    titles={
        "look-through": "Vor dem ersten Ton",
        "legend": "Was die Klammern sagen",
        "worksheet": "Arbeitsblatt",
        "answers": "Lösungen",
        "name": "Name",
        "date": "Datum",
        "time": "Takt und Tempo",
        "key": "Tonarten",
        "scales": "Tonleitern",
        "chords": "Akkorde und Begleitung",
        "compass": "Tiefste und höchste Töne",
        "right": "rechte Hand",
        "left": "linke Hand",
        "together": "Beide Hände gleich",
        "signs": "Vorzeichen außer den vorgezeichneten",
        "moves": "Wo die Hand ihre Lage verlässt",
        "stretch": "Weitester Griff",
        "course": "Wiederholungen",
        "others": "Weitere Muster",
        "chart": "Takt für Takt",
        "to-read": "zu lesen",
        "follows": "folgt aus einer Klammer",
    },
    lines={
        "bar": "Takt {bars}",
        "bars": "Takte {bars}",
        "from": "ab Takt {bar}",
        "once": "einmal",
        "twice": "zweimal",
        "times": "{times}-mal",
        "free-time": "ohne Taktart",
        "no-signs": "keine Vorzeichen",
        "sharp": "{count} Kreuz: {names}",
        "sharps": "{count} Kreuze: {names}",
        "flat": "{count} B: {names}",
        "flats": "{count} B: {names}",
        "none": "keine",
        "octave-and": "eine Oktave und {rest}",
        "told": "{what}: {more}",
        "stays": "bleibt in ihrer Lage",
        "straight": "keine: ohne Wiederholung durchspielen",
        "again": "{times} spielen",
        "ending": "Klammer {number}",
        "endings": "Klammern {number}",
        "fine": "Schluss (Fine)",
        "segno": "Zeichen (Segno)",
        "coda": "Coda",
        "permission": "Das Kopieren gedruckter Noten kann eine Erlaubnis brauchen. Es gilt das Recht des Landes.",
    },
    reading={
        "scale-run": (
            "Stufe um Stufe die Tonleiter, die auf der Klammer steht. "
            "Lies den ersten Ton, jeden Wendeton und den letzten."
        ),
        "chromatic-run": "Taste um Taste, keine ausgelassen. Lies den ersten und den letzten Ton und jeden Wendeton.",
        "arpeggio": (
            "Die Töne eines Akkords nacheinander. "
            "Lies den ersten Ton, jeden Wendeton und den letzten; die Klammer nennt den Akkord."
        ),
        "alberti-bass": (
            "Ein Akkord, gewiegt: tief, hoch, mitten, hoch. "
            "Lies den tiefsten Ton, wo der Akkord wechselt; der Name formt die Hand."
        ),
        "broken-chord": (
            "Ein Akkord in einem Muster, das bleibt. "
            "Lies die erste Gruppe, dann nur den tiefsten Ton, wo der Akkord wechselt."
        ),
        "bass-and-chord": (
            "Ein Basston, dann sein Akkord darüber. "
            "Lies jeden neuen Basston, und den Akkord, wo der Name wechselt."
        ),
        "parallel": (
            "Die beiden Töne jedes Paars bleiben {interval} auseinander. "
            "Lies eine Linie: rechts die obere, links die untere."
        ),
        "broken": (
            "Tonpaare, {interval} auseinander, ein Ton nach dem anderen. "
            "Lies das erste Paar, die Wendepaare und das letzte; dazwischen geht es stufenweise."
        ),
        "broken-octaves": "Oktaven, ein Ton nach dem anderen. Lies einen Ton jedes Paars; der andere heißt gleich.",
        "turn": "Ein Ton, umspielt von seinen Nachbarn oben und unten. Lies nur den Ton in der Mitte.",
        "mordent": "Ein Ton, sein Nachbar und wieder der Ton. Lies den Ton; der Nachbar liegt daneben.",
        "trill": "Zwei Nachbartöne im Wechsel. Lies beide einmal, und den letzten Ton.",
        "tremolo": "Zwei Töne oder Akkorde im Wechsel. Lies beide einmal, und den letzten.",
        "repeated-notes": "Immer wieder dasselbe. Lies es einmal und zähle.",
        "repeated-group": (
            "Gerade eben gespielt, oder in den Takten, die an der Klammer stehen. "
            "Sieh zurück; neu ist nur, was schwarz ist."
        ),
        "octave-copy": "Was du eben gespielt hast, jedes Mal eine Oktave weiter. Was schwarz ist, ist neu.",
        "sequence": (
            "Was du eben gespielt hast, um die genannten Stufen versetzt, in der Tonart. "
            "Lies, wo jede Wiederholung beginnt; was sonst schwarz ist, ist neu."
        ),
        "retrograde": "Vom Umkehrton denselben Weg zurück. Was schwarz ist, ist neu.",
        "imitation": "Was die andere Hand eben gespielt hat, im genannten Abstand. Was schwarz ist, ist neu.",
        "pedal-note": "Jeder zweite Ton ist der genannte. Lies ihn einmal, und die Linie darum.",
        "hands-in-unison": "Beide Hände spielen dieselben Tasten. Lies die rechte Hand; die linke geht mit.",
        "hands": (
            "Die linke Hand spielt die Linie der rechten, {interval} entfernt oder noch Oktaven mehr. "
            "Lies ihren ersten Ton, dann geh mit."
        ),
        "hands-in-octaves": (
            "Die linke Hand spielt die Linie der rechten, eine oder mehrere Oktaven tiefer. "
            "Lies ihren ersten Ton, dann geh mit."
        ),
        "contrary-motion": (
            "Die Hände spiegeln einander, eine auf, eine ab, um dieselben Stufen. "
            "Lies den ersten Ton der linken Hand."
        ),
        "block-chord": "Töne, zusammen als ein Akkord angeschlagen. Lies den tiefsten; der Name gibt die anderen.",
    },
)
