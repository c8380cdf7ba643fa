"""Italian words of the handout: from memory, common practice, no source."""

from __future__ import annotations

from annotator.words.handout import HandoutWords

WORDS = HandoutWords(
    titles={
        "look-through": "Prima della prima nota",
        "legend": "Che cosa dicono le parentesi",
        "worksheet": "Scheda di lavoro",
        "answers": "Soluzioni",
        "name": "Nome",
        "date": "Data",
        "time": "Tempo e andamento",
        "key": "Tonalità",
        "scales": "Scale",
        "chords": "Accordi e accompagnamento",
        "compass": "Note più gravi e più acute",
        "right": "mano destra",
        "left": "mano sinistra",
        "together": "Le due mani uguali",
        "signs": "Alterazioni fuori dall’armatura",
        "moves": "Dove la mano lascia la posizione",
        "stretch": "Apertura più larga",
        "course": "Ritornelli",
        "others": "Altre figure",
        "chart": "Battuta per battuta",
        "to-read": "da leggere",
        "follows": "segue da una parentesi",
    },
    lines={
        "bar": "battuta {bars}",
        "bars": "battute {bars}",
        "from": "dalla battuta {bar}",
        "once": "una volta",
        "twice": "due volte",
        "times": "{times} volte",
        "free-time": "senza misura",
        "no-signs": "né diesis né bemolli",
        "sharp": "{count} diesis: {names}",
        "sharps": "{count} diesis: {names}",
        "flat": "{count} bemolle: {names}",
        "flats": "{count} bemolli: {names}",
        "none": "nessuna",
        "octave-and": "un’ottava e {rest}",
        "told": "{what}: {more}",
        "stays": "resta in posizione",
        "straight": "nessuno: suonare dall’inizio alla fine",
        "again": "suonare {times}",
        "ending": "finale {number}",
        "endings": "finali {number}",
        "fine": "la fine (Fine)",
        "segno": "il segno (Segno)",
        "coda": "la Coda",
        "permission": "Copiare musica stampata può richiedere un permesso. Decide la legge del luogo.",
    },
    reading={
        "scale-run": (
            "Grado per grado, la scala che la parentesi nomina. "
            "Leggi la prima nota, ogni nota di svolta e l’ultima."
        ),
        "chromatic-run": "Tasto dopo tasto, senza saltarne. Leggi la prima nota, l’ultima e ogni nota di svolta.",
        "arpeggio": (
            "Le note di un accordo una dopo l’altra. "
            "Leggi la prima, ogni nota di svolta e l’ultima; la parentesi nomina l’accordo."
        ),
        "alberti-bass": (
            "Un accordo cullato: grave, acuto, medio, acuto. "
            "Leggi la nota più grave dove l’accordo cambia; il nome dà forma alla mano."
        ),
        "broken-chord": (
            "Un accordo in un disegno che resta. "
            "Leggi il primo gruppo, poi solo la nota più grave dove l’accordo cambia."
        ),
        "bass-and-chord": (
            "Un basso, poi il suo accordo sopra. "
            "Leggi ogni basso nuovo, e l’accordo dove il nome cambia."
        ),
        "parallel": (
            "Le due note di ogni coppia restano a distanza di {interval}. "
            "Leggi una linea sola: a destra la superiore, a sinistra l’inferiore."
        ),
        "broken": (
            "Coppie di note a distanza di {interval}, una dopo l’altra. "
            "Leggi la prima coppia, quelle di svolta e l’ultima; in mezzo si va per grado."
        ),
        "broken-octaves": "Ottave, una nota dopo l’altra. Leggi una nota di ogni coppia; l’altra ha lo stesso nome.",
        "turn": "Una nota con le vicine sopra e sotto intorno. Leggi solo la nota nel mezzo.",
        "mordent": "Una nota, la vicina, e di nuovo la nota. Leggi la nota; la vicina le sta accanto.",
        "trill": "Due note vicine alternate. Leggile una volta, e l’ultima nota.",
        "tremolo": "Due note o accordi alternati. Leggili una volta, e l’ultimo.",
        "repeated-notes": "Sempre lo stesso. Leggilo una volta e conta.",
        "repeated-group": (
            "L’hai appena suonato, o nelle battute scritte sulla graffa. "
            "Guarda indietro; è nuovo solo ciò che è nero."
        ),
        "octave-copy": "Ciò che hai appena suonato, ogni volta a un’ottava. Ciò che è nero è nuovo.",
        "sequence": (
            "Ciò che hai appena suonato, spostato dei gradi scritti, nella tonalità. "
            "Leggi dove comincia ogni ripresa; il resto del nero è nuovo."
        ),
        "retrograde": "Dalla nota di svolta torna per la stessa via. Ciò che è nero è nuovo.",
        "imitation": "Ciò che l’altra mano ha appena suonato, alla distanza scritta. Ciò che è nero è nuovo.",
        "pedal-note": "Una nota su due è quella scritta. Leggila una volta, e la linea intorno.",
        "hands-in-unison": "Le due mani suonano gli stessi tasti. Leggi la destra; la sinistra va insieme.",
        "hands": (
            "La sinistra suona la linea della destra, a distanza di {interval} o di altre ottave in più. "
            "Leggi la sua prima nota, poi segui."
        ),
        "hands-in-octaves": (
            "La sinistra suona la linea della destra, una o più ottave sotto. "
            "Leggi la sua prima nota, poi segui."
        ),
        "contrary-motion": (
            "Le mani si specchiano, una sale, l’altra scende, per gli stessi gradi. "
            "Leggi la prima nota della sinistra."
        ),
        "block-chord": "Note suonate insieme come un accordo. Leggi la più grave; il nome dà le altre.",
    },
)
