"""Words of the survey's page, in each language.

English is our own; German, French and Italian were written down from memory, common practice, no source.

>>> survey_word("to-read", "de"), survey_word("summary").format(scores="3", notes="1,204", grey="58")
('zu lesen', 'Scores: 3 · notes: 1,204 · grey: 58 %')
>>> number(1204.5, 1), number(1204.5, 1, "de"), number(12.0, 0, "fr"), key_words("A", True, "de")
('1,204.5', '1.204,5', '12', 'a-Moll')
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from annotator.theory.names import Chord
from annotator.words.language import language_of
from annotator.words.names import chord_name

ENGLISH: Mapping[str, str] = {
    "heading": "What to practise next",
    "summary": "Scores: {scores} · notes: {notes} · grey: {grey} %",
    "nothing": "No score was found.",
    "filter": "Find",
    "filter-hint": "title, composer or figure",
    "shown": "{shown} of {all} shown",
    "all": "Show all",
    "scatter": "Effort and pattern",
    "scatter-note": "Each dot is a score. To the right more of it follows from patterns; lower down it is easier to read. "
    "Choose a dot to find its row, or move from dot to dot with the arrow keys.",
    "share-axis": "grey notes, in 100: they follow from the patterns",
    "effort-axis": "reading effort, 0 to 100",
    "dot": "effort {effort}, {share} % grey",
    "kinds": "What the library drills",
    "kinds-note": "Notes in figures of each kind, in all scores together.",
    "table": "The scores",
    "table-note": "Press a heading to sort. Open a title for keys, hands and figures.",
    "title": "Title",
    "composer": "Composer",
    "drills": "Drills most",
    "effort": "Effort",
    "share": "Grey %",
    "notes": "Notes",
    "to-read": "To read",
    "bars": "Bars",
    "density": "Notes a beat",
    "signs": "Acci\u00addentals in 100",
    "odd": "Odd in 100",
    "points": "Effort",
    "file": "File",
    "keys": "Keys",
    "key": "{key} (bars: {bars})",
    "right": "Right hand",
    "left": "Left hand",
    "hand": "compass in semitones: {compass}, widest stretch: {reach}, ledger lines: up to {lines}",
    "silent": "nothing to play",
    "figures": "Figures",
    "figure": "{kind} ×{figures} ({notes} notes)",
    "no-figures": "none",
    "what-effort": "What the effort figure means",
    "effort-notes": "It says from 0 to 100 how much there is to take in at sight, beat by beat, however long the piece is. "
    "Points, at most the number in brackets, are added for {factors}; a middling amount earns half of them. "
    "Tempo, fingering and skill of hand are not in it, so a fast study can be easier to read than to play.",
    "black": "black notes a beat",
    "accidentals": "accidentals and key signature",
    "range": "compass of the hands",
    "rhythm": "changing rhythm",
    "texture": "chords and several voices",
    "failed": "Could not be read: {count}",
    "left-out": "Left out: {count}",
}

GERMAN: Mapping[str, str] = {
    "heading": "Was als Nächstes üben",
    "summary": "Stücke: {scores} · Noten: {notes} · grau: {grey} %",
    "nothing": "Kein Stück gefunden.",
    "filter": "Suchen",
    "filter-hint": "Titel, Komponist oder Figur",
    "shown": "{shown} von {all} gezeigt",
    "all": "Alle zeigen",
    "scatter": "Leseaufwand und Muster",
    "scatter-note": "Jeder Punkt ist ein Stück. Weiter rechts folgt mehr aus Mustern, weiter unten liest es sich leichter. "
    "Ein Punkt führt zu seiner Zeile; die Pfeiltasten führen von Punkt zu Punkt.",
    "share-axis": "graue Noten von 100: sie folgen aus den Mustern",
    "effort-axis": "Leseaufwand, 0 bis 100",
    "dot": "Aufwand {effort}, {share} % grau",
    "kinds": "Was die Sammlung übt",
    "kinds-note": "Noten in Figuren jeder Art, alle Stücke zusammen.",
    "table": "Die Stücke",
    "table-note": "Eine Überschrift sortiert. Ein Titel zeigt Tonarten, Hände und Figuren.",
    "title": "Titel",
    "composer": "Komponist",
    "drills": "Übt vor allem",
    "effort": "Auf\u00adwand",
    "share": "Grau %",
    "notes": "Noten",
    "to-read": "zu lesen",
    "bars": "Takte",
    "density": "Noten je Schlag",
    "signs": "Vor\u00adzeichen auf 100",
    "odd": "Fremde auf 100",
    "points": "Aufwand",
    "file": "Datei",
    "keys": "Tonarten",
    "key": "{key} (Takte: {bars})",
    "right": "Rechte Hand",
    "left": "Linke Hand",
    "hand": "Umfang in Halbtönen: {compass}, weitester Griff: {reach}, Hilfslinien: bis zu {lines}",
    "silent": "spielt nicht",
    "figures": "Figuren",
    "figure": "{kind} ×{figures} ({notes} Noten)",
    "no-figures": "keine",
    "what-effort": "Was der Leseaufwand bedeutet",
    "effort-notes": "Er sagt von 0 bis 100, wie viel beim Lesen Schlag für Schlag aufzunehmen ist, gleich wie lang das Stück ist. "
    "Punkte, höchstens so viele wie in der Klammer, gibt es für {factors}; ein mittleres Maß bringt die Hälfte. "
    "Tempo, Fingersatz und Geläufigkeit zählen nicht, eine schnelle Etüde kann also leichter zu lesen als zu spielen sein.",
    "black": "schwarze Noten je Schlag",
    "accidentals": "Vorzeichen",
    "range": "Umfang der Hände",
    "rhythm": "Wechsel im Rhythmus",
    "texture": "Akkorde und mehrere Stimmen",
    "failed": "Nicht lesbar: {count}",
    "left-out": "Ausgelassen: {count}",
}

FRENCH: Mapping[str, str] = {
    "heading": "Que travailler ensuite",
    "summary": "Partitions : {scores} · notes : {notes} · en gris : {grey} %",
    "nothing": "Aucune partition trouvée.",
    "filter": "Chercher",
    "filter-hint": "titre, compositeur ou figure",
    "shown": "{shown} sur {all} affichées",
    "all": "Tout afficher",
    "scatter": "Effort et motifs",
    "scatter-note": "Chaque point est une partition. Plus à droite, davantage découle des motifs ; plus bas, elle se lit plus facilement. "
    "Un point mène à sa ligne ; les flèches du clavier vont d’un point à l’autre.",
    "share-axis": "notes grises, sur 100 : elles découlent des motifs",
    "effort-axis": "effort de lecture, de 0 à 100",
    "dot": "effort {effort}, {share} % en gris",
    "kinds": "Ce que travaille la collection",
    "kinds-note": "Notes dans les figures de chaque genre, toutes partitions ensemble.",
    "table": "Les partitions",
    "table-note": "Un en-tête trie. Un titre montre les tonalités, les mains et les figures.",
    "title": "Titre",
    "composer": "Compo\u00adsiteur",
    "drills": "Travaille surtout",
    "effort": "Effort",
    "share": "Gris %",
    "notes": "Notes",
    "to-read": "À lire",
    "bars": "Me\u00adsures",
    "density": "Notes par temps",
    "signs": "Alté\u00adrations sur 100",
    "odd": "Étran\u00adgères sur 100",
    "points": "Effort",
    "file": "Fichier",
    "keys": "Tonalités",
    "key": "{key} (mesures : {bars})",
    "right": "Main droite",
    "left": "Main gauche",
    "hand": "étendue en demi-tons : {compass}, plus grand écart : {reach}, lignes supplémentaires : {lines} au plus",
    "silent": "ne joue pas",
    "figures": "Figures",
    "figure": "{kind} ×{figures} ({notes} notes)",
    "no-figures": "aucune",
    "what-effort": "Ce que veut dire l’effort",
    "effort-notes": "Il dit de 0 à 100 combien il y a à saisir en lisant, temps par temps, quelle que soit la longueur du morceau. "
    "Des points, au plus le nombre entre parenthèses, s’ajoutent pour {factors} ; une quantité moyenne en donne la moitié. "
    "Le tempo, les doigtés et l’agilité ne comptent pas : une étude rapide peut être plus facile à lire qu’à jouer.",
    "black": "notes noires par temps",
    "accidentals": "altérations et armure",
    "range": "étendue des mains",
    "rhythm": "rythme changeant",
    "texture": "accords et voix multiples",
    "failed": "Illisibles : {count}",
    "left-out": "Laissés de côté : {count}",
}

ITALIAN: Mapping[str, str] = {
    "heading": "Che cosa studiare adesso",
    "summary": "Brani: {scores} · note: {notes} · in grigio: {grey} %",
    "nothing": "Nessuno spartito trovato.",
    "filter": "Cerca",
    "filter-hint": "titolo, compositore o figura",
    "shown": "{shown} di {all} mostrati",
    "all": "Mostra tutti",
    "scatter": "Sforzo e schemi",
    "scatter-note": "Ogni punto è un brano. Più a destra, più note seguono dagli schemi; più in basso, si legge più facilmente. "
    "Un punto porta alla sua riga; le frecce della tastiera vanno da un punto all’altro.",
    "share-axis": "note grigie, su 100: seguono dagli schemi",
    "effort-axis": "sforzo di lettura, da 0 a 100",
    "dot": "sforzo {effort}, {share} % in grigio",
    "kinds": "Che cosa allena la raccolta",
    "kinds-note": "Note nelle figure di ogni genere, tutti i brani insieme.",
    "table": "I brani",
    "table-note": "Un’intestazione ordina. Un titolo mostra tonalità, mani e figure.",
    "title": "Titolo",
    "composer": "Compo\u00adsitore",
    "drills": "Allena soprattutto",
    "effort": "Sforzo",
    "share": "Grigio %",
    "notes": "Note",
    "to-read": "Da leggere",
    "bars": "Battute",
    "density": "Note per tempo",
    "signs": "Alte\u00adrazioni su 100",
    "odd": "Estra\u00adnee su 100",
    "points": "Sforzo",
    "file": "File",
    "keys": "Tonalità",
    "key": "{key} (battute: {bars})",
    "right": "Mano destra",
    "left": "Mano sinistra",
    "hand": "estensione in semitoni: {compass}, apertura massima: {reach}, tagli addizionali: al più {lines}",
    "silent": "non suona",
    "figures": "Figure",
    "figure": "{kind} ×{figures} ({notes} note)",
    "no-figures": "nessuna",
    "what-effort": "Che cosa dice lo sforzo",
    "effort-notes": "Dice da 0 a 100 quanto c’è da cogliere a prima vista, tempo per tempo, qualunque sia la lunghezza del brano. "
    "I punti, al più il numero tra parentesi, si sommano per {factors}; una quantità media ne dà la metà. "
    "Velocità, diteggiatura e agilità non contano: uno studio rapido può essere più facile da leggere che da suonare.",
    "black": "note nere per tempo",
    "accidentals": "alterazioni e armatura",
    "range": "estensione delle mani",
    "rhythm": "ritmo che cambia",
    "texture": "accordi e più voci",
    "failed": "Illeggibili: {count}",
    "left-out": "Tralasciati: {count}",
}

TABLES: Mapping[str, Mapping[str, str]] = {"en": ENGLISH, "de": GERMAN, "fr": FRENCH, "it": ITALIAN}

POINTS: Mapping[str, tuple[str, str]] = {"en": (",", "."), "de": (".", ","), "fr": ("\u202f", ","), "it": (".", ",")}
"""What stands between thousands, and before decimals."""


def survey_word(key: str, language: str = "en") -> str:
    """Return a word or sentence of the page; some have places in braces to be filled."""
    return TABLES[language_of(language).code][key]


def number(value: float, places: int, language: str = "en") -> str:
    """Return a number as it is written in a language, rounded to so many decimals."""
    thousands, point = POINTS[language_of(language).code]
    return f"{value:,.{places}f}".translate(str.maketrans(",.", thousands + point))


def effort_words(weights: Iterable[tuple[str, int]], language: str = "en") -> str:
    """Return what the effort figure means, in three sentences; ``weights`` are its factors and the most points each can earn."""
    factors = ", ".join(f"{survey_word(word, language)} ({weight})" for word, weight in weights)
    return survey_word("effort-notes", language).format(factors=factors)


def key_words(tonic: str, minor: bool, language: str = "en") -> str:
    """Return the name of a key: ``B♭ major``, ``a-Moll``; ``tonic`` is spelled in ASCII."""
    return chord_name(Chord(tonic, "minor" if minor else "major", 0, tonic), language, short=False)
