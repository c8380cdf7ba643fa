"""French words of the handout: from memory, common practice, no source."""

from __future__ import annotations

from annotator.words.handout import HandoutWords

WORDS = HandoutWords(
    titles={
        "look-through": "Avant la première note",
        "legend": "Ce que disent les crochets",
        "worksheet": "Feuille d’exercice",
        "answers": "Corrigé",
        "name": "Nom",
        "date": "Date",
        "time": "Mesure et tempo",
        "key": "Tonalités",
        "scales": "Gammes",
        "chords": "Accords et accompagnement",
        "compass": "Notes les plus graves et les plus aiguës",
        "right": "main droite",
        "left": "main gauche",
        "together": "Les deux mains pareilles",
        "signs": "Altérations hors de l’armure",
        "moves": "Où la main quitte sa place",
        "stretch": "Plus grand écart",
        "course": "Reprises",
        "others": "Autres formules",
        "chart": "Mesure par mesure",
        "to-read": "à lire",
        "follows": "découle d’un crochet",
    },
    lines={
        "bar": "mesure {bars}",
        "bars": "mesures {bars}",
        "from": "dès la mesure {bar}",
        "once": "une fois",
        "twice": "deux fois",
        "times": "{times} fois",
        "free-time": "sans mesure",
        "no-signs": "ni dièse ni bémol",
        "sharp": "{count} dièse : {names}",
        "sharps": "{count} dièses : {names}",
        "flat": "{count} bémol : {names}",
        "flats": "{count} bémols : {names}",
        "none": "aucune",
        "octave-and": "une octave et {rest}",
        "told": "{what} : {more}",
        "stays": "reste en place",
        "straight": "aucune : jouer d’un bout à l’autre",
        "again": "jouer {times}",
        "ending": "fin n° {number}",
        "endings": "fins n° {number}",
        "fine": "la fin (Fine)",
        "segno": "le signe (Segno)",
        "coda": "la Coda",
        "permission": "Copier des partitions imprimées peut demander une autorisation. La loi du pays en décide.",
    },
    reading={
        "scale-run": (
            "Degré par degré, la gamme que nomme le crochet. "
            "Lis la première note, chaque note où cela tourne et la dernière."
        ),
        "chromatic-run": (
            "Touche après touche, sans en sauter. "
            "Lis la première note, la dernière et chaque note où cela tourne."
        ),
        "arpeggio": (
            "Les notes d’un accord l’une après l’autre. "
            "Lis la première, chaque note où cela tourne et la dernière ; le crochet nomme l’accord."
        ),
        "alberti-bass": (
            "Un accord bercé : grave, aigu, milieu, aigu. "
            "Lis la note la plus grave quand l’accord change ; son nom forme la main."
        ),
        "broken-chord": (
            "Un accord dans un dessin qui reste. "
            "Lis le premier groupe, puis seulement la note grave quand l’accord change."
        ),
        "bass-and-chord": (
            "Une basse, puis son accord au-dessus. "
            "Lis chaque basse nouvelle, et l’accord quand le nom change."
        ),
        "parallel": (
            "Les deux notes de chaque paire restent à {interval} l’une de l’autre. "
            "Lis une seule ligne : celle du haut à droite, celle du bas à gauche."
        ),
        "broken": (
            "Des paires de notes à {interval}, l’une après l’autre. "
            "Lis la première paire, celles où cela tourne et la dernière ; entre elles on va par degrés."
        ),
        "broken-octaves": (
            "Des octaves, une note après l’autre. "
            "Lis une note de chaque paire ; l’autre porte le même nom."
        ),
        "turn": "Une note entourée de ses voisines du dessus et du dessous. Lis seulement la note du milieu.",
        "mordent": "Une note, sa voisine, et de nouveau la note. Lis la note ; la voisine est à côté.",
        "trill": "Deux voisines en alternance. Lis-les une fois, puis la dernière note.",
        "tremolo": "Deux notes ou accords en alternance. Lis-les une fois, puis le dernier.",
        "repeated-notes": "La même chose, encore et encore. Lis-la une fois et compte.",
        "repeated-group": (
            "Tu viens de le jouer, ou dans les mesures nommées sur le crochet. "
            "Regarde en arrière ; seul ce qui est noir est nouveau."
        ),
        "octave-copy": "Ce que tu viens de jouer, chaque fois à une octave. Ce qui est noir est nouveau.",
        "sequence": (
            "Ce que tu viens de jouer, déplacé des degrés nommés, dans la tonalité. "
            "Lis où chaque reprise commence ; le reste du noir est nouveau."
        ),
        "retrograde": "De la note tournante, reviens par le même chemin. Ce qui est noir est nouveau.",
        "imitation": "Ce que l’autre main vient de jouer, à la distance nommée. Ce qui est noir est nouveau.",
        "pedal-note": "Une note sur deux est celle qui est nommée. Lis-la une fois, et la ligne autour.",
        "hands-in-unison": "Les deux mains jouent les mêmes touches. Lis la main droite ; la gauche suit.",
        "hands": (
            "La main gauche joue la ligne de la droite, à {interval} ou encore des octaves plus loin. "
            "Lis sa première note, puis suis."
        ),
        "hands-in-octaves": (
            "La main gauche joue la ligne de la droite, une octave ou plus en dessous. "
            "Lis sa première note, puis suis."
        ),
        "contrary-motion": (
            "Les mains se reflètent, l’une monte, l’autre descend, des mêmes degrés. "
            "Lis la première note de la main gauche."
        ),
        "block-chord": "Des notes frappées ensemble en un accord. Lis la plus grave ; le nom donne les autres.",
    },
)
